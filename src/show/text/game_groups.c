/* Sums over the takes of a game and condition, and its texts. */
#include "show/text/game_groups.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "show/text/escape.h"
#include "study/compare/result.h"
#include "study/curve/curve.h"

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && !strcmp(a, b));
}

bool fl_group_has(const struct fl_group *g, const char *game, const char *condition)
{
    return same_text(game, g->game) && same_text(condition, g->condition);
}

const struct fl_curve *fl_group_curve(const struct fl_group *g)
{
    return g->pooled ? g->pooled : g->n_curves == 1 ? g->curve[0] : NULL;
}

static struct fl_group *group_of(struct fl_groups *g, const struct fl_take *t)
{
    for (size_t i = 0; i < g->n; i++)
        if (fl_group_has(&g->v[i], t->spec.game, t->spec.condition))
            return &g->v[i];
    return NULL;
}

static void add_take(struct fl_group *g, const struct fl_take *t)
{
    g->takes[g->n_takes++] = t;
    g->control &= t->spec.synthesis_disabled;
}

/* A control has synthesis switched off by hand: its time off is not the game's doing. */
static void count_lapses(struct fl_group *g)
{
    for (size_t i = 0; i < g->n_takes; i++)
        if (g->takes[i]->spec.synthesis_disabled == g->control)
            g->lapses += g->takes[i]->states.n_lapses;
}

static void count_settings(struct fl_group *g, const struct fl_session *s)
{
    for (size_t i = 0; i < s->n_results; i++)
        g->n_settings += s->results[i].control == g->control &&
                         fl_group_has(g, s->results[i].game, s->results[i].condition);
}

static bool of_group(const struct fl_curve *c, const struct fl_group *g)
{
    return fl_group_has(g, c->game, c->condition);
}

/* Camera speed where it was measured: it is what people compare. */
static enum fl_quantity choose_quantity(const struct fl_group *g, const struct fl_session *s)
{
    static const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_HAND_SPEED,       FL_COUNT_RATE,
                                             FL_IMAGE_STEP,   FL_STICK_DEFLECTION, FL_STICK_RATE,
                                             FL_IMAGE_CHANGE};
    for (size_t k = 0; k < sizeof order / sizeof *order; k++)
        for (size_t i = 0; i < s->n_curves; i++)
            if (of_group(&s->curves[i], g) && s->curves[i].quantity == order[k])
                return order[k];
    return FL_CAMERA_SPEED;
}

static void add_curves(struct fl_group *g, const struct fl_session *s)
{
    g->quantity = choose_quantity(g, s);
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        if (!of_group(c, g) || c->quantity != g->quantity)
            continue;
        if (c->pooled)
            g->pooled = c;
        else if (g->n_curves < FL_GROUP_CURVES)
            g->curve[g->n_curves++] = c;
        else
            g->left_out++;
    }
}

/* Two names may have one slug: later ones are numbered. */
static char *unlike_slug(const struct fl_groups *g, size_t before, const struct fl_group *of)
{
    char *game = fl_slug(of->game), *condition = fl_slug(of->condition), *slug = NULL;
    bool taken = true;
    for (int number = 1; taken; number++) {
        free(slug);
        char tail[16] = "";
        if (number > 1)
            snprintf(tail, sizeof tail, "-%d", number);
        slug = fl_format("%s-%s%s", game, condition, tail);
        taken = false;
        for (size_t i = 0; i < before; i++)
            taken |= !strcmp(g->v[i].slug, slug);
    }
    free(game);
    free(condition);
    return slug;
}

void fl_groups_make(struct fl_groups *g, const struct fl_session *s)
{
    *g = (struct fl_groups){FL_NEW(struct fl_group, s->n_takes + 1), 0};
    for (size_t i = 0; i < s->n_takes; i++) {
        struct fl_group *to = group_of(g, s->takes[i]);
        if (!to) {
            to = &g->v[g->n++];
            *to = (struct fl_group){.game = s->takes[i]->spec.game,
                                    .condition = s->takes[i]->spec.condition,
                                    .takes = FL_NEW(const struct fl_take *, s->n_takes),
                                    .control = true};
        }
        add_take(to, s->takes[i]);
    }
    for (size_t i = 0; i < g->n; i++) {
        count_lapses(&g->v[i]);
        count_settings(&g->v[i], s);
        add_curves(&g->v[i], s);
        g->v[i].slug = unlike_slug(g, i, &g->v[i]);
    }
}

void fl_groups_finish(struct fl_groups *g)
{
    for (size_t i = 0; i < g->n; i++) {
        free(g->v[i].takes);
        free(g->v[i].slug);
    }
    free(g->v);
    *g = (struct fl_groups){0};
}

#define CM_PER_INCH 2.54

static bool given(double x)
{
    return fl_known(x) && x > 0;
}

static double cm_per_turn(double counts_per_inch, double degrees_per_count)
{
    return 360 / degrees_per_count / counts_per_inch * CM_PER_INCH;
}

