/* Two folders: what both have is paired by game, condition and setting, and changes are tested
 * together (Holm). */
#include "study/compare/against.h"

#include <stdlib.h>
#include <string.h>

#include "maths/interval.h"
#include "study/compare/setting_curve.h"
#include "study/compare/standard_share.h"
#include "study/compare/verdict.h"
#include "study/curve/curve.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/setting_gain.h"
#include "study/curve/watched.h"

#define ROUNDED 1e-5 /* figures in files have seven digits */

struct work {
    struct fl_against *out;
    struct fl_session *before, *now;
    struct fl_arena *arena;
};

const char *fl_found_name(enum fl_found f)
{
    static const char *const names[] = {"none",  "cannot_tell", "higher",
                                        "lower", "same",        "one_sided"};
    return names[f];
}

/* What the figures let one say. */
static void find_out(struct fl_change *c, bool ratio)
{
    double none = ratio ? 1 : 0;
    c->finding = c->refused                 ? FL_FOUND_NONE
                 : c->p_adjusted < FL_CLAIM ? (c->change > none ? FL_FOUND_HIGHER : FL_FOUND_LOWER)
                 : ratio && c->low >= FL_EQUAL_LOW && c->high <= FL_EQUAL_HIGH ? FL_FOUND_SAME
                 : ratio && !fl_known(c->change) && (c->low > 1 || c->high < 1)
                     ? FL_FOUND_ONE_SIDED
                     : FL_FOUND_CANNOT_TELL;
}

/* ---- settings that both have ---- */

static bool alike(const struct fl_setting *a, const struct fl_setting *b)
{
    return !strcmp(a->game, b->game) && !strcmp(a->condition, b->condition) &&
           a->control == b->control && fl_same_number(a->counts_per_inch, b->counts_per_inch) &&
           fl_same_gain((struct fl_setting_gain){a->degrees_per_count, a->degrees_found},
                        (struct fl_setting_gain){b->degrees_per_count, b->degrees_found});
}

static const struct fl_setting *find(const struct fl_setting *like, const struct fl_setting *in,
                                     size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (alike(like, &in[i]))
            return &in[i];
    return NULL;
}

static size_t unmatched(struct fl_setting **out, const struct fl_setting *of, size_t n,
                        const struct fl_setting *in, size_t m, struct fl_arena *arena)
{
    size_t left = 0;
    *out = FL_ARENA(arena, struct fl_setting, n + 1);
    for (size_t i = 0; i < n; i++)
        if (!find(&of[i], in, m))
            (*out)[left++] = of[i];
    return left;
}

struct peaks {
    double x, y;
};

static int by_x(const void *a, const void *b)
{
    double x = ((const struct peaks *)a)->x, y = ((const struct peaks *)b)->x;
    return (x > y) - (x < y);
}

static size_t pair_up(struct peaks *p, const struct fl_curve *a, const struct fl_curve *b)
{
    for (int i = 0; i < a->flicks; i++)
        p[i] = (struct peaks){a->points[i].v, b->points[i].v};
    return (size_t)a->flicks;
}

/* One is an increasing function of the other, the same on both sides: their V50 changed together or
 * not at all. */
static bool go_together(const struct fl_against_v50 *a, const struct fl_against_v50 *b)
{
    if (a->before->flicks != b->before->flicks || a->now->flicks != b->now->flicks)
        return false;
    struct peaks *p = FL_NEW(struct peaks, (size_t)(a->before->flicks + a->now->flicks) + 1);
    size_t n = pair_up(p, a->before, b->before);
    n += pair_up(p + n, a->now, b->now);
    qsort(p, n, sizeof *p, by_x);
    bool together = n > 0;
    for (size_t i = 1; i < n && together; i++) {
        together = p[i].y >= p[i - 1].y * (1 - ROUNDED);
        p[i].y = fmax(p[i].y, p[i - 1].y);
    }
    free(p);
    return together;
}

