/* One variance between takes for the settings of a game, as in an analysis of variance. */
#include "study/curve/pooled_variance.h"

#include <stdlib.h>
#include <string.h>

#include "maths/interval.h"
#include "study/curve/curve.h"
#include "study/curve/octaves.h"

static bool shares(const struct fl_curve *a, const struct fl_curve *b)
{
    return !a->pooled && a->quantity == b->quantity && !strcmp(a->game, b->game) &&
           fl_known(a->take_variance);
}

/* Weighted by degrees of freedom. */
static double pooled_variance(const struct fl_curve *curves, const double *own, size_t n,
                              const struct fl_curve *of, double *df)
{
    double sum = 0;
    *df = 0;
    for (size_t i = 0; i < n; i++)
        if (shares(&curves[i], of)) {
            double f = fmax(1, curves[i].effective_takes - 1);
            sum += f * own[i];
            *df += f;
        }
    return sum / *df;
}

static void set_interval(struct fl_curve *c)
{
    double theta = -c->alpha / c->beta;
    double half = fl_t_quantile(0.975, c->take_df) * sqrt(c->take_variance / c->effective_takes);
    double low = fl_known(c->flick_low) ? c->flick_low : -INFINITY;
    double high = fl_known(c->flick_high) ? c->flick_high : INFINITY;
    c->v50_low = fl_from_octaves(fmin(low, theta - half));
    c->v50_high = fl_from_octaves(fmax(high, theta + half));
}

void fl_pool_variance(struct fl_curve *curves, size_t n)
{
    double *own = FL_NEW(double, n + 1);
    for (size_t i = 0; i < n; i++)
        own[i] = curves[i].take_variance;
    for (size_t i = 0; i < n; i++) {
        struct fl_curve *c = &curves[i];
        if (!shares(c, c))
            continue;
        c->take_variance = pooled_variance(curves, own, n, c, &c->take_df);
        c->shared_variance = true;
        if (c->interval_method && !strcmp(c->interval_method, "takes_t"))
            set_interval(c);
    }
    free(own);
}
