/* Evidence of one setting: the product over its takes of their likelihoods, each blurred by the
 * spread between takes. */
#include "study/curve/hierarchy_setting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

static size_t rows_of(const struct fl_trip_evidence *e, const struct fl_trip_grid *g, int spread)
{
    return fl_trip_grid_rows_at(e->rows.rows, g->spread_level[spread]);
}

static fl_trip_grid_row *new_table(size_t rows)
{
    return (fl_trip_grid_row *)fl_calloc(rows, sizeof(fl_trip_grid_row));
}

void fl_trip_evidence_reset(struct fl_trip_evidence *e, const struct fl_trip_grid *g)
{
    e->takes = 0;
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        for (size_t row = 0; row < rows_of(e, g, k); row++)
            for (int j = 0; j < FL_TRIP_SLOPES; j++)
                e->product[k][row][j] = 1;
}

void fl_trip_evidence_init(struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                           struct fl_trip_grid_rows rows)
{
    *e = (struct fl_trip_evidence){.rows = rows};
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        e->product[k] = new_table(rows_of(e, g, k));
    fl_trip_evidence_reset(e, g);
}

void fl_trip_evidence_finish(struct fl_trip_evidence *e)
{
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        free(e->product[k]);
    *e = (struct fl_trip_evidence){0};
}

/* ---- takes ---- */

static void multiply(double *restrict table, const double *restrict by, size_t n)
{
    for (size_t i = 0; i < n; i++)
        table[i] *= by[i];
}

/* All by one factor, which leaves what they say of slopes and spreads as it is. */
static void rescale(struct fl_trip_evidence *e, const struct fl_trip_grid *g)
{
    double most = 0;
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        for (size_t row = 0; row < rows_of(e, g, k); row++)
            for (int j = 0; j < FL_TRIP_SLOPES; j++)
                most = fmax(most, e->product[k][row][j]);
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        for (size_t row = 0; row < rows_of(e, g, k); row++)
            for (int j = 0; j < FL_TRIP_SLOPES; j++)
                e->product[k][row][j] /= most;
}

void fl_trip_evidence_add(struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                          const fl_trip_grid_row *likelihood)
{
    size_t rows = e->rows.rows;
    fl_trip_grid_row *now = new_table(rows), *next = new_table(rows);
    memcpy(now, likelihood, rows * sizeof *now);
    for (int k = 0; k < FL_TRIP_SPREADS; k++) {
        if (k) {
            int level = g->spread_level[k - 1];
            double more = sqrt(g->spread[k] * g->spread[k] - g->spread[k - 1] * g->spread[k - 1]);
            fl_trip_grid_blur(next, (const fl_trip_grid_row *)now, rows,
                              more / fl_trip_grid_step(level));
            fl_trip_grid_row *swap = now;
            now = next;
            next = swap;
            if (g->spread_level[k] > level)
                rows = fl_trip_grid_halve(now, rows);
        }
        multiply(e->product[k][0], now[0], rows * FL_TRIP_SLOPES);
    }
    free(now);
    free(next);
    rescale(e, g);
    e->takes++;
}

/* ---- integrals ---- */

/* The end rows stand for half a step. */
static void add_sums(double *sum, const fl_trip_grid_row *table, size_t rows, double weight)
{
    for (size_t i = 0; i < rows; i++) {
        double w = i && i + 1 < rows ? weight : weight / 2;
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            sum[b] += w * table[i][b];
    }
}

static double weighted(const double *weight, const double *v)
{
    double sum = 0;
    for (int b = 0; b < FL_TRIP_SLOPES; b++)
        sum += weight[b] * v[b];
    return sum;
}

void fl_trip_evidence_integrate(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                                double slope[FL_TRIP_SLOPES], double mean[FL_TRIP_MEANS])
{
    memset(slope, 0, FL_TRIP_SLOPES * sizeof *slope);
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        add_sums(slope, (const fl_trip_grid_row *)e->product[k], rows_of(e, g, k),
                 g->spread_weight[k] * fl_trip_grid_step(g->spread_level[k]));
    for (int m = 0; m < FL_TRIP_MEANS; m++)
        mean[m] = weighted(g->given_mean[m], slope);
}

