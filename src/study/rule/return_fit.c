/* Weights of the grid's rules → draws, and the furthest rules that are as good. */
#include "study/rule/return_fit.h"

#include <stdlib.h>

#include "maths/robust.h"

enum { DRAWS = 201 };
#define RATIO_95 1.92 /* half of chi-square's 95 %, 1 degree of freedom */
#define SHARED 0.5    /* of the prior: that a game's settings have one hold */

/* ---- the law of one return ---- */

static double logistic(double x)
{
    return 1 / (1 + exp(-x));
}

double fl_return_time(const struct fl_return *r, const struct fl_return_rule *rule, double u)
{
    double high = fmax(r->high_s, r->low_s);
    if (isinf(r->at_s))
        return high;
    double at = r->at_s, s = rule->scatter_s;
    double a = logistic((r->low_s - at) / s), b = logistic((high - at) / s);
    if (!(b - a > 1e-9))
        return fl_clamp(at, r->low_s, high);
    double p = a + u * (b - a);
    return fl_clamp(at + s * log(p / (1 - p)), r->low_s, high);
}

/* ---- weights ---- */

static float with_trips(const struct fl_return_grid *g, size_t i)
{
    return g->log_likelihood[i] + g->log_trips[i / FL_RETURN_SCATTERS];
}

static float best_of(const struct fl_return_grid *g)
{
    float best = -INFINITY;
    for (size_t i = 0; i < fl_return_grid_size(g); i++)
        best = fmaxf(best, with_trips(g, i));
    return best;
}

/* Of rule i beside the best, any delay as likely as another. */
static double weight_of(const struct fl_return_grid *g, size_t i, float best)
{
    const struct fl_return_rule *threshold = &g->threshold[i / FL_RETURN_SCATTERS / g->n_delays];
    return g->stands_for[threshold->quantity] * exp((double)(with_trips(g, i) - best));
}

static size_t delay_of(const struct fl_return_grid *g, size_t i)
{
    return i / FL_RETURN_SCATTERS % g->n_delays;
}

/* ---- what a game's other settings say ---- */

/* Chance of what was seen at each delay, over all thresholds and scatters; the most is 1. */
static void by_delay(double *out, const struct fl_return_grid *g)
{
    float best = best_of(g);
    double most = 0;
    for (size_t d = 0; d < g->n_delays; d++)
        out[d] = 0;
    for (size_t i = 0; i < fl_return_grid_size(g); i++)
        out[delay_of(g, i)] += weight_of(g, i, best);
    for (size_t d = 0; d < g->n_delays; d++)
        most = fmax(most, out[d]);
    for (size_t d = 0; d < g->n_delays; d++)
        out[d] /= most;
}

void fl_return_prior(double *out, const struct fl_return_grid *g, size_t n, size_t own)
{
    size_t delays = g[own].n_delays;
    double *others = FL_NEW(double, delays), *one = FL_NEW(double, delays), sum = 0;
    for (size_t d = 0; d < delays; d++)
        others[d] = g[own].prior[d];
    for (size_t k = 0; k < n; k++) {
        if (k == own || !g[k].n_thresholds)
            continue;
        by_delay(one, &g[k]);
        for (size_t d = 0; d < delays; d++)
            others[d] *= one[d];
    }
    for (size_t d = 0; d < delays; d++)
        sum += others[d];
    for (size_t d = 0; d < delays; d++)
        out[d] =
            sum > 0 ? (1 - SHARED) * g[own].prior[d] + SHARED * others[d] / sum : g[own].prior[d];
    free(others);
    free(one);
}

/* ---- what agrees ---- */

/* Evenly spaced along the cumulated weight. */
static void draw(struct fl_return_fit *f, const struct fl_return_grid *g, const double *prior)
{
    size_t n = fl_return_grid_size(g);
    double total = 0, sum = 0;
    float best = best_of(g);
    f->draw = FL_NEW(struct fl_return_rule, DRAWS);
    for (size_t i = 0; i < n; i++)
        total += prior[delay_of(g, i)] * weight_of(g, i, best);
    for (size_t i = 0; i < n; i++) {
        struct fl_return_rule rule = fl_return_grid_rule(g, i);
        double weight = prior[delay_of(g, i)] * weight_of(g, i, best) / total;
        f->weight[rule.quantity] += weight;
        sum += weight;
        while (f->n_draws < DRAWS && ((double)f->n_draws + 0.5) / DRAWS <= sum)
            f->draw[f->n_draws++] = rule;
    }
    while (f->n_draws < DRAWS) /* rounding */
        f->draw[f->n_draws++] = fl_return_grid_rule(g, n - 1);
}

/* At each threshold the first and the last delay that is good enough, whatever the scatter. By the
 * brackets alone: what trips is the best guess's, no interval leans on it. */
static void find_alike(struct fl_return_fit *f, const struct fl_return_grid *g)
{
    float bar = -INFINITY;
    for (size_t i = 0; i < fl_return_grid_size(g); i++)
        bar = fmaxf(bar, g->log_likelihood[i] - (float)RATIO_95);
    size_t each = g->n_delays * FL_RETURN_SCATTERS;
    f->alike = FL_NEW(struct fl_return_rule, 2 * g->n_thresholds + 1);
    for (size_t t = 0; t < g->n_thresholds; t++) {
        size_t first = 0, last = each;
        while (first < each && g->log_likelihood[t * each + first] < bar)
            first++;
        while (last > first && g->log_likelihood[t * each + last - 1] < bar)
            last--;
        if (first < last)
            f->alike[f->n_alike++] = fl_return_grid_rule(g, t * each + first);
        if (first + FL_RETURN_SCATTERS < last)
            f->alike[f->n_alike++] = fl_return_grid_rule(g, t * each + last - 1);
    }
}

static void describe(struct fl_return_fit *f)
{
    double delay[DRAWS];
    for (size_t i = 0; i < f->n_draws; i++)
        delay[i] = f->draw[i].d_on_s;
    f->d_on_s = fl_median(delay, f->n_draws);
    f->d_on_low_s = fl_quantile(delay, f->n_draws, 0.025);
    f->d_on_high_s = fl_quantile(delay, f->n_draws, 0.975);
}

void fl_return_fit_make(struct fl_return_fit *f, const struct fl_return_grid *g,
                        const double *prior)
{
    *f = (struct fl_return_fit){0};
    find_alike(f, g);
    draw(f, g, prior);
    describe(f);
}

void fl_return_fit_finish(struct fl_return_fit *f)
{
    free(f->draw);
    free(f->alike);
    *f = (struct fl_return_fit){0};
}
