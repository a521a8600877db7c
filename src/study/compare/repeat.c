/* Takes of one setting beside each other: does one stand out, and how far do they scatter? */
#include "study/compare/repeat.h"

#include <stdlib.h>
#include <string.h>

#include "maths/interval.h"
#include "maths/outlier.h"
#include "maths/robust.h"
#include "study/compare/setting_curve.h"
#include "study/compare/standard_share.h"
#include "study/curve/curve.h"
#include "study/curve/octaves.h"
#include "study/curve/take_threshold.h"

#define LEVEL 0.95
#define Z95 1.959963984540054

static void forget(struct fl_repeat_take *t, const struct fl_take *take)
{
    *t = (struct fl_repeat_take){.take = take};
    double *unknown[] = {&t->v50,
                         &t->v50_low,
                         &t->v50_high,
                         &t->v50_ratio,
                         &t->v50_p,
                         &t->v50_p_adjusted,
                         &t->share,
                         &t->share_p,
                         &t->share_p_adjusted,
                         &t->share_of_others};
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++)
        *unknown[i] = FL_UNKNOWN;
}

/* Camera speed compares best; without it the first that was measured. */
static enum fl_quantity quantity_of(const struct fl_setting *c)
{
    for (int q = 0; q < FL_QUANTITIES && !fl_setting_measured(c, FL_CAMERA_SPEED); q++)
        if (fl_setting_measured(c, q))
            return q;
    return FL_CAMERA_SPEED;
}

/* ---- V50 of each take ---- */

struct points {
    double *x;
    bool *y;
};

static size_t gather(const struct fl_curve *c, const struct fl_take *take, const struct points *p)
{
    size_t n = 0;
    for (int i = 0; i < c->flicks; i++)
        if (c->points[i].take == take) {
            p->x[n] = log2(c->points[i].v);
            p->y[n++] = c->points[i].tripped;
        }
    return n;
}

static const struct fl_take_v50 *own_of(const struct fl_curve *c, const struct fl_take *take)
{
    for (int k = 0; k < c->takes; k++)
        if (c->by_take[k].take == take)
            return &c->by_take[k];
    return NULL;
}

/* The take's own threshold, as beside the curve. An open end is not known on that side. */
static void of_mixed(struct fl_take_threshold *out, const struct fl_take_v50 *own)
{
    double theta = log2(own->v50);
    *out = (struct fl_take_threshold){theta, (theta - log2(own->low)) / Z95,
                                      (log2(own->high) - theta) / Z95, true};
}

static void measure_v50(struct fl_repeat_take *t, struct fl_take_threshold *out,
                        const struct fl_curve *c, const struct points *p)
{
    const struct fl_take_v50 *own = own_of(c, t->take);
    if (!own)
        return;
    t->flicks = own->flicks;
    t->trips = own->trips;
    if (own->flicks < FL_THRESHOLD_FLICKS)
        return;
    if (fl_known(own->v50))
        of_mixed(out, own);
    else
        fl_take_threshold_fit(out, p->x, p->y, gather(c, t->take, p), c->beta);
    t->v50 = own->v50;
    t->v50_low = fl_from_octaves(out->theta - Z95 * out->down);
    t->v50_high = fl_from_octaves(out->theta + Z95 * out->up);
}

/* ---- off shares ---- */

static const char *name_of(const struct fl_take *t)
{
    return t->spec.id ? t->spec.id : "?";
}

static void measure_shares(struct fl_repeat *r, struct fl_share_group *g, struct fl_arena *arena)
{
    if (r->n < 2) {
        r->share_refused = "one take";
        return;
    }
    for (size_t i = 0; i < r->n; i++)
        g[i] = (struct fl_share_group){.name = name_of(r->takes[i].take),
                                       .takes = (struct fl_take *const *)&r->takes[i].take,
                                       .n = 1};
    r->share_refused = fl_standardise_shares(g, r->n, r->quantity, arena);
    for (size_t i = 0; i < r->n; i++)
        r->takes[i].share = g[i].share;
}

