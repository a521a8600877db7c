/* Flicks → trip curve by Firth's penalised likelihood (Firth 1993), which holds where held and
 * tripped flicks are separated. */
#include "study/curve/curve.h"

#include <stdlib.h>
#include <string.h>

#include "maths/logistic.h"
#include "maths/robust.h"
#include "study/curve/octaves.h"
#include "study/curve/take_spread.h"

/* n held flicks leave a chance of at most 0.5ⁿ that V50 is below all of them: 3 % for five. */
#define BOUND_FLICKS 5
#define LEVEL 0.95
#define NOTABLE 0.07 /* octaves, 5 %: fits that differ by less are given once */

const char *fl_bound_name(enum fl_bound b)
{
    static const char *const names[] = {"none", "above", "below", "no_relation", "too_few"};
    return names[b];
}

static void forget(struct fl_curve *c, enum fl_quantity q)
{
    *c = (struct fl_curve){
        .quantity = q, .counts_per_inch = FL_UNKNOWN, .degrees_per_count = FL_UNKNOWN};
    double *unknown[] = {&c->kernel_ms,  &c->alpha,      &c->beta,          &c->v10,
                         &c->v50,        &c->v50_low,    &c->v50_high,      &c->v90,
                         &c->slope,      &c->held_max,   &c->tripped_min,   &c->bound_at,
                         &c->flick_low,  &c->flick_high, &c->take_variance, &c->take_df,
                         &c->stray_rate, &c->stray_gain, &c->other_v50,     &c->other_low,
                         &c->other_high};
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++)
        *unknown[i] = FL_UNKNOWN;
}

/* Counts why a flick cannot be a point; true when it can. */
static bool usable(struct fl_curve *c, const struct fl_flick *f)
{
    int *reason = f->at_risk == FL_NO               ? &c->not_fitted_no_risk
                  : f->at_risk != FL_YES            ? &c->not_fitted_unknown_risk
                  : f->tripped == FL_ANSWER_UNKNOWN ? &c->not_fitted_no_outcome
                  : !(f->peak[c->quantity] > 0)     ? &c->not_fitted_no_value
                                                    : NULL;
    if (!reason)
        return true;
    ++*reason;
    c->not_fitted++;
    return false;
}

static size_t flicks_of(struct fl_take *const *takes, size_t n)
{
    size_t all = 0;
    for (size_t i = 0; i < n; i++)
        all += takes[i]->n_flicks;
    return all;
}

static void add_point(struct fl_curve *c, const struct fl_take *t, const struct fl_flick *f)
{
    double v = f->peak[c->quantity];
    bool tripped = f->tripped == FL_YES;
    c->points[c->flicks++] = (struct fl_point){v, tripped, t, f->start_s, false};
    if (tripped) {
        c->trips++;
        c->tripped_min = fmin(c->tripped_min, v); /* fmin and fmax skip NaN */
    } else {
        c->held_max = fmax(c->held_max, v);
    }
}

