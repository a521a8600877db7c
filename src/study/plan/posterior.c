/* What flicks say of a curve, on a grid of threshold and slope. */
#include "study/plan/posterior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/logistic.h"

void fl_posterior_init(struct fl_posterior *p, double theta_low, double theta_high, size_t n_theta,
                       double slope_low, double slope_high, size_t n_slope, double stray)
{
    *p = (struct fl_posterior){FL_NEW(double, n_theta),
                               FL_NEW(double, n_slope),
                               n_theta,
                               n_slope,
                               FL_NEW(double, n_theta *n_slope),
                               stray,
                               0};
    for (size_t i = 0; i < n_theta; i++)
        p->theta[i] =
            theta_low + (theta_high - theta_low) * (double)i / fmax(1, (double)n_theta - 1);
    for (size_t j = 0; j < n_slope; j++)
        p->slope[j] =
            slope_low * pow(slope_high / slope_low, (double)j / fmax(1, (double)n_slope - 1));
    for (size_t k = 0; k < n_theta * n_slope; k++)
        p->weight[k] = 1 / (double)(n_theta * n_slope);
}

void fl_posterior_finish(struct fl_posterior *p)
{
    free(p->theta);
    free(p->slope);
    free(p->weight);
    *p = (struct fl_posterior){0};
}

/* A normal law by three points (Gauss and Hermite). */
static const double SCATTERED[] = {-1.7320508075688772, 0, 1.7320508075688772};
static const double SCATTER_WEIGHT[] = {1.0 / 6, 2.0 / 3, 1.0 / 6};

void fl_posterior_chances(const struct fl_posterior *p, double x, double *out)
{
    for (size_t i = 0; i < p->n_theta; i++)
        for (size_t j = 0; j < p->n_slope; j++) {
            double slope = p->slope[j], chance = 0;
            for (int k = 0; k < 3; k++)
                if (p->scatter > 0)
                    chance += SCATTER_WEIGHT[k] * fl_logistic_p(-slope * p->theta[i], slope,
                                                                x + p->scatter * SCATTERED[k]);
            if (!(p->scatter > 0))
                chance = fl_logistic_p(-slope * p->theta[i], slope, x);
            *out++ = p->stray + (1 - 2 * p->stray) * chance;
        }
}

void fl_posterior_add(struct fl_posterior *p, double x, bool tripped)
{
    size_t n = p->n_theta * p->n_slope;
    double *chance = FL_NEW(double, n), sum = 0;
    fl_posterior_chances(p, x, chance);
    for (size_t k = 0; k < n; k++)
        sum += p->weight[k] *= tripped ? chance[k] : 1 - chance[k];
    for (size_t k = 0; k < n; k++)
        p->weight[k] /= sum;
    free(chance);
}

static double bits(double w)
{
    return w > 0 ? -w * log2(w) : 0;
}

double fl_posterior_entropy(const struct fl_posterior *p)
{
    double sum = 0;
    for (size_t k = 0; k < p->n_theta * p->n_slope; k++)
        sum += bits(p->weight[k]);
    return sum;
}

/* Of one flick of chance q: the entropy of its outcome. */
static double outcome_bits(double q)
{
    return bits(q) + bits(1 - q);
}

/* What an outcome tells of the grid is what the grid tells of the outcome. */
double fl_posterior_entropy_after(const struct fl_posterior *p, double x)
{
    size_t n = p->n_theta * p->n_slope;
    double *chance = FL_NEW(double, n), mean = 0, given = 0;
    fl_posterior_chances(p, x, chance);
    for (size_t k = 0; k < n; k++) {
        mean += p->weight[k] * chance[k];
        given += p->weight[k] * outcome_bits(chance[k]);
    }
    free(chance);
    return fl_posterior_entropy(p) - (outcome_bits(mean) - given);
}

static double theta_weight(const struct fl_posterior *p, size_t i)
{
    double sum = 0;
    for (size_t j = 0; j < p->n_slope; j++)
        sum += p->weight[i * p->n_slope + j];
    return sum;
}

double fl_posterior_theta_mean(const struct fl_posterior *p)
{
    double sum = 0;
    for (size_t i = 0; i < p->n_theta; i++)
        sum += theta_weight(p, i) * p->theta[i];
    return sum;
}