void fl_trip_evidence_own(const struct fl_trip_grid_rows *r, const fl_trip_grid_row *likelihood,
                          double slope[FL_TRIP_SLOPES])
{
    memset(slope, 0, FL_TRIP_SLOPES * sizeof *slope);
    add_sums(slope, likelihood, r->rows, fl_trip_grid_step(0));
}

/* ---- lines ---- */

/* One line a level; each is brought to the next finer one. */
struct lines {
    double *level[FL_TRIP_LEVELS];
};

static struct lines new_lines(size_t rows)
{
    struct lines l;
    for (int i = 0; i < FL_TRIP_LEVELS; i++)
        l.level[i] = FL_NEW(double, fl_trip_grid_rows_at(rows, i));
    return l;
}

static void gather_lines(struct lines *l, size_t rows, double *out)
{
    for (int i = FL_TRIP_LEVELS - 1; i > 0; i--)
        fl_trip_grid_refine(l->level[i - 1], l->level[i], fl_trip_grid_rows_at(rows, i));
    memcpy(out, l->level[0], rows * sizeof *out);
    for (int i = 0; i < FL_TRIP_LEVELS; i++)
        free(l->level[i]);
}

void fl_trip_evidence_line(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                           const double slope_weight[FL_TRIP_SLOPES], double *line)
{
    struct lines l = new_lines(e->rows.rows);
    for (int k = 0; k < FL_TRIP_SPREADS; k++) {
        double *at = l.level[g->spread_level[k]];
        for (size_t i = 0; i < rows_of(e, g, k); i++)
            at[i] += g->spread_weight[k] * weighted(slope_weight, e->product[k][i]);
    }
    gather_lines(&l, e->rows.rows, line);
}

/* Spreads of one level are summed once for all means. */
static void sum_level(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                      const double *spread_weight, int level, fl_trip_grid_row *sum)
{
    size_t rows = fl_trip_grid_rows_at(e->rows.rows, level);
    memset(sum, 0, rows * sizeof *sum);
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        for (size_t row = 0; row < rows && g->spread_level[k] == level; row++)
            for (int j = 0; j < FL_TRIP_SLOPES; j++)
                sum[row][j] += spread_weight[k] * e->product[k][row][j];
}

void fl_trip_evidence_lines(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                            const double spread_weight[FL_TRIP_SPREADS], double *line)
{
    size_t rows = e->rows.rows;
    struct lines l[FL_TRIP_MEANS];
    fl_trip_grid_row *sum = new_table(rows);
    for (int m = 0; m < FL_TRIP_MEANS; m++)
        l[m] = new_lines(rows);
    for (int level = 0; level < FL_TRIP_LEVELS; level++) {
        sum_level(e, g, spread_weight, level, sum);
        for (size_t i = 0; i < fl_trip_grid_rows_at(rows, level); i++)
            for (int m = 0; m < FL_TRIP_MEANS; m++)
                l[m].level[level][i] = weighted(g->given_mean[m], sum[i]);
    }
    for (int m = 0; m < FL_TRIP_MEANS; m++)
        gather_lines(&l[m], rows, line + (size_t)m * rows);
    free(sum);
}

void fl_trip_evidence_another(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                              const double slope_weight[FL_TRIP_SLOPES], double *line)
{
    struct lines l = new_lines(e->rows.rows);
    double *of_setting = FL_NEW(double, e->rows.rows), *of_take = FL_NEW(double, e->rows.rows);
    for (int k = 0; k < FL_TRIP_SPREADS; k++) {
        int level = g->spread_level[k];
        size_t rows = rows_of(e, g, k);
        for (size_t i = 0; i < rows; i++)
            of_setting[i] = g->spread_weight[k] * weighted(slope_weight, e->product[k][i]);
        if (k)
            fl_trip_grid_blur_line(of_take, of_setting, rows,
                                   g->spread[k] / fl_trip_grid_step(level));
        else
            memcpy(of_take, of_setting, rows * sizeof *of_take);
        for (size_t i = 0; i < rows; i++)
            l.level[level][i] += of_take[i];
    }
    free(of_setting);
    free(of_take);
    gather_lines(&l, e->rows.rows, line);
}

