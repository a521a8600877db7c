/* Flicks to come are drawn from what is known of a curve and fitted as real ones would be. */
#include "study/plan/forecast.h"

#include <stdlib.h>

#include "maths/interval.h"
#include "maths/logistic.h"
#include "maths/robust.h"
#include "study/curve/curve.h"
#include "study/curve/take_spread.h"

#define LEVEL 0.95
/* the median of a width is then known within about a tenth of its spread */
#define SIMULATIONS 40
#define PRIOR_DF 2.0
#define PRIOR_LOW 5.3219280948873626  /* log2 40 */
#define PRIOR_HIGH 10.321928094887362 /* log2 1280 */
#define BEYOND 2.0                    /* octaves outside of the flicks where a V50 may still lie */
#define STEPS 61
#define SLOPES 13
#define SLOPE_LOW 1.0   /* logits an octave: V10 to V90 over four octaves */
#define SLOPE_HIGH 64.0 /* over 0.07 octaves */
/* kept small and not at 0: Wichmann and Hill 2001, Percept Psychophys 63:1293-1313 */
#define STRAY 0.01

/* ---- what is known ---- */

static void weigh(struct fl_posterior *p, const struct fl_curve *c, double low, double high)
{
    fl_posterior_init(p, low, high, STEPS, SLOPE_LOW, SLOPE_HIGH, SLOPES, STRAY);
    for (int i = 0; c && i < c->flicks; i++)
        fl_posterior_add(p, log2(c->points[i].v), c->points[i].tripped);
}

/* Twice: a wide grid finds where the V50 may be, a fine one covers that. */
void fl_forecast_posterior(struct fl_posterior *p, const struct fl_curve *c)
{
    double low = INFINITY, high = -INFINITY, step;
    for (int i = 0; c && i < c->flicks; i++) {
        low = fmin(low, log2(c->points[i].v) - BEYOND);
        high = fmax(high, log2(c->points[i].v) + BEYOND);
    }
    if (!(low < high)) {
        weigh(p, NULL, PRIOR_LOW, PRIOR_HIGH);
        return;
    }
    weigh(p, c, low, high);
    step = p->theta[1] - p->theta[0];
    fl_posterior_theta_range(p, 1e-3, &low, &high);
    fl_posterior_finish(p);
    weigh(p, c, low - step, high + step);
}

struct fl_takes_differ fl_forecast_takes_differ(const struct fl_curve *c)
{
    double prior = FL_TAKE_SCATTER * FL_TAKE_SCATTER, information = 0;
    if (!c || !fl_known(c->take_variance) || !(c->beta > 0))
        return (struct fl_takes_differ){FL_TAKE_SCATTER, PRIOR_DF, true};
    for (int i = 0; i < c->flicks; i++) {
        double p = fl_logistic_p(c->alpha, c->beta, log2(c->points[i].v));
        information += p * (1 - p);
    }
    double of_flicks = c->effective_takes / (c->beta * c->beta * information);
    double own = fmax(0, c->take_variance - of_flicks), df = c->take_df + PRIOR_DF;
    return (struct fl_takes_differ){sqrt((c->take_df * own + PRIOR_DF * prior) / df), df, false};
}

double fl_forecast_width_now(const struct fl_curve *c)
{
    if (!c || c->bound != FL_BOUND_NONE || !fl_known(c->v50))
        return FL_UNKNOWN;
    double w = log2(c->v50_high / c->v50_low) / 2;
    return fl_known(w) ? w : INFINITY;
}

/* ---- what may come ---- */

struct flicks {
    double *x;
    bool *y;
    size_t *take, n, takes;
};

static struct flicks flicks_new(const struct fl_curve *c, const struct fl_flicks_ahead *ahead)
{
    size_t old = c ? (size_t)c->flicks : 0,
           all = old + (size_t)ahead->takes * (size_t)ahead->flicks_a_take;
    struct flicks f = {FL_NEW(double, all + 1), FL_NEW(bool, all + 1), FL_NEW(size_t, all + 1), 0,
                       0};
    const struct fl_take *last = NULL;
    for (size_t i = 0; i < old; i++) {
        const struct fl_point *v = &c->points[i];
        if (v->stray)
            continue;
        f.takes += v->take != last; /* points come take by take */
        last = v->take;
        f.x[f.n] = log2(v->v);
        f.y[f.n] = v->tripped;
        f.take[f.n++] = f.takes - 1;
    }
    return f;
}

