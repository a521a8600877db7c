/* Curves of a session from the hierarchical model. */
#include "study/curve/curve_fit.h"

#include <math.h>
#include <stdlib.h>

#include "study/curve/contrast.h"
#include "study/curve/octaves.h"
#include "study/curve/second_opinion.h"
#include "study/curve/stray_rate.h"

#define LN9 2.1972245773362196 /* logit of 0.9 */
#define STRAYED 0.95           /* chance from which a flick is marked */
#define SUSPECT 0.1            /* chance on the curve drawn from which it is looked at */
#define CONTRADICT 0.05        /* p under which two settings are not pooled */
#define POOL_TAKES 2           /* of each setting at least: fewer cannot contradict */

struct fl_curve_fit {
    struct fl_hierarchy *h;
    struct fl_curve *curve;
    const struct fl_curve_takes *of;
    size_t *place; /* of each curve in h; (size_t)-1: none */
    size_t n;
    enum fl_quantity q;
    struct fl_arena *arena;
};

/* ---- one curve ---- */

/* Flicks of one curve as the model takes them; points come take by take. */
static void setting_of(const struct fl_curve *c, struct fl_hierarchy_setting *out,
                       struct fl_arena *arena)
{
    struct fl_hierarchy_take *take = FL_ARENA(arena, struct fl_hierarchy_take, (size_t)c->takes);
    double *x = FL_ARENA(arena, double, (size_t)c->flicks);
    bool *tripped = FL_ARENA(arena, bool, (size_t)c->flicks);
    for (int i = 0; i < c->flicks; i++) {
        x[i] = log2(c->points[i].v);
        tripped[i] = c->points[i].tripped;
    }
    for (int k = 0, first = 0; k < c->takes; first += c->by_take[k++].flicks)
        take[k] =
            (struct fl_hierarchy_take){x + first, tripped + first, (size_t)c->by_take[k].flicks};
    *out = (struct fl_hierarchy_setting){take, (size_t)c->takes};
}

static void set_interval(struct fl_curve *c, const struct fl_hierarchy_figures *f)
{
    c->beta = f->slope;
    c->alpha = -f->slope * f->v50.middle;
    c->v50 = fl_from_octaves(f->v50.middle);
    c->v50_low = fl_from_octaves(f->v50.low);
    c->v50_high = fl_from_octaves(f->v50.high);
    c->another_low = fl_from_octaves(f->another.low);
    c->another_high = fl_from_octaves(f->another.high);
    c->slope_low = f->slope_low;
    c->slope_high = f->slope_high;
    c->spread = f->spread;
    c->spread_low = f->spread_low;
    c->spread_high = f->spread_high;
    c->stray_rate = FL_STRAY;
    c->interval_method = FL_INTERVAL_METHOD;
}

/* A take in which all tripped, or none, has no threshold of its own. */
static void set_take(struct fl_take_v50 *t, const struct fl_trip_interval *own)
{
    if (!t->trips || t->trips == t->flicks)
        return;
    t->v50 = fl_from_octaves(own->middle);
    t->low = fl_from_octaves(own->low);
    t->high = fl_from_octaves(own->high);
}

/* Against its take's own curve: a take that differs does not stray. Only what looks unlikely on the
 * curve drawn is looked at closely. */
static void mark_strays(struct fl_curve *c, const struct fl_hierarchy *h, size_t place)
{
    for (int k = 0, first = 0; k < c->takes; first += c->by_take[k++].flicks)
        for (int i = first; i < first + c->by_take[k].flicks; i++) {
            struct fl_point *p = &c->points[i];
            double at = fl_known(c->by_take[k].v50) ? c->by_take[k].v50 : c->v50;
            p->stray =
                fl_stray_chance(FL_STRAY, log2(at), c->beta, log2(p->v), p->tripped) > SUSPECT &&
                fl_hierarchy_stray(h, place, (size_t)k, (size_t)(i - first)) > STRAYED;
        }
}

static void set_ends(struct fl_curve *c)
{
    c->held_max = c->tripped_min = FL_UNKNOWN;
    for (int i = 0; i < c->flicks; i++) {
        const struct fl_point *p = &c->points[i];
        c->strays += p->stray;
        double *end = p->tripped ? &c->tripped_min : &c->held_max;
        if (!p->stray)
            *end = p->tripped ? fmin(*end, p->v) : fmax(*end, p->v);
    }
    c->separated = c->held_max < c->tripped_min;
}

