/* One take's own trip speed at a given slope, by likelihood limits. */
#include "study/curve/take_threshold.h"

#include <math.h>

#include "base/units.h"
#include "maths/logistic.h"

#define Z95 1.959963984540054
#define STEPS 60

struct flicks {
    const double *x;
    const bool *y;
    size_t n, without;
    double beta;
};

static double loglik(const struct flicks *f, double theta)
{
    double sum = 0;
    for (size_t i = 0; i < f->n; i++) {
        double logit = f->beta * (f->x[i] - theta);
        if (i != f->without)
            sum += log(fl_logistic_p(0, 1, f->y[i] ? logit : -logit));
    }
    return isfinite(sum) ? sum : -1e300;
}

/* Rises with theta; p and 1 - p each by itself, or one of them drowns in the other's rounding. */
static double residual(const struct flicks *f, double theta)
{
    double sum = 0;
    for (size_t i = 0; i < f->n; i++) {
        double logit = f->beta * (f->x[i] - theta);
        sum += f->y[i] ? fl_logistic_p(0, 1, -logit) : -fl_logistic_p(0, 1, logit);
    }
    return sum;
}

static void range(const struct flicks *f, double *low, double *high)
{
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t i = 0; i < f->n; i++) {
        *low = fmin(*low, f->x[i]);
        *high = fmax(*high, f->x[i]);
    }
    *low -= 20 / f->beta;
    *high += 20 / f->beta;
}

/* Middle of where the residual is 0: in a wide gap it is so over some length. */
static double likeliest(const struct flicks *f)
{
    double end[2];
    for (int side = 0; side < 2; side++) {
        double low, high;
        range(f, &low, &high);
        for (int i = 0; i < STEPS; i++) {
            double middle = (low + high) / 2, r = residual(f, middle);
            *(r < 0 || (side && r == 0) ? &low : &high) = middle;
        }
        end[side] = (low + high) / 2;
    }
    return (end[0] + end[1]) / 2;
}

/* How far from `from` the log-likelihood has fallen to `level`; direction -1 or 1. */
static double reach(const struct flicks *f, double from, int direction, double level)
{
    double in = 0, out = 1 / f->beta;
    for (int i = 0; i < STEPS && loglik(f, from + direction * out) > level; i++) {
        in = out;
        out *= 2;
    }
    for (int i = 0; i < STEPS; i++) {
        double middle = (in + out) / 2;
        *(loglik(f, from + direction * middle) > level ? &in : &out) = middle;
    }
    return (in + out) / 2;
}

static void of_mixed(struct fl_take_threshold *out, const struct flicks *f)
{
    out->theta = likeliest(f);
    double level = loglik(f, out->theta) - Z95 * Z95 / 2;
    out->down = reach(f, out->theta, -1, level) / Z95;
    out->up = reach(f, out->theta, 1, level) / Z95;
}

/* The slowest of flicks that all tripped, the fastest of flicks that all held. */
static size_t most_telling(const struct flicks *f, bool tripped)
{
    size_t k = 0;
    for (size_t i = 1; i < f->n; i++)
        if (tripped ? f->x[i] < f->x[k] : f->x[i] > f->x[k])
            k = i;
    return k;
}

/* The log-likelihood rises to 0 far away on the open side: falls are counted from there. */
static void of_one_sided(struct fl_take_threshold *out, struct flicks f, bool tripped)
{
    f.without = most_telling(&f, tripped);
    double low, high;
    range(&f, &low, &high);
    double from = tripped ? low : high;
    int direction = tripped ? 1 : -1;
    double one = reach(&f, from, direction, -0.5), two = reach(&f, from, direction, -2);
    *(tripped ? &out->up : &out->down) = two - one;
    out->theta = from + direction * (2 * one - two);
}

void fl_take_threshold_fit(struct fl_take_threshold *out, const double *x, const bool *y, size_t n,
                           double beta)
{
    *out = (struct fl_take_threshold){FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, false};
    struct flicks f = {x, y, n, n, beta};
    size_t trips = 0;
    for (size_t i = 0; i < n; i++)
        trips += y[i];
    if (n < FL_THRESHOLD_FLICKS || !(beta > 0))
        return;
    out->mixed = trips > 0 && trips < n;
    if (out->mixed)
        of_mixed(out, &f);
    else
        of_one_sided(out, f, trips > 0);
}
