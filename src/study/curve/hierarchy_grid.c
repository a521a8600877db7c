/* Grids for the hierarchical model.
 *
 * A session's flicks round to a lattice so fine that it cannot matter, so that the chance to trip
 * is looked up and never computed twice. A spread between takes is laid over a likelihood by
 * blurring it; wide blurs are made of narrow ones, and what is blurred is smooth enough for every
 * second row (Burt & Adelson 1983, IEEE Trans Commun 31:532-540). */
#include "study/curve/hierarchy_grid.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/interval.h"

#define SLOPE_LOWEST (-1.0) /* log2 */
#define MEAN_HIGHEST 6.0
#define SLOPE_SD 1.5 /* of settings' log2 slopes about the session's mean */
#define HALF 0.5     /* between neighbours of both axes */
#define SPREAD_LEAST 0.032
#define SPREAD_RATIO 1.6
#define ROWS_A_SPREAD 3 /* a spread is at least so many rows wide */
#define NORMAL_REACH 4.0
#define MOST_OCTAVES \
    64.0           /* of flicks: slower ones count as so slow; no hand has a thousandth of it */
#define RESCALE 32 /* flicks: 0.01^32 is far from what a double holds */
#define VANISHING 1e-250 /* against the greatest: set to 0, as tiny numbers are slow */
#define MOST_BULGE 0.25  /* of a normal law as narrow as one row */
#define FAR 40.0         /* logits: the chance is at its end */

/* ---- axes ---- */

/* Half-t of 3 degrees of freedom and scale 1. */
static double spread_density(double t)
{
    double u = 1 + t * t / 3;
    return 4 / (FL_PI * sqrt(3) * u * u);
}

static double spread_below(double t)
{
    double s = t / sqrt(3);
    return 2 / FL_PI * (s / (1 + s * s) + atan(s));
}

static void set_spreads(struct fl_trip_grid *g)
{
    for (int k = 1; k < FL_TRIP_SPREADS; k++) {
        g->spread[k] = SPREAD_LEAST * pow(SPREAD_RATIO, k - 1);
        g->spread_level[k] = g->spread_level[k - 1];
        while (g->spread_level[k] + 1 < FL_TRIP_LEVELS &&
               ROWS_A_SPREAD * fl_trip_grid_step(g->spread_level[k] + 1) <= g->spread[k])
            g->spread_level[k]++;
    }
}

/* The rule of trapezes in the logarithm; what is below the least spread counts as none. */
static void weigh_spreads(const struct fl_trip_grid *g, double scale, double *weight)
{
    double sum = weight[0] = spread_below(SPREAD_LEAST / sqrt(SPREAD_RATIO) / scale);
    for (int k = 1; k < FL_TRIP_SPREADS; k++) {
        double s = g->spread[k] / scale;
        sum += weight[k] = spread_density(s) * s * log(SPREAD_RATIO);
    }
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        weight[k] /= sum;
}

/* Slopes beyond either end of the axis count as that end: no flick could tell them from it. */
static void set_slopes(struct fl_trip_grid *g)
{
    for (int b = 0; b < FL_TRIP_SLOPES; b++)
        g->slope[b] = exp2(SLOPE_LOWEST + HALF * b);
    for (int m = 0; m < FL_TRIP_MEANS; m++) {
        double below = 0;
        for (int b = 0; b < FL_TRIP_SLOPES; b++) {
            double edge = SLOPE_LOWEST + HALF * (b + 0.5) - HALF * m;
            double up_to = b + 1 < FL_TRIP_SLOPES ? fl_normal_cdf(edge / SLOPE_SD) : 1;
            g->given_mean[m][b] = up_to - below;
            below = up_to;
        }
    }
}

/* Even in between, half at the ends. */
static void set_means(struct fl_trip_grid *g, const double *given)
{
    for (int m = 0; m < FL_TRIP_MEANS; m++) {
        double even = (m && m + 1 < FL_TRIP_MEANS ? 1 : 0.5) * HALF / MEAN_HIGHEST;
        g->mean[m] = given ? given[m] : even;
    }
}

