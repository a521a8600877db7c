/* Profile limits of the x at which a logistic line reaches a chance: Heinze & Schemper 2002
 * (Statistics in Medicine 21:2409-2419) for the penalised likelihood. The x is held fixed while the
 * slope is maximised; the limits are where twice the fall reaches the chi-square of the level. */
#include <math.h>

#include "maths/interval.h"
#include "maths/logistic.h"
#include "maths/logistic_likelihood.h"

struct profile {
    const struct fl_likelihood *l;
    struct fl_summit top;
    double log_odds; /* that the line has at x */
    double best, se; /* z at the top and its standard error */
    double slope;    /* where the last climb ended: the next begins there */
};

/* Climbs the line on which z is fixed, from where the last climb ended. */
static int climb_beside(struct profile *p, double z, struct fl_summit *s)
{
    return fl_likelihood_climb_line(p->l, s, p->log_odds, 0, -z, 1, &p->slope);
}

/* Twice the fall below the top with z fixed, and its derivative; NaN when it fails. */
static double fall_at(struct profile *p, double z, double *change)
{
    struct fl_summit s;
    int rc = climb_beside(p, z, &s);
    *change = NAN;
    if (s.value == -INFINITY)
        return INFINITY;
    if (rc != 0) {
        p->slope = 0;
        rc = climb_beside(p, z, &s);
    }
    /* of the maximum: only z's own share of the gradient is left */
    *change = 2 * s.b * s.g_level;
    return rc == 0 ? 2 * (p->top.value - s.value) : NAN;
}

#define FARTHEST 1e9 /* in standard deviations of x: beyond, an end is open */
enum { MAX_ROOT_STEPS = 200 };

/* The z between p->best and `end` (±INFINITY: no limit) at which the fall is crit. Newton on the
 * square root of the fall, nearly straight, inside a bracket. */
static double crossing(struct profile *p, double crit, double end)
{
    double inside = p->best, outside = end, target = sqrt(crit), sign = end > p->best ? 1 : -1;
    double v = p->best + sign * target * p->se;
    if (sign * (v - end) >= 0)
        v = 0.5 * (inside + end);
    p->slope = p->top.b;
    for (int i = 0; i < MAX_ROOT_STEPS; i++) {
        double change, fall = fall_at(p, v, &change), root = sqrt(fmax(fall, 0));
        if (isnan(fall))
            return NAN;
        if (fabs(v - p->best) > FARTHEST)
            return sign * INFINITY;
        if (root < target)
            inside = v;
        else
            outside = v;
        double next = v - (root - target) * 2 * root / change;
        double least = fmin(inside, outside), most = fmax(inside, outside);
        if (isinf(outside) && !(sign * (next - p->best) < 8 * sign * (v - p->best)))
            next = p->best + 4 * (v - p->best);
        else if (!(next > least && next < most))
            next = isinf(outside) ? p->best + 4 * (v - p->best) : 0.5 * (inside + outside);
        if (fabs(next - v) <= 1e-11 * fabs(v - p->best) || most - least <= 1e-13 * fabs(v))
            return next;
        v = next;
    }
    return v;
}

static int profile_begin(struct profile *p, const struct fl_likelihood *l, double log_odds)
{
    *p = (struct profile){.l = l, .log_odds = log_odds};
    if (fl_likelihood_top(l, &p->top) != 0)
        return -1;
    const struct fl_summit *s = &p->top;
    p->best = (log_odds - s->a) / s->b;
    double off = p->best - s->centre;
    p->se = sqrt(1 / s->info_level + off * off / s->info_slope) / fabs(s->b);
    return 0;
}

/* The x are arranged in a circle closed at infinity, where the slope is 0. Every line of fixed x
 * passes through (a, b) = (log odds, 0); the profile is lowest at the x whose line is level there.
 * From the best x it falls both ways round to that lowest one. */
static void x_limits(struct profile *p, double crit, double *low, double *high)
{
    struct fl_summit flat = fl_likelihood_at(p->l, p->log_odds, 0);
    double lowest = flat.g_slope / flat.g_level + flat.centre;
    *low = -INFINITY;
    *high = INFINITY;
    if (fabs(p->top.b) < 1e-7 || 2 * (p->top.value - flat.value) <= crit)
        return; /* no x, or every x, goes with these data */
    struct fl_summit level;
    double t = p->top.a + p->top.b * p->top.centre;
    int rc = fl_likelihood_climb_line(p->l, &level, 0, 0, 1, 0, &t);
    bool open = rc == 0 && 2 * (p->top.value - level.value) <= crit;
    bool finite = isfinite(lowest);
    if (finite && lowest < p->best)
        *low = crossing(p, crit, lowest);
    else if (!open)
        *low = crossing(p, crit, -INFINITY);
    if (finite && lowest > p->best)
        *high = crossing(p, crit, lowest);
    else if (!open)
        *high = crossing(p, crit, INFINITY);
}

/* The limits in units of z. */
static int limits(const struct fl_likelihood *l, double log_odds, double level, double *low,
                  double *high)
{
    struct profile p;
    double crit = fl_chi2_quantile(level, 1);
    if (!(crit > 0) || isinf(crit) || profile_begin(&p, l, log_odds) != 0)
        return -1;
    x_limits(&p, crit, low, high);
    return isnan(*low) || isnan(*high) ? -1 : 0;
}

int fl_logistic_profile_x(const double *x, const bool *y, size_t n, double p, double level,
                          double *low, double *high)
{
    struct fl_likelihood l;
    *low = *high = NAN;
    if (!(p > 0 && p < 1) || fl_likelihood_init(&l, x, y, n, true) != 0)
        return -1;
    int rc = limits(&l, log(p / (1 - p)), level, low, high);
    *low = l.mean + l.scale * *low;
    *high = l.mean + l.scale * *high;
    fl_likelihood_finish(&l);
    return rc;
}
