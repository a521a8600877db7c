/* The flicks that count for a curve, and bounds where they give no curve. */
#include "study/curve/curve.h"

#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"

/* n held flicks leave a chance of at most 0.5ⁿ that V50 is below all of them: 3 % for five. */
#define BOUND_FLICKS 5

const char *fl_bound_name(enum fl_bound b)
{
    static const char *const names[] = {"none",        "above",   "below",
                                        "no_relation", "too_few", "not_pooled"};
    return names[b];
}

static void forget(struct fl_curve *c, enum fl_quantity q)
{
    *c = (struct fl_curve){
        .quantity = q, .counts_per_inch = FL_UNKNOWN, .degrees_per_count = FL_UNKNOWN};
    double *unknown[] = {
        &c->kernel_ms,   &c->alpha,       &c->beta,         &c->v10,        &c->v90,
        &c->slope,       &c->slope_low,   &c->slope_high,   &c->v50,        &c->v50_low,
        &c->v50_high,    &c->another_low, &c->another_high, &c->spread,     &c->spread_low,
        &c->spread_high, &c->held_max,    &c->tripped_min,  &c->bound_at,   &c->stray_rate,
        &c->other_v50,   &c->other_low,   &c->other_high,   &c->pool_ratio, &c->pool_p};
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++)
        *unknown[i] = FL_UNKNOWN;
}

/* Counts why a flick cannot be a point; true when it can. */
static bool usable(struct fl_curve *c, const struct fl_flick *f)
{
    int *reason = f->at_risk == FL_NO               ? &c->not_fitted_no_risk
                  : f->at_risk != FL_YES            ? &c->not_fitted_unknown_risk
                  : f->tripped == FL_ANSWER_UNKNOWN ? &c->not_fitted_no_outcome
                  : !(f->peak[c->quantity] > 0 && isfinite(f->peak[c->quantity]))
                      ? &c->not_fitted_no_value
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

static void add_take(struct fl_curve *c, const struct fl_take *t)
{
    int flicks = c->flicks, trips = c->trips;
    for (size_t k = 0; k < t->n_flicks; k++)
        if (usable(c, &t->flicks[k]))
            add_point(c, t, &t->flicks[k]);
    if (c->flicks > flicks)
        c->by_take[c->takes++] = (struct fl_take_v50){
            t, c->flicks - flicks, c->trips - trips, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
}

static void gather(struct fl_curve *c, struct fl_take *const *takes, size_t n,
                   struct fl_arena *arena)
{
    c->points = FL_ARENA(arena, struct fl_point, flicks_of(takes, n) + 1);
    c->by_take = FL_ARENA(arena, struct fl_take_v50, n + 1);
    for (size_t i = 0; i < n; i++)
        add_take(c, takes[i]);
    c->kernel_ms = FL_FLICK_KERNEL_MS;
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

bool fl_curve_gather(struct fl_curve *c, struct fl_take *const *takes, size_t n, enum fl_quantity q,
                     struct fl_arena *arena)
{
    forget(c, q);
    gather(c, takes, n, arena);
    if (!c->flicks)
        c->bound = FL_BOUND_TOO_FEW;
    else if (c->trips == 0 || c->trips == c->flicks)
        bound_one_sided(c);
    else
        return true;
    return false;
}

/* Within a setting quantities go with camera speed, so the flicks themselves give the factor. */
const struct fl_take_v50 *fl_curve_one_take(const struct fl_curve *c)
{
    bool one = c->bound == FL_BOUND_NONE && c->takes == 1 && c->by_take;
    return one && fl_known(c->by_take[0].v50) ? &c->by_take[0] : NULL;
}

double fl_curve_floor(const struct fl_curve *c, struct fl_take *const *takes, size_t n)
{
    double floor = FL_UNKNOWN, *factor = FL_NEW(double, flicks_of(takes, n) + 1);
    size_t used = 0;
    for (size_t i = 0; i < n; i++) {
        floor = fmax(floor, takes[i]->visible_floor_deg_s);
        for (size_t k = 0; k < takes[i]->n_flicks; k++) {
            const double *peak = takes[i]->flicks[k].peak;
            factor[used++] = peak[c->quantity] / peak[FL_CAMERA_SPEED];
        }
    }
    double at = floor * fl_median(factor, used);
    free(factor);
    return at;
}
