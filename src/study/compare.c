#include <stdlib.h>
#include <string.h>

#include "maths/interval.h"
#include "study/cell.h"
#include "study/contrast.h"
#include "study/standard.h"
#include "study/study.h"

#define HELD_WITHIN 0.02
#define CLAIM 0.05
#define EQUAL_LOW 0.9
#define EQUAL_HIGH 1.11

enum pair { PAIR_NONE, PAIR_RESOLUTION, PAIR_CONDITION };

static enum pair pair_of(const struct fl_curve *a, const struct fl_curve *b)
{
    if (a->pooled || b->pooled || a->quantity != b->quantity || strcmp(a->game, b->game))
        return PAIR_NONE;
    bool one_condition = !strcmp(a->condition, b->condition);
    bool one_resolution = fl_same_number(a->counts_per_inch, b->counts_per_inch);
    if (one_condition && !one_resolution && fl_known(a->counts_per_inch) && fl_known(b->counts_per_inch))
        return PAIR_RESOLUTION;
    if (!one_condition && one_resolution && fl_same_number(a->degrees_per_count, b->degrees_per_count))
        return PAIR_CONDITION;
    return PAIR_NONE;
}

static bool within(double a, double b)
{
    return fabs(a / b - 1) <= HELD_WITHIN; /* false for NaN */
}

static const char *held(const struct fl_curve *a, const struct fl_curve *b)
{
    if (within(a->degrees_per_count, b->degrees_per_count))
        return "degrees_per_count";
    if (within(a->degrees_per_count * a->counts_per_inch, b->degrees_per_count * b->counts_per_inch))
        return "degrees_per_cm";
    return NULL;
}

static const char *side_name(struct fl_arena *arena, enum pair pair, const struct fl_curve *c)
{
    if (pair == PAIR_CONDITION)
        return fl_arena_printf(arena, "'%s'", c->condition);
    return fl_arena_printf(arena, "%g counts per inch", c->counts_per_inch);
}

static struct fl_standard takes_of(struct fl_session *s, const struct fl_curve *c, const char *name)
{
    struct fl_cell *cells;
    size_t n = fl_cells(s, false, &cells);
    for (size_t i = 0; i < n; i++)
        if (!cells[i].control && !strcmp(cells[i].game, c->game) &&
            !strcmp(cells[i].condition, c->condition) &&
            fl_same_number(cells[i].counts_per_inch, c->counts_per_inch) &&
            fl_same_number(cells[i].degrees_per_count, c->degrees_per_count))
            return (struct fl_standard){name, cells[i].takes, cells[i].n, 0, 0, 0};
    return (struct fl_standard){name, NULL, 0, 0, 0, 0};
}

static void share(struct fl_session *s, struct fl_comparison *c, enum pair pair)
{
    struct fl_standard g[2] = {takes_of(s, c->a, side_name(s->arena, pair, c->a)),
                               takes_of(s, c->b, side_name(s->arena, pair, c->b))};
    enum fl_quantity by = pair == PAIR_RESOLUTION ? FL_HAND_SPEED : FL_CAMERA_SPEED;
    c->off_share_refused = fl_standardise(g, 2, by, s->arena);
    c->off_share_a = g[0].share;
    c->off_share_b = g[1].share;
}

/* A bound on one side leaves a one-sided ratio: above v makes the ratio at least so much. */
static void one_sided(struct fl_comparison *c)
{
    const struct fl_curve *a = c->a, *b = c->b;
    if (a->bound == FL_BOUND_ABOVE && b->bound == FL_BOUND_NONE)
        c->low = a->bound_at / b->v50_high;
    else if (a->bound == FL_BOUND_BELOW && b->bound == FL_BOUND_NONE)
        c->high = a->bound_at / b->v50_low;
    else if (b->bound == FL_BOUND_ABOVE && a->bound == FL_BOUND_NONE)
        c->high = a->v50_high / b->bound_at;
    else if (b->bound == FL_BOUND_BELOW && a->bound == FL_BOUND_NONE)
        c->low = a->v50_low / b->bound_at;
    else if (a->bound == FL_BOUND_ABOVE && b->bound == FL_BOUND_BELOW)
        c->low = a->bound_at / b->bound_at;
    else if (a->bound == FL_BOUND_BELOW && b->bound == FL_BOUND_ABOVE)
        c->high = a->bound_at / b->bound_at;
}