static void set_slope(struct fl_curve *c)
{
    if (c->separated)
        return;
    double theta = log2(c->v50);
    c->v10 = fl_from_octaves(theta - LN9 / c->beta);
    c->v90 = fl_from_octaves(theta + LN9 / c->beta);
    c->slope = c->beta;
}

/* A V50 where states cannot be told is a bound. */
static void bound_by_floor(struct fl_curve *c, double floor)
{
    if (!(c->v50 <= floor))
        return;
    double *unknown[] = {&c->v10,       &c->v50,         &c->v50_low,      &c->v50_high,
                         &c->v90,       &c->another_low, &c->another_high, &c->other_v50,
                         &c->other_low, &c->other_high};
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++)
        *unknown[i] = FL_UNKNOWN;
    c->bound = FL_BOUND_BELOW;
    c->bound_at = floor;
    c->interval_method = NULL;
    c->posterior = NULL;
}

static void keep_posterior(struct fl_curve *c, const struct fl_hierarchy_figures *f,
                           const void *session, struct fl_arena *arena)
{
    c->posterior = FL_ARENA(arena, struct fl_trip_posterior, 1);
    *c->posterior = f->posterior;
    c->posterior->session = session;
}

static void finish_curve(struct fl_curve_fit *f, size_t i)
{
    struct fl_curve *c = &f->curve[i];
    struct fl_hierarchy_figures figures;
    fl_hierarchy_figures(f->h, f->place[i], &figures, f->arena);
    set_interval(c, &figures);
    keep_posterior(c, &figures, f->place, f->arena);
    for (size_t k = 0; k < (size_t)c->takes; k++) {
        struct fl_trip_interval own = fl_hierarchy_own(f->h, f->place[i], k);
        set_take(&c->by_take[k], &own);
    }
    mark_strays(c, f->h, f->place[i]);
    set_ends(c);
    set_slope(c);
    fl_second_opinion(c);
    bound_by_floor(c, fl_curve_floor(c, f->of[i].takes, f->of[i].n));
}

/* ---- a session ---- */

/* Whether the model can say anything of it; a bound says why not. */
static bool fits(struct fl_curve *c, const struct fl_curve_takes *of, enum fl_quantity q,
                 struct fl_arena *arena)
{
    if (!fl_curve_gather(c, of->takes, of->n, q, arena))
        return false;
    double slope = fl_second_slope(c);
    if (slope > 0)
        return true;
    c->bound = fl_known(slope) ? FL_BOUND_NO_RELATION : FL_BOUND_TOO_FEW;
    return false;
}

struct fl_curve_fit *fl_curve_fit_new(struct fl_curve *c, const struct fl_curve_takes *of, size_t n,
                                      enum fl_quantity q, const struct fl_hierarchy_prior *prior,
                                      struct fl_arena *arena)
{
    struct fl_curve_fit *f = FL_NEW(struct fl_curve_fit, 1);
    struct fl_hierarchy_setting *setting = FL_ARENA(arena, struct fl_hierarchy_setting, n + 1);
    size_t used = 0;
    *f = (struct fl_curve_fit){NULL, c, of, FL_ARENA(arena, size_t, n + 1), n, q, arena};
    for (size_t i = 0; i < n; i++) {
        f->place[i] = (size_t)-1;
        if (!fits(&c[i], &of[i], q, arena))
            continue;
        setting_of(&c[i], &setting[used], arena);
        f->place[i] = used++;
    }
    f->h = fl_hierarchy_new(prior, setting, used);
    for (size_t i = 0; i < n; i++)
        if (f->place[i] != (size_t)-1)
            finish_curve(f, i);
    return f;
}

void fl_curve_fit_free(struct fl_curve_fit **f)
{
    if (!*f)
        return;
    fl_hierarchy_free(&(*f)->h);
    free(*f);
    *f = NULL;
}

void fl_curve_fit_one(struct fl_curve *c, struct fl_take *const *takes, size_t n,
                      enum fl_quantity q, struct fl_arena *arena)
{
    const struct fl_hierarchy_prior prior = {FL_SPREAD_SCALE, NULL, false};
    struct fl_curve_fit *f =
        fl_curve_fit_new(c, &(struct fl_curve_takes){takes, n}, 1, q, &prior, arena);
    fl_curve_fit_free(&f);
}

/* ---- pooling ---- */

