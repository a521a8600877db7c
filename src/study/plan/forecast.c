/* Simulated sessions to come.
 *
 * Each simulation draws the setting's V50, slope and spread between takes from what is known, plays
 * takes with them and reckons the interval as the study would. */
#include "study/plan/forecast.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "maths/logistic.h"
#include "study/curve/stray_rate.h"
#include "study/curve/trip_density.h"

#define LEVEL 0.95
/* the median of a width is then known within about a tenth of its spread */
#define SIMULATIONS 40
#define BEYOND 2.0  /* octaves outside of the flicks where a V50 may still be that none shows */
#define THINNED 2   /* level of rows for choosing speeds: a twelfth of an octave */
#define SPARSE 1e-6 /* rows of the posterior that hold less, to either side, are left out */

/* ---- what is known ---- */

static void add_takes(struct fl_outlook *o, const struct fl_curve *c)
{
    double *x = FL_NEW(double, (size_t)c->flicks + 1);
    bool *tripped = FL_NEW(bool, (size_t)c->flicks + 1);
    fl_trip_grid_row *l =
        (fl_trip_grid_row *)fl_calloc(o->known.rows.rows, sizeof(fl_trip_grid_row));
    for (int i = 0; i < c->flicks; i++) {
        x[i] = log2(c->points[i].v);
        tripped[i] = c->points[i].tripped;
    }
    for (int k = 0, at = 0; k < c->takes; at += c->by_take[k++].flicks) {
        fl_trip_grid_likelihood(&o->grid, &o->known.rows, x + at, tripped + at,
                                (size_t)c->by_take[k].flicks, l);
        fl_trip_evidence_add(&o->known, &o->grid, (const fl_trip_grid_row *)l);
    }
    free(x);
    free(tripped);
    free(l);
}

void fl_outlook_init(struct fl_outlook *o, const struct fl_curve *c)
{
    struct fl_hierarchy_prior prior = {FL_SPREAD_SCALE,
                                       c && c->posterior ? c->posterior->without : NULL};
    double low = c ? INFINITY : FL_PLAN_LOWEST, high = c ? -INFINITY : FL_PLAN_HIGHEST;
    for (int i = 0; c && i < c->flicks; i++) {
        low = fmin(low, log2(c->points[i].v));
        high = fmax(high, log2(c->points[i].v));
    }
    struct fl_trip_grid_rows rows = fl_trip_grid_rows_for(low, high);
    o->low = fmin(low, FL_PLAN_LOWEST);
    o->high = fmax(high, FL_PLAN_HIGHEST);
    fl_trip_grid_init(&o->grid, &prior, rows.rows);
    fl_trip_evidence_init(&o->known, &o->grid, rows);
    if (c)
        add_takes(o, c);
    if (!c || !c->posterior)
        fl_trip_evidence_within(&o->known, &o->grid, low - (c ? BEYOND : 0),
                                high + (c ? BEYOND : 0));
}

void fl_outlook_finish(struct fl_outlook *o)
{
    fl_trip_evidence_finish(&o->known);
    fl_trip_grid_finish(&o->grid);
}

/* Rows from the first to the last that hold anything. */
static size_t worth_keeping(const fl_trip_grid_row *weight, size_t rows, size_t *first)
{
    double all = 0, sum = 0;
    for (size_t i = 0; i < rows; i++)
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            all += weight[i][b];
    size_t last = 0;
    *first = rows;
    for (size_t i = 0; i < rows; i++) {
        double before = sum;
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            sum += weight[i][b];
        if (sum > SPARSE * all && *first == rows)
            *first = i;
        if (before < (1 - SPARSE) * all)
            last = i;
    }
    return last - *first + 1;
}