static void flicks_free(struct flicks *f)
{
    free(f->x);
    free(f->y);
    free(f->take);
}

/* One possible spread, the estimate being its median. A variance known by df degrees of freedom
 * goes as 1/χ²; the median of χ² by Wilson and Hilferty 1931, PNAS 17:684-688. */
static double draw_sd(const struct fl_takes_differ *d, struct fl_random *rng)
{
    double df = round(d->df), chi2 = 0;
    for (int i = 0; i < df; i++) {
        double z = fl_random_normal(rng);
        chi2 += z * z;
    }
    return d->sd * sqrt(df * pow(1 - 2 / (9 * df), 3) / chi2);
}

/* Adds one possible course of the takes to come. */
static void simulate(struct flicks *f, const struct fl_posterior *p,
                     const struct fl_takes_differ *differ, const struct fl_flicks_ahead *ahead,
                     struct fl_random *rng)
{
    double theta, slope, take_sd = draw_sd(differ, rng);
    fl_posterior_draw(p, rng, &theta, &slope);
    for (int k = 0; k < ahead->takes; k++, f->takes++) {
        double own = theta + take_sd * fl_random_normal(rng);
        for (int i = 0; i < ahead->flicks_a_take; i++, f->n++) {
            double x =
                ahead->speed[(size_t)i % ahead->n_speeds] + FL_HAND_SCATTER * fl_random_normal(rng);
            f->x[f->n] = x;
            f->y[f->n] = fl_random_uniform(rng) < fl_logistic_p(-slope * own, slope, x);
            f->take[f->n] = f->takes;
        }
    }
}

/* Student's part, with the other settings of the game lending their degrees of freedom
 * (study/curve/pooled_variance.h). */
static double takes_width(const struct fl_spread *s, const struct fl_curve *c)
{
    double df = fmax(1, s->effective_takes - 1), variance = s->variance;
    if (c && c->shared_variance) {
        double lent = fmax(0, c->take_df - fmax(1, c->effective_takes - 1));
        variance = (df * variance + lent * c->take_variance) / (df + lent);
        df += lent;
    }
    return fl_t_quantile(0.5 + LEVEL / 2, df) * sqrt(variance / s->effective_takes);
}

/* Half of the interval that fl_curve_fit would give. */
static double width_of(const struct flicks *f, const struct fl_curve *c)
{
    struct fl_logistic fit;
    struct fl_spread spread;
    double low, high;
    if (fl_logistic_fit(&fit, f->x, f->y, f->n, true) || fit.beta <= 0 ||
        fl_logistic_profile_x(f->x, f->y, f->n, 0.5, LEVEL, &low, &high) || isinf(low) ||
        isinf(high))
        return INFINITY;
    double theta = -fit.alpha / fit.beta;
    fl_spread_by_student(&spread, &(struct fl_spread_points){f->x, f->y, f->take, f->n, f->takes},
                         theta, fit.beta);
    double half = fl_known(spread.variance) ? takes_width(&spread, c) : 0;
    return (fmax(high, theta + half) - fmin(low, theta - half)) / 2;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void fl_forecast(struct fl_forecast *out, const struct fl_curve *c, const struct fl_posterior *p,
                 const struct fl_takes_differ *differ, const struct fl_flicks_ahead *ahead)
{
    struct flicks f = flicks_new(c, ahead);
    size_t n = f.n, takes = f.takes;
    double width[SIMULATIONS];
    for (int k = 0; k < SIMULATIONS; k++) {
        struct fl_random rng;
        fl_random_seed(&rng, 1 + (uint64_t)k);
        f.n = n;
        f.takes = takes;
        simulate(&f, p, differ, ahead, &rng);
        width[k] = width_of(&f, c);
    }
    flicks_free(&f);
    /* no quantile by interpolation: a width may be infinite */
    qsort(width, SIMULATIONS, sizeof *width, ascending);
    *out = (struct fl_forecast){width[SIMULATIONS / 2], width[SIMULATIONS / 10],
                                width[SIMULATIONS - 1 - SIMULATIONS / 10]};
}
