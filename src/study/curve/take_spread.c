/* Interval of V50 over takes: Student's t by takes, or resampled takes where they inform
 * unevenly. */
#include "study/curve/take_spread.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/interval.h"
#include "maths/logistic.h"
#include "maths/random.h"
#include "maths/robust.h"

#define RESAMPLE_FROM 6      /* takes */
#define RESAMPLE_EFFECTIVE 4 /* fewer informing takes than this cannot be resampled */
#define RESAMPLES 600
#define INFORMING 1.5 /* effective takes below which one take alone decides */

static double score(const double *x, const bool *y, size_t n, double theta, double beta)
{
    double residual = 0, information = 0, skew = 0;
    for (size_t i = 0; i < n; i++) {
        double p = fl_logistic_p(-beta * theta, beta, x[i]), w = p * (1 - p);
        residual += y[i] - p;
        information += w;
        skew += w * (1 - 2 * p);
    }
    return residual + (information > 0 ? skew / information / 2 : 0);
}

double fl_spread_own_theta(const double *x, const bool *y, size_t n, double beta)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        low = fmin(low, x[i]);
        high = fmax(high, x[i]);
    }
    /* Outside all points by 20 logits the score has the sign of its limit. */
    low -= 20 / beta;
    high += 20 / beta;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (score(x, y, n, middle, beta) < 0)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

/* Gathers the points of one take; returns how many. */
static size_t of_take(const struct fl_spread_points *p, size_t take, double *x, bool *y)
{
    size_t n = 0;
    for (size_t i = 0; i < p->n; i++)
        if (p->take[i] == take) {
            x[n] = p->x[i];
            y[n++] = p->y[i];
        }
    return n;
}

static double information(const double *x, size_t n, double theta, double beta)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        double p = fl_logistic_p(-beta * theta, beta, x[i]);
        sum += p * (1 - p);
    }
    return sum;
}

/* Weights each take by its share of the information, as the pooled fit does. */
static void weigh(struct fl_spread *out, const double *own, double *w, size_t n)
{
    double sum = 0, squares = 0, mean = 0, scatter = 0;
    for (size_t k = 0; k < n; k++)
        sum += w[k];
    for (size_t k = 0; k < n; k++) {
        w[k] /= sum;
        squares += w[k] * w[k];
        if (w[k] > 0)
            mean += w[k] * own[k];
    }
    for (size_t k = 0; k < n; k++)
        if (w[k] > 0)
            scatter += w[k] * (own[k] - mean) * (own[k] - mean);
    out->effective_takes = 1 / squares;
    if (out->effective_takes >= INFORMING)
        out->variance = scatter / (1 - squares);
}

static void student(struct fl_spread *out, double theta)
{
    double df = fmax(1, out->effective_takes - 1);
    double half = fl_t_quantile(0.975, df) * sqrt(out->variance / out->effective_takes);
    out->low = theta - half;
    out->high = theta + half;
}

/* V50 of one resample of whole takes; NaN when it has none. */
static double resample(const struct fl_spread_points *p, struct fl_random *rng, double *x, bool *y)
{
    size_t n = 0;
    for (size_t k = 0; k < p->takes; k++)
        n += of_take(p, fl_random_below(rng, p->takes), x + n, y + n);
    struct fl_logistic fit;
    if (fl_logistic_fit(&fit, x, y, n, true) || fit.beta <= 0)
        return FL_UNKNOWN;
    return -fit.alpha / fit.beta;
}

/* Percentiles of few takes are too narrow; they are taken further out by Student's t and
 * √(n/(n-1)): the expanded percentile interval of Hesterberg 2015, Am Stat 69:371-386. */
static void bootstrap(struct fl_spread *out, const struct fl_spread_points *p)
{
    double *draw = FL_NEW(double, RESAMPLES), *x = FL_NEW(double, p->n * p->takes);
    bool *y = FL_NEW(bool, p->n * p->takes);
    struct fl_random rng;
    fl_random_seed(&rng, 1);
    size_t kept = 0;
    for (int i = 0; i < RESAMPLES; i++) {
        double theta = resample(p, &rng, x, y);
        if (fl_known(theta))
            draw[kept++] = theta;
    }
    double k = out->effective_takes, t = fl_t_quantile(0.975, fmax(1, k - 1));
    double tail = fl_normal_cdf(-t * sqrt(k / (k - 1)));
    bool open = kept < RESAMPLES * (1 - tail);
    out->low = open ? -INFINITY : fl_quantile(draw, kept, tail);
    out->high = open ? INFINITY : fl_quantile(draw, kept, 1 - tail);
    out->resampled = true;
    free(draw);
    free(x);
    free(y);
}

/* Variance and effective takes. */
static void weigh_takes(struct fl_spread *out, const struct fl_spread_points *p, double theta,
                        double beta)
{
    *out = (struct fl_spread){FL_UNKNOWN, 0, FL_UNKNOWN, FL_UNKNOWN, false};
    double *own = FL_NEW(double, p->takes + 1), *w = FL_NEW(double, p->takes + 1);
    double *x = FL_NEW(double, p->n + 1);
    bool *y = FL_NEW(bool, p->n + 1);
    for (size_t k = 0; k < p->takes; k++) {
        size_t n = of_take(p, k, x, y);
        w[k] = information(x, n, theta, beta);
        own[k] = n ? fl_spread_own_theta(x, y, n, beta) : theta;
    }
    weigh(out, own, w, p->takes);
    free(own);
    free(w);
    free(x);
    free(y);
}

void fl_spread_by_student(struct fl_spread *out, const struct fl_spread_points *p, double theta,
                          double beta)
{
    weigh_takes(out, p, theta, beta);
    if (fl_known(out->variance))
        student(out, theta);
}

void fl_spread_of_takes(struct fl_spread *out, const struct fl_spread_points *p, double theta,
                        double beta)
{
    weigh_takes(out, p, theta, beta);
    if (!fl_known(out->variance))
        return;
    if (p->takes >= RESAMPLE_FROM && out->effective_takes >= RESAMPLE_EFFECTIVE)
        bootstrap(out, p);
    else
        student(out, theta);
}