void fl_outlook_posterior(const struct fl_outlook *o, struct fl_posterior *p)
{
    size_t rows = fl_trip_grid_rows_at(o->known.rows.rows, THINNED), first;
    fl_trip_grid_row *all = (fl_trip_grid_row *)fl_calloc(rows, sizeof(fl_trip_grid_row));
    double weight[FL_TRIP_SLOPES], sum = 0;
    fl_trip_grid_slopes(&o->grid, o->grid.mean, weight);
    fl_trip_evidence_another_take(&o->known, &o->grid, THINNED, all);
    for (size_t i = 0; i < rows; i++)
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            sum += all[i][b] *= weight[b];
    size_t kept = worth_keeping((const fl_trip_grid_row *)all, rows, &first);
    double low = o->known.rows.low + fl_trip_grid_step(THINNED) * (double)first;
    fl_posterior_init(p, low, low + fl_trip_grid_step(THINNED) * (double)(kept - 1), kept,
                      o->grid.slope[0], o->grid.slope[FL_TRIP_SLOPES - 1], FL_TRIP_SLOPES,
                      FL_STRAY);
    for (size_t i = 0; i < kept; i++)
        for (size_t b = 0; b < FL_TRIP_SLOPES; b++)
            p->weight[i * FL_TRIP_SLOPES + b] = all[first + i][b] / sum;
    free(all);
}

/* Density of the setting's log2 V50 on all rows, malloc'ed. */
static double *line_of(const struct fl_trip_evidence *e, const struct fl_trip_grid *g)
{
    double weight[FL_TRIP_SLOPES], *line = FL_NEW(double, e->rows.rows);
    fl_trip_grid_slopes(g, g->mean, weight);
    fl_trip_evidence_line(e, g, weight, line);
    return line;
}

/* Rows that were left out stand for what nobody looked at: the interval is open towards them. */
struct fl_trip_interval fl_outlook_v50(const struct fl_outlook *o)
{
    double *line = line_of(&o->known, &o->grid);
    size_t first = 0, end = o->known.rows.rows;
    while (first + 2 < end && !(line[first] > 0))
        first++;
    while (end > first + 2 && !(line[end - 1] > 0))
        end--;
    const struct fl_trip_density d = {
        {o->known.rows.low + fl_trip_grid_step(0) * (double)first, end - first}, line + first};
    const struct fl_trip_interval v50 = fl_trip_interval_of(&d, LEVEL);
    free(line);
    return v50;
}

struct fl_outlook fl_outlook_with(const struct fl_outlook *o, const double *x, const bool *tripped,
                                  size_t n)
{
    const struct fl_trip_grid_rows *r = &o->known.rows;
    const double least = r->low, most = r->low + fl_trip_grid_step(0) * (double)(r->rows - 1);
    struct fl_outlook out = {.grid = o->grid, .low = o->low, .high = o->high};
    double *within = FL_NEW(double, n + 1);
    fl_trip_grid_row *l = (fl_trip_grid_row *)fl_calloc(r->rows, sizeof(fl_trip_grid_row));
    fl_trip_evidence_copy(&out.known, &o->known, &o->grid);
    for (size_t i = 0; i < n; i++)
        within[i] = fmin(fmax(x[i], least), most);
    if (n) {
        fl_trip_grid_likelihood(&o->grid, r, within, tripped, n, l);
        fl_trip_evidence_add(&out.known, &o->grid, (const fl_trip_grid_row *)l);
    }
    free(within);
    free(l);
    return out;
}

void fl_outlook_with_finish(struct fl_outlook *o)
{
    fl_trip_evidence_finish(&o->known);
}

struct fl_takes_differ fl_outlook_takes_differ(const struct fl_outlook *o)
{
    double weight[FL_TRIP_SLOPES], spread[FL_TRIP_SPREADS];
    if (o->known.takes < 2)
        return (struct fl_takes_differ){FL_TAKE_SCATTER, true};
    fl_trip_grid_slopes(&o->grid, o->grid.mean, weight);
    fl_trip_evidence_spreads(&o->known, &o->grid, weight, spread);
    return (struct fl_takes_differ){fl_trip_grid_spread_at(&o->grid, spread, 0.5), false};
}

double fl_forecast_width_now(const struct fl_curve *c)
{
    if (!c || c->bound != FL_BOUND_NONE || !fl_known(c->v50))
        return FL_UNKNOWN;
    double w = log2(c->v50_high / c->v50_low) / 2;
    return fl_known(w) ? w : INFINITY;
}

/* ---- what may come ---- */