/* Adds rows of another level; in between two coarser ones, their mean. */
static void add_at_level(fl_trip_grid_row *out, size_t rows, int level, const fl_trip_grid_row *in,
                         int from, double weight)
{
    for (size_t i = 0; i < rows; i++) {
        double at = ldexp((double)i, level - from);
        size_t low = (size_t)at, high = (size_t)ceil(at);
        double share = at - (double)low;
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            out[i][b] += weight * ((1 - share) * in[low][b] + share * in[high][b]);
    }
}

void fl_trip_evidence_another_take(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                                   int level, fl_trip_grid_row *table)
{
    fl_trip_grid_row *of_take = new_table(e->rows.rows);
    size_t rows = fl_trip_grid_rows_at(e->rows.rows, level);
    for (int k = 0; k < FL_TRIP_SPREADS; k++) {
        const fl_trip_grid_row *of_setting = (const fl_trip_grid_row *)e->product[k];
        double sd = g->spread[k] / fl_trip_grid_step(g->spread_level[k]);
        if (k)
            fl_trip_grid_blur(of_take, of_setting, rows_of(e, g, k), sd);
        add_at_level(table, rows, level, k ? (const fl_trip_grid_row *)of_take : of_setting,
                     g->spread_level[k], g->spread_weight[k]);
    }
    free(of_take);
}

void fl_trip_evidence_spreads(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                              const double slope_weight[FL_TRIP_SLOPES],
                              double spread[FL_TRIP_SPREADS])
{
    for (int k = 0; k < FL_TRIP_SPREADS; k++) {
        double slope[FL_TRIP_SLOPES] = {0};
        add_sums(slope, (const fl_trip_grid_row *)e->product[k], rows_of(e, g, k),
                 g->spread_weight[k] * fl_trip_grid_step(g->spread_level[k]));
        spread[k] = weighted(slope_weight, slope);
    }
}

/* ---- for simulations ---- */

void fl_trip_evidence_within(struct fl_trip_evidence *e, const struct fl_trip_grid *g, double low,
                             double high)
{
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        for (size_t i = 0; i < rows_of(e, g, k); i++) {
            double at = e->rows.low + fl_trip_grid_step(g->spread_level[k]) * (double)i;
            if (at < low || at > high)
                memset(e->product[k][i], 0, sizeof *e->product[k]);
        }
}

void fl_trip_evidence_copy(struct fl_trip_evidence *out, const struct fl_trip_evidence *e,
                           const struct fl_trip_grid *g)
{
    *out = *e;
    for (int k = 0; k < FL_TRIP_SPREADS; k++) {
        out->product[k] = new_table(rows_of(e, g, k));
        memcpy(out->product[k], e->product[k], rows_of(e, g, k) * sizeof *out->product[k]);
    }
}

/* Takes what of n weights a uniform number falls on. */
static size_t draw_one(const double *weight, size_t n, struct fl_random *rng)
{
    double all = 0;
    for (size_t i = 0; i < n; i++)
        all += weight[i];
    double left = all * fl_random_uniform(rng);
    size_t at = 0;
    while (at + 1 < n && (left -= weight[at]) >= 0)
        at++;
    return at;
}

void fl_trip_evidence_draw(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                           const double slope_weight[FL_TRIP_SLOPES], struct fl_random *rng,
                           struct fl_trip_draw *out)
{
    double spread[FL_TRIP_SPREADS], slope[FL_TRIP_SLOPES];
    fl_trip_evidence_spreads(e, g, slope_weight, spread);
    size_t k = draw_one(spread, FL_TRIP_SPREADS, rng), rows = rows_of(e, g, (int)k);
    double *line = FL_NEW(double, rows);
    for (size_t i = 0; i < rows; i++)
        line[i] = weighted(slope_weight, e->product[k][i]);
    size_t row = draw_one(line, rows, rng);
    for (int b = 0; b < FL_TRIP_SLOPES; b++)
        slope[b] = slope_weight[b] * e->product[k][row][b];
    *out = (struct fl_trip_draw){e->rows.low + fl_trip_grid_step(g->spread_level[k]) * (double)row,
                                 g->slope[draw_one(slope, FL_TRIP_SLOPES, rng)], g->spread[k]};
    free(line);
}