const char *fl_desk_text(char buf[FL_SETTING_SIZE], double counts_per_inch,
                         double degrees_per_count)
{
    const bool counts = given(counts_per_inch), degrees = given(degrees_per_count);
    if (counts && degrees)
        snprintf(buf, FL_SETTING_SIZE, "%g DPI · %.3g cm per turn", counts_per_inch,
                 cm_per_turn(counts_per_inch, degrees_per_count));
    else if (counts)
        snprintf(buf, FL_SETTING_SIZE, "%g DPI", counts_per_inch);
    else if (degrees)
        snprintf(buf, FL_SETTING_SIZE, "%.3g°/count", degrees_per_count);
    else
        snprintf(buf, FL_SETTING_SIZE, "setting not given");
    return buf;
}

const char *fl_setting_text(char buf[FL_SETTING_SIZE], const struct fl_curve *c)
{
    const double counts = c->counts_per_inch, degrees = c->degrees_per_count;
    if (given(counts) && given(degrees))
        snprintf(buf, FL_SETTING_SIZE, "%g DPI, %.3g cm per turn (%.3g°/count)", counts,
                 cm_per_turn(counts, degrees), degrees);
    else if (c->pooled && !given(counts) && !given(degrees))
        snprintf(buf, FL_SETTING_SIZE, "all settings");
    else
        fl_desk_text(buf, counts, degrees);
    return buf;
}

enum { RANGE_SIZE = 2 * FL_FIGURE_SIZE + 16 };

static const char *range_text(char buf[RANGE_SIZE], double x, double low, double high)
{
    struct fl_interval_text t;
    fl_interval_text(&t, x, low, high);
    if (fl_known(low) && fl_known(high))
        snprintf(buf, RANGE_SIZE, "%s to %s", t.low, t.high);
    else if (fl_known(low) || fl_known(high))
        snprintf(buf, RANGE_SIZE, "%s %s", fl_known(low) ? "at least" : "at most",
                 fl_known(low) ? t.low : t.high);
    else
        snprintf(buf, RANGE_SIZE, "open at both ends");
    return buf;
}

static void one_take_text(char buf[FL_V50_SIZE], const struct fl_curve *c)
{
    const struct fl_take_v50 *own = fl_curve_one_take(c);
    char range[RANGE_SIZE], another[RANGE_SIZE];
    struct fl_interval_text t;
    snprintf(buf, FL_V50_SIZE,
             "V50 %s %s in the one take recorded (95 %% interval %s; another take may differ: %s)",
             fl_interval_text(&t, own->v50, own->low, own->high)->at,
             fl_quantity_info(c->quantity)->unit_label,
             range_text(range, own->v50, own->low, own->high),
             range_text(another, FL_UNKNOWN, c->another_low, c->another_high));
}

const char *fl_v50_text(char buf[FL_V50_SIZE], const struct fl_curve *c)
{
    char bound[FL_FIGURE_SIZE];
    struct fl_interval_text t;
    fl_interval_text(&t, c->v50, c->v50_low, c->v50_high);
    const char *unit = fl_quantity_info(c->quantity)->unit_label, *low = t.low, *high = t.high;
    const char *v = c->bound == FL_BOUND_NONE ? t.at : fl_figure(bound, c->bound_at);
    switch (c->bound) {
    case FL_BOUND_ABOVE: snprintf(buf, FL_V50_SIZE, "V50 above %s %s", v, unit); break;
    case FL_BOUND_BELOW: snprintf(buf, FL_V50_SIZE, "V50 below %s %s", v, unit); break;
    case FL_BOUND_NO_RELATION:
        snprintf(buf, FL_V50_SIZE, "no V50: faster flicks did not trip more often");
        break;
    case FL_BOUND_TOO_FEW: snprintf(buf, FL_V50_SIZE, "no V50: too few flicks"); break;
    case FL_BOUND_NOT_POOLED: snprintf(buf, FL_V50_SIZE, "no one V50 for all settings"); break;
    case FL_BOUND_NONE:
        if (fl_curve_one_take(c))
            one_take_text(buf, c);
        else if (fl_known(c->v50_low) && fl_known(c->v50_high))
            snprintf(buf, FL_V50_SIZE, "V50 %s %s (95 %% interval %s to %s)", v, unit, low, high);
        else if (fl_known(c->v50_low) || fl_known(c->v50_high))
            snprintf(buf, FL_V50_SIZE, "V50 %s %s (95 %% interval: %s %s)", v, unit,
                     fl_known(c->v50_low) ? "at least" : "at most",
                     fl_known(c->v50_low) ? low : high);
        else
            snprintf(buf, FL_V50_SIZE, "V50 about %s %s (95 %% interval open at both ends)", v,
                     unit);
    }
    return buf;
}

char *fl_group_name(const char *game, const char *condition)
{
    bool plain = !condition || !strcmp(condition, "default");
    return fl_format("%s%s%s", game ? game : "(no game named)", plain ? "" : ", ",
                     plain ? "" : condition);
}

enum fl_quantity fl_course_quantity(const struct fl_take *t)
{
    static const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_HAND_SPEED, FL_COUNT_RATE,
                                             FL_STICK_DEFLECTION, FL_IMAGE_STEP};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++)
        if (t->quantity[order[i]])
            return order[i];
    return FL_QUANTITIES;
}