static size_t twin_of(const struct fl_against_setting *s, size_t k)
{
    for (size_t i = 0; i < k && !s->v50[k].change.refused; i++)
        if (!s->v50[i].change.refused && go_together(&s->v50[i], &s->v50[k]))
            return s->v50[i].twin;
    return k;
}

static void add_quantities(const struct work *w, struct fl_against_setting *s)
{
    s->v50 = FL_ARENA(w->arena, struct fl_against_v50, FL_QUANTITIES);
    for (int q = 0; q < FL_QUANTITIES && !s->before.control; q++) {
        struct fl_against_v50 v = {.quantity = q,
                                   .before = fl_setting_curve(w->before, &s->before, q),
                                   .now = fl_setting_curve(w->now, &s->now, q)};
        if (!v.before && !v.now)
            continue;
        const char *why =
            s->refused ? s->refused : fl_against_refuse_quantity(&s->before, &s->now, q, w->arena);
        v.change = fl_change_unknown(why);
        v.change.before = v.before ? v.before->v50 : FL_UNKNOWN;
        v.change.now = v.now ? v.now->v50 : FL_UNKNOWN;
        if (!why)
            fl_change_v50(&v.change, v.before, v.now, w->arena);
        s->v50[s->n_v50] = v;
        s->v50[s->n_v50].twin = twin_of(s, s->n_v50);
        s->n_v50++;
    }
}

static bool named(const struct fl_session *s, const char *game, enum fl_quantity q)
{
    for (size_t i = 0; i < s->n_quantities; i++)
        if (s->quantities[i].quantity == q && !strcmp(s->quantities[i].game, game))
            return !strcmp(s->quantities[i].verdict, "named");
    return false;
}

/* The quantity that both sessions name, else the first of a fixed order: not the one that changed
 * most. */
static const struct fl_against_v50 *lead(const struct work *w, const struct fl_against_setting *s)
{
    static const int place[FL_QUANTITIES] = {
        [FL_CAMERA_SPEED] = 0, [FL_HAND_SPEED] = 1,       [FL_COUNT_RATE] = 2, [FL_IMAGE_STEP] = 3,
        [FL_IMAGE_CHANGE] = 4, [FL_STICK_DEFLECTION] = 5, [FL_STICK_RATE] = 6};
    const struct fl_against_v50 *best = NULL;
    int best_place = FL_QUANTITIES;
    for (size_t i = 0; i < s->n_v50; i++) {
        const struct fl_against_v50 *v = &s->v50[i];
        bool both = named(w->before, s->before.game, v->quantity) &&
                    named(w->now, s->before.game, v->quantity);
        int at = both ? -1 : place[v->quantity];
        if (v->change.refused || at >= best_place)
            continue;
        best = v;
        best_place = at;
    }
    return best;
}

static double base_on(const struct fl_take *t)
{
    return fl_known(t->spec.base_rate_hz) ? FL_UNKNOWN
                                          : t->states.base_rate_on_hz; /* a pin is no measurement */
}

static double base_off(const struct fl_take *t)
{
    return fl_known(t->spec.base_rate_hz) ? FL_UNKNOWN : t->states.base_rate_off_hz;
}

static double lapses(const struct fl_take *t)
{
    return t->exposure.lapses_per_min;
}

static void add_lapses(const struct work *w, struct fl_against_setting *s)
{
    const struct fl_setting *a = &s->before, *b = &s->now;
    const struct fl_share_group sides[2] = {{.name = "before", .takes = a->takes, .n = a->n},
                                            {.name = "now", .takes = b->takes, .n = b->n}};
    const char *unlike = fl_drill_beside_play(sides, 2, w->arena);
    if (unlike) {
        s->lapses = fl_change_unknown(unlike);
        return;
    }
    fl_change_difference(&s->lapses, a, b, lapses, w->arena);
    s->lapses.p = FL_UNKNOWN;
}