/* ---- tests ---- */

/* All takes of a session whose variances may be pooled, and where they came from. */
struct test {
    struct fl_repeat *repeat;
    struct fl_repeat_take *take;
    struct fl_member v50, share;
};
struct tests {
    struct test *v;
    size_t n;
};

static struct fl_member v50_member(size_t group, const struct fl_take_threshold *o)
{
    return (struct fl_member){group, o->theta, o->down, o->up, o->mixed};
}

static struct fl_member share_member(size_t group, const struct fl_share_group *g)
{
    return (struct fl_member){group, g->share, g->error, g->error, fl_known(g->share)};
}

static void measure(struct fl_repeat *r, const struct fl_curve *c, size_t group,
                    struct tests *tests, struct fl_arena *arena)
{
    struct fl_share_group *g = FL_ARENA(arena, struct fl_share_group, r->n);
    size_t flicks = c ? (size_t)c->flicks : 0;
    struct points p = {FL_NEW(double, flicks + 1), FL_NEW(bool, flicks + 1)};
    for (size_t i = 0; i < r->n; i++)
        g[i].share = g[i].error = FL_UNKNOWN;
    measure_shares(r, g, arena);
    for (size_t i = 0; i < r->n; i++) {
        struct fl_take_threshold own = {FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, false};
        if (c)
            measure_v50(&r->takes[i], &own, c, &p);
        tests->v[tests->n++] =
            (struct test){r, &r->takes[i], v50_member(group, &own), share_member(group, &g[i])};
    }
    free(p.x);
    free(p.y);
}

/* The spread between takes is taken to be the same in all settings of a game, as for the curves. */
static bool pooled(const struct test *a, const struct test *b)
{
    return a->repeat->quantity == b->repeat->quantity && !strcmp(a->repeat->game, b->repeat->game);
}

/* The takes that test k is compared with, among m: where k stands in it. */
static size_t members_for(const struct tests *t, size_t k, bool share, struct fl_member *m,
                          size_t *n)
{
    size_t at = 0;
    *n = 0;
    for (size_t i = 0; i < t->n; i++)
        if (pooled(&t->v[i], &t->v[k])) {
            if (i == k)
                at = *n;
            m[(*n)++] = share ? t->v[i].share : t->v[i].v50;
        }
    return at;
}

static struct fl_left_out left_out(const struct tests *t, size_t k, bool share, struct fl_member *m)
{
    size_t n, at = members_for(t, k, share, m, &n);
    return fl_leave_out(m, n, at);
}

static void compare(struct tests *t, struct fl_member *m)
{
    for (size_t k = 0; k < t->n; k++) {
        struct fl_left_out v = left_out(t, k, false, m), s = left_out(t, k, true, m);
        struct fl_repeat_take *take = t->v[k].take;
        take->v50_ratio = fl_from_octaves(v.difference);
        take->v50_p = v.p;
        take->share_of_others = take->share - s.difference;
        take->share_p = s.p;
    }
}

/* Bonferroni's level for one of all tests made: what the first of Holm's steps asks. */
static void set_told_ratio(struct fl_repeat *r, const struct tests *t, double level,
                           struct fl_member *m)
{
    double *octaves = FL_NEW(double, r->n + 1);
    size_t n = 0;
    for (size_t k = 0; k < t->n; k++)
        if (t->v[k].repeat == r && t->v[k].v50.reference) {
            struct fl_left_out o = left_out(t, k, false, m);
            octaves[n++] = fl_left_out_needs(&o, level);
        }
    r->told_ratio = r->stands_out ? FL_UNKNOWN : fl_from_octaves(fl_median(octaves, n));
    free(octaves);
}

