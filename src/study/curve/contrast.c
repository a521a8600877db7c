/* The ratio of two trip speeds on the octave scale: flicks give one interval, takes another, the
 * wider stands. */
#include "study/curve/contrast.h"

#include "maths/interval.h"
#include "study/curve/curve.h"
#include "study/curve/octaves.h"

#define Z95 1.959963984540054
#define Z_MOST 8.0

struct limits {
    double low, high;
}; /* octaves */

/* Square-and-add (Zou & Donner 2008, Stat Med 27:1693-1702; Newcombe 1998 for proportions). */
static struct limits square_and_add(double a, struct limits la, double b, struct limits lb)
{
    double d = a - b;
    return (struct limits){d - hypot(a - la.low, lb.high - b), d + hypot(la.high - a, b - lb.low)};
}

static struct limits profile(const struct fl_curve *c, double z)
{
    struct limits l;
    fl_curve_limits(c, 1 - 2 * fl_normal_cdf(-z), &l.low, &l.high);
    return l;
}

static bool excludes_zero(struct limits l)
{
    return l.low > 0 || l.high < 0;
}

static struct limits at_level(const struct fl_curve *a, const struct fl_curve *b, double z)
{
    return square_and_add(log2(a->v50), profile(a, z), log2(b->v50), profile(b, z));
}

/* The level at which the interval just touches 0. Profile limits are no multiples of a standard
 * error, so a significant result is found by bisection; a non-significant p by its half width. */
static double flick_p(const struct fl_curve *a, const struct fl_curve *b, double d, struct limits l)
{
    if (!excludes_zero(l)) {
        double half = d > 0 ? d - l.low : l.high - d;
        return isinf(half) ? 1 : 2 * fl_normal_cdf(-Z95 * fabs(d) / half);
    }
    double in = Z95, out = Z_MOST;
    for (int i = 0; i < 14; i++) {
        double z = (in + out) / 2;
        *(excludes_zero(at_level(a, b, z)) ? &in : &out) = z;
    }
    return 2 * fl_normal_cdf(-in);
}

static struct limits open_to_infinite(const struct fl_curve *c)
{
    return (struct limits){fl_known(c->flick_low) ? c->flick_low : -INFINITY,
                           fl_known(c->flick_high) ? c->flick_high : INFINITY};
}

/* Two samples of takes with one variance between takes: the game's, else that of the two. */
static double variance_of(const struct fl_curve *a, const struct fl_curve *b, double *df)
{
    bool shared = a->shared_variance && b->shared_variance;
    *df = shared ? a->take_df : a->take_df + b->take_df;
    return (a->take_df * a->take_variance + b->take_df * b->take_variance) /
           (a->take_df + b->take_df);
}

static struct limits takes_part(const struct fl_curve *a, const struct fl_curve *b, double d,
                                double *p)
{
    double df, variance = variance_of(a, b, &df);
    double se = sqrt(variance * (1 / a->effective_takes + 1 / b->effective_takes));
    double half = fl_t_quantile(0.975, df) * se;
    *p = se > 0 ? fl_t_upper2(d / se, df) : d != 0 ? 0 : 1;
    return (struct limits){d - half, d + half};
}

void fl_contrast_v50(struct fl_contrast *out, const struct fl_curve *a, const struct fl_curve *b)
{
    *out = (struct fl_contrast){a->v50 / b->v50, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    if (!fl_known(out->ratio) || !fl_known(a->take_variance) || !fl_known(b->take_variance))
        return;
    double d = log2(out->ratio), p;
    struct limits flicks =
        square_and_add(log2(a->v50), open_to_infinite(a), log2(b->v50), open_to_infinite(b));
    struct limits takes = takes_part(a, b, d, &p);
    out->low = fl_from_octaves(fmin(flicks.low, takes.low));
    out->high = fl_from_octaves(fmax(flicks.high, takes.high));
    /* The search is dear and pointless where the takes already forbid a claim. */
    out->p = p > 0.05 && excludes_zero(flicks) ? p : fmax(p, flick_p(a, b, d, flicks));
}

void fl_contrast_bounds(double *low, double *high, const struct fl_curve *a,
                        const struct fl_curve *b)
{
    *low = *high = FL_UNKNOWN;
    if (a->bound == FL_BOUND_ABOVE && b->bound == FL_BOUND_NONE)
        *low = a->bound_at / b->v50_high;
    else if (a->bound == FL_BOUND_BELOW && b->bound == FL_BOUND_NONE)
        *high = a->bound_at / b->v50_low;
    else if (b->bound == FL_BOUND_ABOVE && a->bound == FL_BOUND_NONE)
        *high = a->v50_high / b->bound_at;
    else if (b->bound == FL_BOUND_BELOW && a->bound == FL_BOUND_NONE)
        *low = a->v50_low / b->bound_at;
    else if (a->bound == FL_BOUND_ABOVE && b->bound == FL_BOUND_BELOW)
        *low = a->bound_at / b->bound_at;
    else if (a->bound == FL_BOUND_BELOW && b->bound == FL_BOUND_ABOVE)
        *high = a->bound_at / b->bound_at;
}