static void gather(struct fl_curve *c, struct fl_take *const *takes, size_t n,
                   struct fl_arena *arena)
{
    double *kernel = FL_NEW(double, n + 1);
    c->points = FL_ARENA(arena, struct fl_point, flicks_of(takes, n) + 1);
    for (size_t i = 0; i < n; i++) {
        int before = c->flicks;
        for (size_t k = 0; k < takes[i]->n_flicks; k++)
            if (usable(c, &takes[i]->flicks[k]))
                add_point(c, takes[i], &takes[i]->flicks[k]);
        c->takes += c->flicks > before;
        kernel[i] = takes[i]->kernel_ms;
    }
    c->kernel_ms = fl_median(kernel, n);
    free(kernel);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Speed of the fifth-fastest or fifth-slowest flick; NaN when there are fewer than five. */
static double fifth(const struct fl_curve *c, bool fastest)
{
    if (c->flicks < BOUND_FLICKS)
        return FL_UNKNOWN;
    double *v = FL_NEW(double, (size_t)c->flicks);
    for (int i = 0; i < c->flicks; i++)
        v[i] = c->points[i].v;
    qsort(v, (size_t)c->flicks, sizeof *v, ascending);
    double at = fastest ? v[c->flicks - BOUND_FLICKS] : v[BOUND_FLICKS - 1];
    free(v);
    return at;
}

/* Every flick held, or every flick tripped. */
static void bound_one_sided(struct fl_curve *c)
{
    c->bound = c->trips ? FL_BOUND_BELOW : FL_BOUND_ABOVE;
    c->bound_at = fifth(c, !c->trips);
    if (!fl_known(c->bound_at))
        c->bound = FL_BOUND_TOO_FEW;
}

/* The floor under which on and off cannot be told, in the curve's quantity: within a cell
 * quantities go with camera speed, so the flicks themselves give the factor. NaN if unknown. */
static double visible_floor(const struct fl_curve *c, struct fl_take *const *takes, size_t n,
                            struct fl_arena *arena)
{
    double floor = FL_UNKNOWN;
    double *factor = FL_ARENA(arena, double, flicks_of(takes, n) + 1);
    size_t used = 0;
    for (size_t i = 0; i < n; i++) {
        floor = fmax(floor, takes[i]->visible_floor_deg_s);
        for (size_t k = 0; k < takes[i]->n_flicks; k++) {
            const double *peak = takes[i]->flicks[k].peak;
            factor[used++] = peak[c->quantity] / peak[FL_CAMERA_SPEED];
        }
    }
    return floor * fl_median(factor, used);
}

struct columns {
    double *x;
    bool *y;
    size_t *take;
    size_t n;
};

/* The flicks that are not stray. */
static struct columns columns_of(const struct fl_curve *c, struct fl_take *const *takes, size_t n)
{
    size_t m = (size_t)c->flicks;
    struct columns d = {FL_NEW(double, m + 1), FL_NEW(bool, m + 1), FL_NEW(size_t, m + 1), 0};
    for (size_t i = 0; i < m; i++) {
        if (c->points[i].stray)
            continue;
        d.x[d.n] = log2(c->points[i].v);
        d.y[d.n] = c->points[i].tripped;
        while (d.take[d.n] < n && takes[d.take[d.n]] != c->points[i].take)
            d.take[d.n]++;
        d.n++;
    }
    return d;
}

static void free_columns(struct columns *d)
{
    free(d->x);
    free(d->y);
    free(d->take);
}

/* The wider of what the flicks say and what the spread of the takes says. */
static void set_interval(struct fl_curve *c, struct fl_take *const *takes, size_t n)
{
    double low, high, theta = -c->alpha / c->beta;
    fl_curve_limits(c, LEVEL, &low, &high);
    c->flick_low = isinf(low) ? FL_UNKNOWN : low;
    c->flick_high = isinf(high) ? FL_UNKNOWN : high;
    struct columns d = columns_of(c, takes, n);
    struct fl_spread spread;
    fl_spread_of_takes(&spread, &(struct fl_spread_points){d.x, d.y, d.take, d.n, n}, theta,
                       c->beta);
    free_columns(&d);
    c->take_variance = spread.variance;
    c->take_df = fl_known(spread.variance) ? fmax(1, spread.effective_takes - 1) : FL_UNKNOWN;
    c->effective_takes = spread.effective_takes;
    c->interval_method = !fl_known(spread.variance) ? "one_take"
                         : spread.resampled         ? "takes_bootstrap"
                                                    : "takes_t";
    c->v50_low = fl_from_octaves(fmin(low, spread.low)); /* fmin and fmax skip NaN */
    c->v50_high = fl_from_octaves(fmax(high, spread.high));
}

static void set_speeds(struct fl_curve *c)
{
    const double ln9 = 2.1972245773362196; /* logit of 0.9 */
    c->v50 = fl_from_octaves(-c->alpha / c->beta);
    c->separated = c->held_max < c->tripped_min;
    if (c->separated)
        return;
    c->v10 = fl_from_octaves((-ln9 - c->alpha) / c->beta);
    c->v90 = fl_from_octaves((ln9 - c->alpha) / c->beta);
    c->slope = c->beta;
}

/* A V50 where states cannot be told is a bound. */
static void bound_by_floor(struct fl_curve *c, double floor)
{
    if (!(c->v50 <= floor))
        return;
    c->bound = FL_BOUND_BELOW;
    c->bound_at = floor;
    c->v10 = c->v50 = c->v50_low = c->v50_high = c->v90 = FL_UNKNOWN;
    c->other_v50 = c->other_low = c->other_high = FL_UNKNOWN;
    c->interval_method = NULL;
}

static void other_fit(struct fl_curve *c, double theta, double low, double high)
{
    c->other_v50 = fl_from_octaves(theta);
    c->other_low = fl_from_octaves(low);
    c->other_high = fl_from_octaves(high);
}

/* Takes the stray flicks out of what separates held from tripped. */
static void set_strays(struct fl_curve *c)
{
    struct fl_stray fit = fl_curve_stray(c);
    c->held_max = c->tripped_min = FL_UNKNOWN;
    for (int i = 0; i < c->flicks; i++) {
        struct fl_point *p = &c->points[i];
        p->stray = fl_stray_chance(&fit, log2(p->v), p->tripped) > 0.5;
        c->strays += p->stray;
        if (p->stray)
            continue;
        double *end = p->tripped ? &c->tripped_min : &c->held_max;
        *end = p->tripped ? fmin(*end, p->v) : fmax(*end, p->v);
    }
}

/* Fits a stray rate too, and shows it if it earns its place. */
static void consider_strays(struct fl_curve *c, const struct columns *d)
{
    struct fl_stray stray;
    double low, high;
    if (fl_stray_fit(&stray, d->x, d->y, d->n))
        return;
    c->stray_rate = stray.rate;
    c->stray_gain = stray.gain;
    if (stray.gain < FL_STRAY_SHOWN || !(stray.rate > 0)) {
        if (fabs(stray.theta + c->alpha / c->beta) < NOTABLE)
            return;
        fl_stray_limits(&stray, d->x, d->y, d->n, LEVEL, &low, &high);
        other_fit(c, stray.theta, low, high);
        return;
    }
    fl_curve_limits(c, LEVEL, &low, &high);
    other_fit(c, -c->alpha / c->beta, low, high);
    c->stray_shown = true;
    c->beta = stray.beta;
    c->alpha = -stray.beta * stray.theta;
    set_strays(c);
}

static void fit(struct fl_curve *c, struct fl_take *const *takes, size_t n, struct fl_arena *arena)
{
    struct columns d = columns_of(c, takes, n);
    struct fl_logistic l;
    if (fl_logistic_fit(&l, d.x, d.y, d.n, true)) {
        c->bound = FL_BOUND_TOO_FEW;
    } else if (l.beta <= 0) {
        c->alpha = l.alpha;
        c->beta = l.beta;
        c->bound = FL_BOUND_NO_RELATION;
    } else {
        c->alpha = l.alpha;
        c->beta = l.beta;
        if (!(c->held_max < c->tripped_min))
            consider_strays(c, &d);
        set_speeds(c);
        set_interval(c, takes, n);
        bound_by_floor(c, visible_floor(c, takes, n, arena));
    }
    free_columns(&d);
}

void fl_curve_fit(struct fl_curve *c, struct fl_take *const *takes, size_t n, enum fl_quantity q,
                  struct fl_arena *arena)
{
    forget(c, q);
    gather(c, takes, n, arena);
    if (!c->flicks)
        c->bound = FL_BOUND_TOO_FEW;
    else if (c->trips == 0 || c->trips == c->flicks)
        bound_one_sided(c);
    else
        fit(c, takes, n, arena);
}