static void compare(struct fl_session *s, struct fl_comparison *c, const struct fl_curve *a,
                    const struct fl_curve *b, enum pair pair)
{
    struct fl_contrast contrast;
    fl_contrast_v50(&contrast, a, b);
    *c = (struct fl_comparison){.game = a->game, .a = a, .b = b, .quantity = a->quantity,
                                .ratio = contrast.ratio, .low = contrast.low, .high = contrast.high,
                                .p = contrast.p, .p_adjusted = contrast.p, .held = held(a, b)};
    if (!fl_known(c->ratio))
        one_sided(c);
    share(s, c, pair);
}

/* Why a ratio cannot be tested at all, or NULL. */
static const char *untested(struct fl_arena *arena, const struct fl_curve *c, const char *name)
{
    switch (c->bound) {
    case FL_BOUND_ABOVE:
        return fl_arena_printf(arena, "no flick tripped at %s", name);
    case FL_BOUND_BELOW:
        return fl_arena_printf(arena, "at %s flicks trip down to the slowest at which states can be told", name);
    case FL_BOUND_NO_RELATION:
        return fl_arena_printf(arena, "at %s faster flicks do not trip more often", name);
    case FL_BOUND_TOO_FEW:
        return fl_arena_printf(arena, "too few flicks at %s", name);
    case FL_BOUND_NONE:
        break;
    }
    if (c->takes < 2)
        return fl_arena_printf(arena, "one take at %s, so how much takes differ is unknown", name);
    if (!fl_known(c->take_variance))
        return fl_arena_printf(arena, "only one take at %s has flicks near its trip speed", name);
    return NULL;
}

static const char *side_of_bound(struct fl_arena *arena, const struct fl_comparison *c)
{
    if (fl_known(c->ratio) || fl_known(c->low) == fl_known(c->high))
        return "";
    return fl_arena_printf(arena, "; the ratio is %s %.3g", fl_known(c->low) ? "at least" : "at most",
                           fl_known(c->low) ? c->low : c->high);
}

static const char *interval_text(struct fl_arena *arena, const struct fl_comparison *c)
{
    if (!fl_known(c->low) || !fl_known(c->high))
        return "its 95 % interval is open";
    return fl_arena_printf(arena, "95 %% interval %.3g to %.3g", c->low, c->high);
}

static const char *verdict(struct fl_arena *arena, const struct fl_comparison *c, enum pair pair)
{
    const char *a = side_name(arena, pair, c->a), *b = side_name(arena, pair, c->b);
    const char *label = fl_quantity_info(c->quantity)->label;
    const char *why = untested(arena, c->a, a);
    if (!why)
        why = untested(arena, c->b, b);
    if (why)
        return fl_arena_printf(arena, "cannot tell: %s%s", why, side_of_bound(arena, c));
    const char *interval = interval_text(arena, c);
    if (c->p_adjusted < CLAIM)
        return fl_arena_printf(arena, "%s trips at a %s %.3g times that of %s (%s)", a, label, c->ratio, b, interval);
    if (c->low >= EQUAL_LOW && c->high <= EQUAL_HIGH)
        return fl_arena_printf(arena, "%s and %s trip at the same %s within 11 %% (%s)", a, b, label, interval);
    if (c->p < CLAIM)
        return fl_arena_printf(arena, "cannot tell: the %s ratio %.3g (%s) does not stand among the session's comparisons",
                               label, c->ratio, interval);
    return fl_arena_printf(arena, "cannot tell: the %s ratio %.3g may be 1 (%s)", label, c->ratio, interval);
}

static void adjust(struct fl_session *s)
{
    double *p = FL_NEW(double, s->n_comparisons + 1);
    for (size_t i = 0; i < s->n_comparisons; i++)
        p[i] = s->comparisons[i].p;
    fl_holm(p, s->n_comparisons);
    for (size_t i = 0; i < s->n_comparisons; i++)
        s->comparisons[i].p_adjusted = p[i];
    free(p);
}

void fl_study_comparisons(struct fl_session *s)
{
    size_t cap = 0;
    for (size_t i = 0; i < s->n_curves; i++)
        for (size_t j = i + 1; j < s->n_curves; j++) {
            enum pair pair = pair_of(&s->curves[i], &s->curves[j]);
            if (!pair)
                continue;
            struct fl_comparison c;
            compare(s, &c, &s->curves[i], &s->curves[j], pair);
            FL_PUSH(s->comparisons, s->n_comparisons, cap, c);
        }
    adjust(s);
    for (size_t i = 0; i < s->n_comparisons; i++) {
        struct fl_comparison *c = &s->comparisons[i];
        c->verdict = verdict(s->arena, c, pair_of(c->a, c->b));
    }
}