/* From the middle of the lattice outwards, both sides at once. */
static void set_chance(struct fl_trip_grid *g)
{
    long reach = (long)g->reach, parts = FL_TRIP_PARTS, all = 2 * reach + 1;
    g->chance = (fl_trip_grid_row *)fl_calloc((size_t)(parts * all), sizeof(fl_trip_grid_row));
    for (int b = 0; b < FL_TRIP_SLOPES; b++) {
        double step = g->slope[b] / (FL_TRIP_STEPS * FL_TRIP_PARTS), fall = exp(-step), far = 1;
        for (long d = 0; d < parts * (reach + 1); d++) {
            double low = FL_STRAY + (1 - 2 * FL_STRAY) * far / (1 + far);
            long up = d / parts + reach, down = -((d + parts - 1) / parts) + reach;
            long part = d % parts, other = (parts - part) % parts;
            if (up < all)
                g->chance[part * all + up][b] = 1 - low;
            if (down >= 0)
                g->chance[other * all + down][b] = low;
            far = step * (double)d < FAR ? far * fall : 0;
        }
    }
}

void fl_trip_grid_init(struct fl_trip_grid *g, const struct fl_hierarchy_prior *prior, size_t rows)
{
    *g = (struct fl_trip_grid){.reach = rows + 1};
    set_spreads(g);
    weigh_spreads(g, prior->spread_scale, g->spread_weight);
    weigh_spreads(g, prior->spread_scale * FL_SPREAD_WARY, g->wary_weight);
    set_slopes(g);
    set_means(g, prior->means);
    set_chance(g);
}

/* ---- figures on the axes ---- */

/* Where a share p of probabilities lies below, on an axis in even steps; each stands for its step.
 */
static double axis_quantile(const double *p, int n, double share)
{
    double sum = 0, all = 0;
    for (int i = 0; i < n; i++)
        all += p[i];
    share *= all;
    for (int i = 0; i < n; i++) {
        if (sum + p[i] >= share && p[i] > 0)
            return i - 0.5 + (share - sum) / p[i];
        sum += p[i];
    }
    return n - 1;
}

double fl_trip_grid_slope_at(const struct fl_trip_grid *g, const double *p, double share)
{
    double at = fl_clamp(axis_quantile(p, FL_TRIP_SLOPES, share), 0, FL_TRIP_SLOPES - 1);
    return g->slope[0] * pow(g->slope[1] / g->slope[0], at);
}

/* Even in the logarithm from the least on; the first counts as none. */
double fl_trip_grid_spread_at(const struct fl_trip_grid *g, const double *p, double share)
{
    double at = axis_quantile(p, FL_TRIP_SPREADS, share);
    if (at <= 0.5)
        return g->spread[1] * sqrt(g->spread[1] / g->spread[2]) * fmax(0, at + 0.5);
    return g->spread[1] * pow(g->spread[2] / g->spread[1], at - 1);
}

void fl_trip_grid_slopes(const struct fl_trip_grid *g, const double mean[FL_TRIP_MEANS],
                         double slope[FL_TRIP_SLOPES])
{
    for (int b = 0; b < FL_TRIP_SLOPES; b++) {
        slope[b] = 0;
        for (int m = 0; m < FL_TRIP_MEANS; m++)
            slope[b] += mean[m] * g->given_mean[m][b];
    }
}

void fl_trip_grid_finish(struct fl_trip_grid *g)
{
    free(g->chance);
    g->chance = NULL;
}

struct fl_trip_grid_rows fl_trip_grid_rows_for(double x_low, double x_high)
{
    const size_t multiple = (size_t)1 << (FL_TRIP_LEVELS - 1);
    x_low = fmax(x_low, x_high - MOST_OCTAVES);
    double span = (x_high - x_low + 2 * FL_TRIP_REACH) * FL_TRIP_STEPS;
    size_t steps = (size_t)ceil(span / (double)multiple) * multiple;
    return (struct fl_trip_grid_rows){x_low - FL_TRIP_REACH, steps + 1};
}

/* ---- likelihood ---- */

static void rescale(fl_trip_grid_row *table, size_t rows)
{
    double *v = table[0], most = 0;
    size_t n = rows * FL_TRIP_SLOPES;
    for (size_t i = 0; i < n; i++)
        most = v[i] > most ? v[i] : most;
    for (size_t i = 0; i < n; i++)
        v[i] = v[i] < most * VANISHING ? 0 : v[i] / most;
}

static void multiply(fl_trip_grid_row *restrict table, const fl_trip_grid_row *restrict by,
                     size_t rows, int direction)
{
    for (size_t i = 0; i < rows; i++, by += direction)
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            table[i][b] *= (*by)[b];
}