/* p: two a take, V50 first. Returns how many tests there are. */
static size_t adjust(const struct tests *t, double *p)
{
    size_t made = 0;
    for (size_t k = 0; k < t->n; k++) {
        p[2 * k] = t->v[k].take->v50_p;
        p[2 * k + 1] = t->v[k].take->share_p;
        made += fl_known(p[2 * k]) + fl_known(p[2 * k + 1]);
    }
    fl_holm(p, 2 * t->n);
    return made;
}

static void decide(struct fl_session *s, struct tests *t)
{
    struct fl_member *m = FL_NEW(struct fl_member, t->n + 1);
    double *p = FL_NEW(double, 2 * t->n + 1);
    compare(t, m);
    size_t made = adjust(t, p);
    for (size_t k = 0; k < t->n; k++) {
        struct fl_repeat_take *take = t->v[k].take;
        take->v50_p_adjusted = p[2 * k];
        take->share_p_adjusted = p[2 * k + 1];
        take->stands_out = p[2 * k] < FL_REPEAT_LEVEL || p[2 * k + 1] < FL_REPEAT_LEVEL;
        t->v[k].repeat->stands_out |= take->stands_out;
    }
    for (size_t i = 0; i < s->n_repeats; i++)
        set_told_ratio(&s->repeats[i], t, FL_REPEAT_LEVEL / (double)(made ? made : 1), m);
    free(m);
    free(p);
}

/* ---- spread ---- */

static struct fl_scatter scatter_of(const double *v, size_t n)
{
    struct fl_scatter s = {(int)n, fl_sd(v, n), FL_UNKNOWN, FL_UNKNOWN,
                           n > 1 ? (double)n - 1 : FL_UNKNOWN};
    fl_sd_limits(s.sd, (double)n - 1, LEVEL, &s.low, &s.high);
    return s;
}

static void spread(struct fl_repeat *r, const struct tests *t)
{
    double *theta = FL_NEW(double, r->n + 1), *share = FL_NEW(double, r->n + 1), squares = 0;
    size_t n = 0, m = 0;
    for (size_t k = 0; k < t->n; k++) {
        const struct fl_member *v = &t->v[k].v50;
        if (t->v[k].repeat != r)
            continue;
        if (v->reference) {
            theta[n++] = v->value;
            squares += (v->down * v->down + v->up * v->up) / 2;
        }
        if (fl_known(t->v[k].take->share))
            share[m++] = t->v[k].take->share;
    }
    r->v50 = scatter_of(theta, n);
    r->share = scatter_of(share, m);
    r->flick_error = n ? sqrt(squares / (double)n) : FL_UNKNOWN;
    free(theta);
    free(share);
}

static void begin(struct fl_repeat *r, const struct fl_setting *c, struct fl_arena *arena)
{
    *r = (struct fl_repeat){.game = c->game,
                            .condition = c->condition,
                            .counts_per_inch = c->counts_per_inch,
                            .degrees_per_count = c->degrees_per_count,
                            .quantity = quantity_of(c),
                            .n = c->n,
                            .takes = FL_ARENA(arena, struct fl_repeat_take, c->n)};
    for (size_t i = 0; i < c->n; i++)
        forget(&r->takes[i], c->takes[i]);
}

void fl_study_repeats(struct fl_session *s)
{
    struct fl_setting *settings;
    size_t n = fl_settings(s, false, &settings);
    struct tests tests = {FL_NEW(struct test, s->n_takes + 1), 0};
    s->repeats = FL_NEW(struct fl_repeat, n + 1);
    for (size_t i = 0; i < n; i++) {
        if (settings[i].control)
            continue;
        struct fl_repeat *r = &s->repeats[s->n_repeats++];
        begin(r, &settings[i], s->arena);
        measure(r, fl_setting_curve(s, &settings[i], r->quantity), i, &tests, s->arena);
        fl_repeat_rates(r, settings, n, &settings[i], s->arena);
    }
    decide(s, &tests);
    for (size_t i = 0; i < s->n_repeats; i++) {
        spread(&s->repeats[i], &tests);
        fl_repeat_words(&s->repeats[i], s->arena);
    }
    free(tests.v);
}