double fl_posterior_theta_sd(const struct fl_posterior *p)
{
    double mean = fl_posterior_theta_mean(p), sum = 0;
    for (size_t i = 0; i < p->n_theta; i++)
        sum += theta_weight(p, i) * (p->theta[i] - mean) * (p->theta[i] - mean);
    return sqrt(sum);
}

void fl_posterior_theta_range(const struct fl_posterior *p, double tail, double *low, double *high)
{
    size_t a = 0, b = p->n_theta - 1;
    double below = 0, above = 0;
    while (a < b && (below += theta_weight(p, a)) < tail)
        a++;
    while (b > a && (above += theta_weight(p, b)) < tail)
        b--;
    *low = p->theta[a];
    *high = p->theta[b];
}

/* ---- choosing several speeds at once ---- */

struct choice {
    const struct fl_posterior *p;
    double *chance; /* m × grid */
    double *given;  /* m: entropy of an outcome when the grid point is known */
    double *branch; /* outcomes so far × grid: weight of the grid point and of those outcomes */
    size_t m, grid, branches;
};

/* What candidate c adds to the outcomes so far, bits. */
static double gain(const struct choice *c, size_t candidate)
{
    const double *chance = c->chance + candidate * c->grid;
    double sum = -c->given[candidate];
    for (size_t b = 0; b < c->branches; b++) {
        const double *w = c->branch + b * c->grid;
        double all = 0, trip = 0;
        for (size_t k = 0; k < c->grid; k++) {
            all += w[k];
            trip += w[k] * chance[k];
        }
        sum += all > 0 ? all * outcome_bits(trip / all) : 0;
    }
    return sum;
}

/* Each branch parts in two: the flick held or tripped. */
static void part(struct choice *c, size_t candidate)
{
    const double *chance = c->chance + candidate * c->grid;
    c->branch = fl_realloc(c->branch, 2 * c->branches * c->grid, sizeof *c->branch);
    for (size_t b = 0; b < c->branches; b++) {
        double *held = c->branch + b * c->grid, *tripped = c->branch + (c->branches + b) * c->grid;
        for (size_t k = 0; k < c->grid; k++) {
            tripped[k] = held[k] * chance[k];
            held[k] -= tripped[k];
        }
    }
    c->branches *= 2;
}

static bool clear_of(const double *candidate, size_t k, double apart, const size_t *chosen,
                     size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (fabs(candidate[chosen[i]] - candidate[k]) < apart)
            return false;
    return true;
}

/* The best next one; where none is far enough from the others, the best of all. */
static size_t best_next(const struct choice *c, const double *candidate, double apart,
                        const size_t *chosen, size_t n)
{
    double best[2] = {-INFINITY, -INFINITY};
    size_t at[2] = {0, 0};
    for (size_t k = 0; k < c->m; k++) {
        double g = gain(c, k);
        for (int clear = 0; clear < 2; clear++)
            if (g > best[clear] && (!clear || clear_of(candidate, k, apart, chosen, n))) {
                best[clear] = g;
                at[clear] = k;
            }
    }
    return isinf(best[1]) ? at[0] : at[1];
}

void fl_posterior_choose(const struct fl_posterior *p, const double *candidate, size_t m,
                         double apart, size_t *chosen, size_t n)
{
    size_t grid = p->n_theta * p->n_slope;
    struct choice c = {p, FL_NEW(double, m *grid), FL_NEW(double, m), FL_NEW(double, grid), m, grid,
                       1};
    memcpy(c.branch, p->weight, grid * sizeof *c.branch);
    for (size_t i = 0; i < m; i++) {
        fl_posterior_chances(p, candidate[i], c.chance + i * grid);
        for (size_t k = 0; k < grid; k++)
            c.given[i] += p->weight[k] * outcome_bits(c.chance[i * grid + k]);
    }
    for (size_t i = 0; i < n; i++) {
        chosen[i] = best_next(&c, candidate, apart, chosen, i);
        if (i + 1 < n)
            part(&c, chosen[i]);
    }
    free(c.chance);
    free(c.given);
    free(c.branch);
}