/* A trip at u above theta is as likely as a flick that holds at u below it. */
static void add_flick(const struct fl_trip_grid *g, const struct fl_trip_grid_rows *r, double x,
                      bool tripped, fl_trip_grid_row *table)
{
    long parts = FL_TRIP_PARTS, all = 2 * (long)g->reach + 1, last = (long)r->rows - 1;
    long at = lround((x - r->low) * FL_TRIP_STEPS * FL_TRIP_PARTS);
    at = at < 0 ? 0 : at > parts * last ? parts * last : at;
    long part = at % parts, row = at / parts + (long)g->reach;
    if (!tripped) {
        row = 2 * (long)g->reach - row - (part > 0);
        part = (parts - part) % parts;
    }
    multiply(table, (const fl_trip_grid_row *)g->chance + part * all + row, r->rows,
             tripped ? -1 : 1);
}

void fl_trip_grid_likelihood(const struct fl_trip_grid *g, const struct fl_trip_grid_rows *r,
                             const double *x, const bool *tripped, size_t n, fl_trip_grid_row *out)
{
    for (size_t row = 0; row < r->rows; row++)
        for (int j = 0; j < FL_TRIP_SLOPES; j++)
            out[row][j] = 1;
    for (size_t i = 0; i < n; i++) {
        add_flick(g, r, x[i], tripped[i], out);
        if (i % RESCALE == RESCALE - 1)
            rescale(out, r->rows);
    }
    rescale(out, r->rows);
}

/* ---- blurring ---- */

static size_t normal_weights(double *weight, size_t most, double sd)
{
    size_t n = (size_t)ceil(NORMAL_REACH * sd);
    n = n < most ? n : most;
    double sum = 0;
    for (size_t k = 0; k <= n; k++) {
        double z = (double)k / sd;
        weight[k] = exp(-z * z / 2);
        sum += k ? 2 * weight[k] : weight[k];
    }
    for (size_t k = 0; k <= n; k++)
        weight[k] /= sum;
    return n;
}

enum { MOST_TAPS = 64 };

void fl_trip_grid_blur(fl_trip_grid_row *restrict out, const fl_trip_grid_row *restrict in,
                       size_t rows, double sd)
{
    double weight[MOST_TAPS + 1];
    size_t taps = normal_weights(weight, MOST_TAPS, sd);
    for (size_t i = 0; i < rows; i++) {
        double sum[FL_TRIP_SLOPES];
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            sum[b] = weight[0] * in[i][b];
        for (size_t k = 1; k <= taps; k++) {
            const double *below = in[i < k ? 0 : i - k];
            const double *above = in[i + k < rows ? i + k : rows - 1];
            for (int b = 0; b < FL_TRIP_SLOPES; b++)
                sum[b] += weight[k] * (below[b] + above[b]);
        }
        memcpy(out[i], sum, sizeof sum);
    }
}

void fl_trip_grid_blur_line(double *out, const double *in, size_t rows, double sd)
{
    double weight[MOST_TAPS + 1];
    size_t taps = normal_weights(weight, MOST_TAPS, sd);
    for (size_t i = 0; i < rows; i++) {
        double sum = weight[0] * in[i];
        for (size_t k = 1; k <= taps; k++)
            sum += weight[k] * (in[i < k ? 0 : i - k] + in[i + k < rows ? i + k : rows - 1]);
        out[i] = sum;
    }
}

size_t fl_trip_grid_halve(fl_trip_grid_row *table, size_t rows)
{
    for (size_t i = 1; 2 * i < rows; i++)
        memcpy(table[i], table[2 * i], sizeof *table);
    return (rows + 1) / 2;
}

/* Between the two in the middle; not far beyond both, however steep it is farther off. */
static double between(const double *log_at)
{
    double a = log_at[1], b = log_at[2], cubic = (9 * (a + b) - log_at[0] - log_at[3]) / 16;
    return fl_clamp(cubic, fmin(a, b) - MOST_BULGE, fmax(a, b) + MOST_BULGE);
}

void fl_trip_grid_refine(double *fine, const double *coarse, size_t n)
{
    double *logs = FL_NEW(double, n + 2);
    for (size_t i = 0; i < n; i++)
        logs[i + 1] = log(fmax(coarse[i], 1e-300));
    logs[0] = logs[1];
    logs[n + 1] = logs[n];
    for (size_t i = 0; i < n; i++) {
        fine[2 * i] += coarse[i];
        if (i + 1 < n)
            fine[2 * i + 1] += exp(between(logs + i));
    }
    free(logs);
}