static void add_figures(const struct work *w, struct fl_against_setting *s)
{
    const struct fl_setting *a = &s->before, *b = &s->now;
    struct fl_change *all[] = {&s->off_share, &s->base_on, &s->base_off, &s->lapses};
    s->off_share_by = s->lead ? s->lead->quantity : FL_QUANTITIES;
    for (size_t i = 0; i < 4; i++)
        *all[i] = fl_change_unknown(s->refused ? s->refused : "a control: synthesis is disabled");
    if (s->refused)
        return;
    fl_change_ratio(&s->base_off, a, b, base_off, w->arena);
    if (a->control)
        return;
    fl_change_ratio(&s->base_on, a, b, base_on, w->arena);
    add_lapses(w, s);
    if (s->lead)
        fl_change_off_share(&s->off_share, a, b, s->off_share_by, w->arena);
    else
        s->off_share =
            fl_change_unknown("no quantity can be compared, so no flicks are known to be alike");
}

static void add_settings(const struct work *w)
{
    struct fl_setting *before, *now;
    struct fl_against *out = w->out;
    size_t n_before = fl_settings(w->before, false, &before),
           n_now = fl_settings(w->now, false, &now);
    out->n_only_before = unmatched(&out->only_before, before, n_before, now, n_now, w->arena);
    out->n_only_now = unmatched(&out->only_now, now, n_now, before, n_before, w->arena);
    out->setting = FL_ARENA(w->arena, struct fl_against_setting, n_now + 1);
    for (size_t i = 0; i < n_now; i++) {
        const struct fl_setting *other = find(&now[i], before, n_before);
        struct fl_against_setting *s = &out->setting[out->n];
        if (!other)
            continue;
        *s = (struct fl_against_setting){.before = *other, .now = now[i]};
        s->refused = fl_against_refuse(&s->before, &s->now, w->arena);
        add_quantities(w, s);
        s->lead = lead(w, s);
        add_figures(w, s);
        out->n++;
    }
}

/* ---- delays ---- */

static const struct fl_setting *pooled_setting(struct fl_session *s, const char *game,
                                               const char *condition)
{
    struct fl_setting *settings;
    size_t n = fl_settings(s, true, &settings);
    for (size_t i = 0; i < n; i++)
        if (!settings[i].control && !strcmp(settings[i].game, game) &&
            !strcmp(settings[i].condition, condition))
            return &settings[i];
    return NULL;
}

static const char *refuse_delay(const struct work *w, const struct fl_against_delay *d,
                                const struct fl_setting *before, const struct fl_setting *now)
{
    const char *why = fl_against_refuse(before, now, w->arena);
    if (why)
        return why;
    if (!d->before || !d->now)
        return fl_arena_printf(w->arena, "no cut-off rule was found %s",
                               d->before ? "now" : "before");
    if (!d->before->method || !d->now->method)
        return fl_arena_printf(w->arena, "no %s to count was seen %s", d->trip ? "trip" : "return",
                               d->before->method ? "now" : "before");
    if (d->before->quantity != d->now->quantity)
        return fl_arena_printf(w->arena, "counted from a crossing in %s before, in %s now",
                               fl_quantity_info(d->before->quantity)->label,
                               fl_quantity_info(d->now->quantity)->label);
    return fl_against_refuse_delay(before, now, d->now->quantity, w->arena);
}

static const struct fl_delay *delay_of(const struct fl_session *s, const char *game,
                                       const char *condition, bool trip)
{
    for (size_t i = 0; i < s->n_delays; i++)
        if (s->delays[i].trip == trip && !strcmp(s->delays[i].game, game) &&
            !strcmp(s->delays[i].condition, condition))
            return &s->delays[i];
    return NULL;
}

static void add_delay(const struct work *w, const struct fl_setting *before,
                      const struct fl_setting *now, bool trip)
{
    struct fl_against_delay *d = &w->out->delay[w->out->n_delays];
    *d = (struct fl_against_delay){.game = now->game,
                                   .condition = now->condition,
                                   .trip = trip,
                                   .before = delay_of(w->before, now->game, now->condition, trip),
                                   .now = delay_of(w->now, now->game, now->condition, trip)};
    if (!d->before && !d->now)
        return;
    const char *why = refuse_delay(w, d, before, now);
    d->change = fl_change_unknown(why);
    if (!why)
        fl_change_delay(d);
    w->out->n_delays++;
}

