#include <math.h>

#include "maths/interval.h"
#include "maths/logistic.h"
#include "maths/logistic_core.h"

/* What is held fixed while the rest is maximised. */
enum fixed {
    FIXED_X,     /* value: the z at which the log odds are `other` */
    FIXED_LEVEL, /* value: the log odds at z = `other` */
    FIXED_SLOPE, /* value: b */
};

struct profile {
    const struct fl_likelihood *l;
    struct fl_summit top;
    enum fixed fixed;
    double other;
    double best, se; /* value at the top and its standard error */
    double t;        /* where the last climb ended: the next begins there */
};

/* Climbs the line on which value is fixed, from where the last climb ended. */
static int climb_beside(struct profile *p, double value, struct fl_summit *s)
{
    if (p->fixed == FIXED_SLOPE) /* t: the log odds at `other`, the centre of the last climb */
        return fl_likelihood_climb_line(p->l, s, -value * p->other, value, 1, 0, &p->t);
    double level = p->fixed == FIXED_X ? p->other : value; /* t: the slope */
    double z = p->fixed == FIXED_X ? value : p->other;
    return fl_likelihood_climb_line(p->l, s, level, 0, -z, 1, &p->t);
}

/* Twice the fall below the top with value fixed, and its derivative; NaN when it fails. */
static double fall_at(struct profile *p, double value, double *slope)
{
    struct fl_summit s;
    int rc = climb_beside(p, value, &s);
    *slope = NAN;
    if (s.value == -INFINITY)
        return INFINITY;
    if (rc != 0) {
        p->t = 0;
        rc = climb_beside(p, value, &s);
    }
    if (p->fixed == FIXED_SLOPE) {
        p->other = s.centre;
        p->t = s.a + s.b * s.centre;
    }
    double rate = p->fixed == FIXED_X       ? -s.b * s.g_level
                  : p->fixed == FIXED_LEVEL ? s.g_level
                                            : s.g_slope;
    *slope =
        -2 * rate; /* of the maximum: only the fixed value's own share of the gradient is left */
    return rc == 0 ? 2 * (p->top.value - s.value) : NAN;
}

#define FARTHEST 1e9 /* in standard deviations of x: beyond, an end is open */
enum { MAX_ROOT_STEPS = 200 };

/* The value between p->best and `end` (±INFINITY: no limit) at which the fall is crit. Newton on
 * the square root of the fall, nearly straight, inside a bracket. */