/* The pair that differs most surely. */
static void contradict(const struct fl_curve_fit *f, struct fl_curve *out, const size_t *members,
                       size_t n)
{
    double pairs = (double)(n * (n - 1)) / 2;
    for (size_t i = 0; i < n; i++)
        for (size_t k = i + 1; k < n; k++) {
            struct fl_contrast c;
            fl_contrast_v50(&c, &f->curve[members[i]], &f->curve[members[k]]);
            double p = fmin(1, c.p * pairs);
            if (fl_known(out->pool_p) && !(p < out->pool_p))
                continue;
            out->pool_p = p;
            out->pool_ratio = c.ratio;
        }
}

/* The bound that holds for all, if all have one on one side. */
static bool common_bound(const struct fl_curve_fit *f, struct fl_curve *out, const size_t *members,
                         size_t n)
{
    enum fl_bound b = f->curve[members[0]].bound;
    double at = f->curve[members[0]].bound_at;
    for (size_t i = 1; i < n; i++) {
        const struct fl_curve *c = &f->curve[members[i]];
        if (c->bound != b)
            return false;
        at = b == FL_BOUND_ABOVE ? fmin(at, c->bound_at) : fmax(at, c->bound_at);
    }
    if (b != FL_BOUND_ABOVE && b != FL_BOUND_BELOW)
        return false;
    out->bound = b;
    out->bound_at = at;
    return true;
}

static const char *why_not(const struct fl_curve_fit *f, const struct fl_curve *out,
                           const size_t *members, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const struct fl_curve *c = &f->curve[members[i]];
        if (c->bound != FL_BOUND_NONE)
            return "not all of its settings have a trip speed";
        if (c->takes < POOL_TAKES)
            return "a setting has one take only, so whether its settings agree is not known";
    }
    if (!(out->pool_p < CONTRADICT))
        return NULL;
    return fl_arena_printf(f->arena,
                           "its settings contradict each other: the V50 of two differ by a factor "
                           "of %.3g (p %.2g)",
                           fmax(out->pool_ratio, 1 / out->pool_ratio), out->pool_p);
}

static void gather_pooled(const struct fl_curve_fit *f, struct fl_curve *out, const size_t *members,
                          size_t n, struct fl_curve_takes *of)
{
    size_t takes = 0;
    for (size_t i = 0; i < n; i++)
        takes += f->of[members[i]].n;
    struct fl_take **all = FL_ARENA(f->arena, struct fl_take *, takes + 1);
    takes = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < f->of[members[i]].n; k++)
            all[takes++] = f->of[members[i]].takes[k];
    *of = (struct fl_curve_takes){all, takes};
    fl_curve_gather(out, all, takes, f->q, f->arena);
    out->bound = FL_BOUND_NONE;
    out->bound_at = FL_UNKNOWN;
    out->pool_settings = (int)n;
    for (size_t i = 0, take = 0, point = 0; i < n; i++) {
        const struct fl_curve *c = &f->curve[members[i]];
        for (int k = 0; k < c->takes; k++)
            out->by_take[take++] = c->by_take[k];
        for (int k = 0; k < c->flicks; k++)
            out->points[point++] = c->points[k];
    }
}

static void finish_pooled(const struct fl_curve_fit *f, struct fl_curve *out, const size_t *members,
                          size_t n, const struct fl_curve_takes *of)
{
    struct fl_hierarchy_figures figures;
    size_t *place = FL_ARENA(f->arena, size_t, n);
    for (size_t i = 0; i < n; i++)
        place[i] = f->place[members[i]];
    fl_hierarchy_pooled(f->h, place, n, &figures, f->arena);
    set_interval(out, &figures);
    keep_posterior(out, &figures, place, f->arena);
    set_ends(out);
    set_slope(out);
    fl_second_opinion(out);
    bound_by_floor(out, fl_curve_floor(out, of->takes, of->n));
}

void fl_curve_fit_pool(const struct fl_curve_fit *f, struct fl_curve *out, const size_t *members,
                       size_t n)
{
    if (n == 1) {
        *out = f->curve[members[0]];
        out->pool_settings = 1;
        return;
    }
    struct fl_curve_takes of;
    gather_pooled(f, out, members, n, &of);
    if (common_bound(f, out, members, n))
        return;
    contradict(f, out, members, n);
    out->not_pooled = why_not(f, out, members, n);
    if (out->not_pooled)
        out->bound = FL_BOUND_NOT_POOLED;
    else
        finish_pooled(f, out, members, n, &of);
}