static void add_delays(const struct work *w)
{
    struct fl_setting *now;
    size_t n = fl_settings(w->now, true, &now);
    w->out->delay = FL_ARENA(w->arena, struct fl_against_delay, 2 * n + 1);
    for (size_t i = 0; i < n; i++) {
        const struct fl_setting *before = pooled_setting(w->before, now[i].game, now[i].condition);
        for (int trip = 1; before && !now[i].control && trip >= 0; trip--)
            add_delay(w, before, &now[i], trip);
    }
}

/* ---- all changes together ---- */

struct changes {
    struct fl_change **v;
    size_t n, cap;
};

static void gather(struct changes *all, const struct fl_against *a)
{
    for (size_t i = 0; i < a->n; i++) {
        struct fl_against_setting *s = &a->setting[i];
        for (size_t k = 0; k < s->n_v50; k++)
            if (s->v50[k].twin == k)
                FL_PUSH(all->v, all->n, all->cap, &s->v50[k].change);
        FL_PUSH(all->v, all->n, all->cap, &s->off_share);
        FL_PUSH(all->v, all->n, all->cap, &s->base_on);
        FL_PUSH(all->v, all->n, all->cap, &s->base_off);
    }
    for (size_t i = 0; i < a->n_delays; i++)
        FL_PUSH(all->v, all->n, all->cap, &a->delay[i].change);
}

static void adjust(struct fl_against *a)
{
    struct changes all = {0};
    gather(&all, a);
    double *p = FL_NEW(double, all.n + 1);
    for (size_t i = 0; i < all.n; i++) {
        p[i] = all.v[i]->p;
        a->tests += fl_known(p[i]);
    }
    fl_holm(p, all.n);
    for (size_t i = 0; i < all.n; i++)
        all.v[i]->p_adjusted = p[i];
    free(p);
    free(all.v);
}

static void find_delay(struct fl_against_delay *d)
{
    if (d->change.refused)
        return;
    bool stands = !d->change.unsure && (!fl_known(d->change.p) || d->change.p_adjusted < FL_CLAIM);
    d->change.finding = !stands || !fl_delay_apart(d->before, d->now) ? FL_FOUND_CANNOT_TELL
                        : d->now->low_s > d->before->high_s           ? FL_FOUND_HIGHER
                                                                      : FL_FOUND_LOWER;
}

static void conclude(struct fl_against *a, struct fl_arena *arena)
{
    adjust(a);
    for (size_t i = 0; i < a->n; i++) {
        struct fl_against_setting *s = &a->setting[i];
        for (size_t k = 0; k < s->n_v50; k++) {
            struct fl_change *c = &s->v50[k].change;
            if (s->v50[k].twin != k && fl_known(c->p))
                c->p_adjusted = fmax(c->p, s->v50[s->v50[k].twin].change.p_adjusted);
            find_out(c, true);
        }
        find_out(&s->off_share, false);
        find_out(&s->base_on, true);
        find_out(&s->base_off, true);
        s->sentence = fl_against_sentence(s, arena);
    }
    for (size_t i = 0; i < a->n_delays; i++)
        find_delay(&a->delay[i]);
}

void fl_against_make(struct fl_against *out, struct fl_session *before, struct fl_session *now,
                     struct fl_arena *arena)
{
    const struct work w = {out, before, now, arena};
    *out = (struct fl_against){0};
    add_settings(&w);
    if (!out->n)
        out->refused = "no take in common: no game, condition, counts per inch and degrees per "
                       "count is in both folders; "
                       "name in both session files alike what is alike";
    else
        add_delays(&w);
    conclude(out, arena);
}