/* One possible take: flicks at the speeds aimed at, as far as a hand hits them. */
static void play(const struct fl_outlook *o, const struct fl_trip_draw *d,
                 const struct fl_flicks_ahead *ahead, struct fl_random *rng,
                 fl_trip_grid_row *likelihood)
{
    size_t n = (size_t)ahead->flicks;
    double *x = FL_NEW(double, n + 1), own = d->theta + d->spread * fl_random_normal(rng);
    bool *tripped = FL_NEW(bool, n + 1);
    for (size_t i = 0; i < n; i++) {
        x[i] = ahead->speed[i] + FL_HAND_SCATTER * fl_random_normal(rng);
        double p = fl_logistic_p(-d->slope * own, d->slope, x[i]);
        tripped[i] = fl_random_uniform(rng) < fl_stray_p(FL_STRAY, FL_STRAY, p);
    }
    fl_trip_grid_likelihood(&o->grid, &o->known.rows, x, tripped, n, likelihood);
    free(x);
    free(tripped);
}

static double width_of(const struct fl_trip_evidence *e, const double *line)
{
    struct fl_trip_interval v50 =
        fl_trip_interval_of(&(struct fl_trip_density){e->rows, line}, LEVEL);
    return (v50.high - v50.low) / 2;
}

static double bits(double p)
{
    return p > 0 ? -p * log2(p) : 0;
}

/* Entropy of a density up to a factor, bits. Below and above the speeds of interest it is one
 * answer each: how much faster than any hand a trip speed is, nobody asks. */
static double bits_of(const struct fl_outlook *o, const double *line)
{
    const size_t n = o->known.rows.rows;
    double sum = 0, out = 0, below = 0, above = 0;
    for (size_t i = 0; i < n; i++)
        sum += line[i];
    for (size_t i = 0; i < n; i++) {
        const double x = o->known.rows.low + fl_trip_grid_step(0) * (double)i, p = line[i] / sum;
        if (x < o->low)
            below += p;
        else if (x > o->high)
            above += p;
        else
            out += bits(p);
    }
    return out + bits(below) + bits(above);
}

/* Of each simulation, a row a take: what was come to after it. */
struct simulated {
    double width[FL_FORECAST_TAKES][SIMULATIONS], bits[FL_FORECAST_TAKES][SIMULATIONS];
};

/* Widths after each take of one possible session. */
static void simulate(const struct fl_outlook *o, const struct fl_flicks_ahead *ahead, uint64_t seed,
                     struct simulated *out, int at)
{
    struct fl_trip_evidence e;
    struct fl_trip_draw d;
    struct fl_random rng;
    double weight[FL_TRIP_SLOPES], *line = FL_NEW(double, o->known.rows.rows);
    fl_trip_grid_row *l =
        (fl_trip_grid_row *)fl_calloc(o->known.rows.rows, sizeof(fl_trip_grid_row));
    fl_random_seed(&rng, seed);
    fl_trip_grid_slopes(&o->grid, o->grid.mean, weight);
    fl_trip_evidence_draw(&o->known, &o->grid, weight, &rng, &d);
    if (o->known.takes < 2)
        d.spread = FL_TAKE_SCATTER;
    fl_trip_evidence_copy(&e, &o->known, &o->grid);
    for (int k = 0; k < ahead->takes; k++) {
        play(o, &d, ahead, &rng, l);
        fl_trip_evidence_add(&e, &o->grid, (const fl_trip_grid_row *)l);
        fl_trip_evidence_line(&e, &o->grid, weight, line);
        out->width[k][at] = width_of(&e, line);
        out->bits[k][at] = bits_of(o, line);
    }
    fl_trip_evidence_finish(&e);
    free(l);
    free(line);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double mean_of(const double *v, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += v[i];
    return sum / n;
}

void fl_forecast(struct fl_forecast *out, const struct fl_outlook *o,
                 const struct fl_flicks_ahead *ahead)
{
    struct simulated v;
    double *line = line_of(&o->known, &o->grid);
    const double bits_now = bits_of(o, line);
    free(line);
    for (int i = 0; i < SIMULATIONS; i++)
        simulate(o, ahead, 1 + (uint64_t)i, &v, i);
    for (int k = 0; k < ahead->takes; k++) {
        /* no quantile by interpolation: a width may be infinite */
        qsort(v.width[k], SIMULATIONS, sizeof v.width[k][0], ascending);
        out[k] = (struct fl_forecast){v.width[k][SIMULATIONS / 2], v.width[k][SIMULATIONS / 10],
                                      v.width[k][SIMULATIONS - 1 - SIMULATIONS / 10],
                                      bits_now - mean_of(v.bits[k], SIMULATIONS)};
    }
}