static double crossing(struct profile *p, double crit, double end)
{
    double inside = p->best, outside = end, target = sqrt(crit), sign = end > p->best ? 1 : -1;
    double v = p->best + sign * target * p->se;
    if (sign * (v - end) >= 0)
        v = 0.5 * (inside + end);
    p->t = p->top.b;
    if (p->fixed == FIXED_SLOPE) {
        p->other = p->top.centre;
        p->t = p->top.a + p->top.b * p->top.centre;
    }
    for (int i = 0; i < MAX_ROOT_STEPS; i++) {
        double slope, fall = fall_at(p, v, &slope), root = sqrt(fmax(fall, 0));
        if (isnan(fall))
            return NAN;
        if (fabs(v - p->best) > FARTHEST)
            return sign * INFINITY;
        if (root < target)
            inside = v;
        else
            outside = v;
        double next = v - (root - target) * 2 * root / slope;
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

static int profile_begin(struct profile *p, struct fl_likelihood *l, enum fixed fixed, double other)
{
    *p = (struct profile){.l = l, .fixed = fixed, .other = other};
    if (fl_likelihood_top(l, &p->top) != 0)
        return -1;
    const struct fl_summit *s = &p->top;
    double at = fixed == FIXED_X ? (other - s->a) / s->b : other, off = at - s->centre;
    double level_se = sqrt(1 / s->info_level + off * off / s->info_slope);
    p->best = fixed == FIXED_X ? at : fixed == FIXED_LEVEL ? s->a + s->b * other : s->b;
    p->se = fixed == FIXED_X       ? level_se / fabs(s->b)
            : fixed == FIXED_LEVEL ? level_se
                                   : 1 / sqrt(s->info_slope);
    return 0;
}

/* The x are arranged in a circle closed at infinity, where the slope is 0. Every line of fixed x
 * passes through (a, b) = (level, 0); the profile is lowest at the x whose line is level there.
 * From the best x it falls both ways round to that lowest one. */
static void x_limits(struct profile *p, double crit, double *low, double *high)
{
    struct fl_summit flat = fl_likelihood_at(p->l, p->other, 0);
    double lowest = flat.g_slope / flat.g_level + flat.centre, zero = 0;
    *low = -INFINITY;
    *high = INFINITY;
    if (fabs(p->top.b) < 1e-7 || 2 * (p->top.value - flat.value) <= crit)
        return; /* no x, or every x, goes with these data */
    struct fl_summit level;
    double t = p->top.a + p->top.b * p->top.centre;
    int rc = fl_likelihood_climb_line(p->l, &level, zero, 0, 1, 0, &t);
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

static bool has_likelihood(const struct fl_likelihood *l)
{
    bool overlap = l->high[0] > l->low[1] && l->high[1] > l->low[0];
    return l->firth || (l->ones > 0 && l->ones < l->n && overlap);
}

/* Either kind of limits in units of z. */
static int limits(struct fl_likelihood *l, enum fixed fixed, double other, double level,
                  double *low, double *high)
{
    struct profile p;
    double crit = fl_chi2_quantile(level, 1);
    if (!has_likelihood(l) || !(crit > 0) || isinf(crit) || profile_begin(&p, l, fixed, other) != 0)
        return -1;
    if (fixed == FIXED_X) {
        x_limits(&p, crit, low, high);
    } else {
        *low = crossing(&p, crit, -INFINITY);
        *high = crossing(&p, crit, INFINITY);
    }
    return isnan(*low) || isnan(*high) ? -1 : 0;
}

static int profile_x(const double *x, const bool *y, size_t n, bool firth, double p, double level,
                     double *low, double *high)
{
    struct fl_likelihood l;
    *low = *high = NAN;
    if (!(p > 0 && p < 1) || fl_likelihood_init(&l, x, y, n, firth) != 0)
        return -1;
    int rc = limits(&l, FIXED_X, log(p / (1 - p)), level, low, high);
    *low = l.mean + l.scale * *low;
    *high = l.mean + l.scale * *high;
    fl_likelihood_finish(&l);
    return rc;
}

int fl_logistic_profile_x(const double *x, const bool *y, size_t n, double p, double level,
                          double *low, double *high)
{
    return profile_x(x, y, n, true, p, level, low, high);
}

int fl_logistic_profile_x_ml(const double *x, const bool *y, size_t n, double p, double level,
                             double *low, double *high)
{
    return profile_x(x, y, n, false, p, level, low, high);
}

int fl_logistic_profile_beta(const double *x, const bool *y, size_t n, double level, double *low,
                             double *high)
{
    struct fl_likelihood l;
    *low = *high = NAN;
    if (fl_likelihood_init(&l, x, y, n, true) != 0)
        return -1;
    int rc = limits(&l, FIXED_SLOPE, 0, level, low, high);
    *low /= l.scale;
    *high /= l.scale;
    fl_likelihood_finish(&l);
    return rc;
}

int fl_logistic_profile_alpha(const double *x, const bool *y, size_t n, double level, double *low,
                              double *high)
{
    struct fl_likelihood l;
    *low = *high = NAN;
    if (fl_likelihood_init(&l, x, y, n, true) != 0)
        return -1;
    int rc = limits(&l, FIXED_LEVEL, -l.mean / l.scale, level, low, high);
    fl_likelihood_finish(&l);
    return rc;
}

double fl_logistic_profile_loglik(const double *x, const bool *y, size_t n, double x0)
{
    struct fl_likelihood l;
    if (!isfinite(x0) || fl_likelihood_init(&l, x, y, n, true) != 0)
        return NAN;
    struct fl_summit top, s;
    double t = 0, value = NAN;
    if (fl_likelihood_top(&l, &top) == 0) {
        t = top.b;
        if (fl_likelihood_climb_line(&l, &s, 0, 0, -(x0 - l.mean) / l.scale, 1, &t) == 0)
            value = s.value + log(l.scale);
    }
    fl_likelihood_finish(&l);
    return value;
}
