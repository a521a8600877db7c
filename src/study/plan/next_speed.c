/* The next flick at the speed after which log2 V50 is expected to be known best: the expected
 * entropy of its own distribution, slopes summed out, is least there. (Kontsevich and Tyler 1999,
 * Vision Research 39:2729-2737, take the entropy of both; but only V50 is asked for here.) */
#include "study/plan/next_speed.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "study/curve/hierarchy_grid.h"
#include "study/plan/forecast.h"

/* Rows of log2 V50, 1/32 octave apart, and speeds asked for, an eighth. Choices: a row is a sixth
 * of an interval of ±10 %. */
enum { ROWS = 161, CANDIDATES = 41, SMALL_GRID = 33 };
#define TAIL 0.025
#define LEAST 1e-9 /* weight of a row and slope */

static void weigh_slopes(struct fl_posterior *p)
{
    const struct fl_hierarchy_prior prior = {.spread_scale = FL_SPREAD_SCALE};
    struct fl_trip_grid g;
    double weight[FL_TRIP_SLOPES];
    fl_trip_grid_init(&g, &prior, SMALL_GRID);
    fl_trip_grid_slopes(&g, g.mean, weight);
    for (size_t i = 0; i < p->n_theta; i++)
        for (size_t b = 0; b < FL_TRIP_SLOPES; b++)
            p->weight[i * FL_TRIP_SLOPES + b] = weight[b] / (double)p->n_theta;
    fl_trip_grid_finish(&g);
}

void fl_next_speed_init(struct fl_next_speed *n)
{
    *n = (struct fl_next_speed){.candidates = CANDIDATES,
                                .candidate = FL_NEW(double, CANDIDATES),
                                .chance = FL_NEW(double, CANDIDATES *ROWS *FL_TRIP_SLOPES)};
    struct fl_posterior *p = &n->known;
    fl_posterior_init(p, FL_PLAN_LOWEST, FL_PLAN_HIGHEST, ROWS, exp2(-1), exp2(6.5), FL_TRIP_SLOPES,
                      FL_STRAY);
    weigh_slopes(p);
    p->scatter = FL_HAND_SCATTER; /* of what a hand makes of a speed it is told */
    for (size_t i = 0; i < CANDIDATES; i++) {
        n->candidate[i] =
            FL_PLAN_LOWEST + (FL_PLAN_HIGHEST - FL_PLAN_LOWEST) * (double)i / (CANDIDATES - 1);
        fl_posterior_chances(p, n->candidate[i], n->chance + i * ROWS * FL_TRIP_SLOPES);
    }
    p->scatter = 0; /* a flick's own peak is measured */
}

/* Between the rows of a coarser grid of the same slopes; beyond them as it ends. */
static double weight_at(const struct fl_posterior *p, double theta, size_t slope)
{
    const double step = p->n_theta > 1 ? p->theta[1] - p->theta[0] : 1;
    const double at = fmin(fmax((theta - p->theta[0]) / step, 0), (double)(p->n_theta - 1));
    const size_t i = (size_t)at, next = i + 1 < p->n_theta ? i + 1 : i;
    const double part = at - (double)i;
    return (1 - part) * p->weight[i * p->n_slope + slope] +
           part * p->weight[next * p->n_slope + slope];
}

void fl_next_speed_expect(struct fl_next_speed *n, const struct fl_posterior *earlier)
{
    struct fl_posterior *p = &n->known;
    double sum = 0;
    /* Nothing is impossible: a take that is wholly unlike those before is still to be followed. */
    for (size_t i = 0; i < p->n_theta; i++)
        for (size_t b = 0; b < FL_TRIP_SLOPES; b++)
            sum += p->weight[i * FL_TRIP_SLOPES + b] =
                fmax(weight_at(earlier, p->theta[i], b), LEAST);
    for (size_t k = 0; k < p->n_theta * FL_TRIP_SLOPES; k++)
        p->weight[k] /= sum;
}

void fl_next_speed_finish(struct fl_next_speed *n)
{
    fl_posterior_finish(&n->known);
    free(n->candidate);
    free(n->chance);
    *n = (struct fl_next_speed){0};
}

void fl_next_speed_add(struct fl_next_speed *n, double peak, bool tripped)
{
    if (!(peak > 0))
        return;
    fl_posterior_add(&n->known, log2(peak), tripped);
    n->flicks++;
    n->trips += tripped;
}

static double bits(double w)
{
    return w > 0 ? -w * log2(w) : 0;
}

/* Expected entropy of theta after a flick aimed at a candidate. */
static double entropy_after(const struct fl_posterior *p, const double *chance)
{
    double trip_bits = 0, hold_bits = 0, trip = 0;
    for (size_t i = 0; i < p->n_theta; i++) {
        double t = 0, all = 0;
        for (size_t b = 0; b < p->n_slope; b++) {
            const size_t k = i * p->n_slope + b;
            t += p->weight[k] * chance[k];
            all += p->weight[k];
        }
        trip += t;
        trip_bits += bits(t);
        hold_bits += bits(all - t);
    }
    return trip_bits - bits(trip) + hold_bits - bits(1 - trip);
}

/* Where the distribution of theta reaches a share, between rows. */
static double quantile(const struct fl_posterior *p, double share)
{
    double sum = 0;
    for (size_t i = 0; i < p->n_theta; i++) {
        double w = 0;
        for (size_t b = 0; b < p->n_slope; b++)
            w += p->weight[i * p->n_slope + b];
        if (sum + w >= share) {
            const double step = p->theta[1] - p->theta[0];
            return p->theta[i] + step * ((share - sum) / w - 0.5);
        }
        sum += w;
    }
    return p->theta[p->n_theta - 1];
}

static double tidy(double v)
{
    const double unit = pow(10, floor(log10(v)) - 1);
    return round(v / unit) * unit;
}

void fl_next_speed_answer(const struct fl_next_speed *n, double wanted,
                          struct fl_next_speed_answer *out)
{
    const struct fl_posterior *p = &n->known;
    const double low = quantile(p, TAIL), high = quantile(p, 1 - TAIL);
    size_t best = 0;
    double least = INFINITY;
    for (size_t i = 0; i < n->candidates; i++) {
        const double e = entropy_after(p, n->chance + i * p->n_theta * p->n_slope);
        if (e < least) {
            least = e;
            best = i;
        }
    }
    /* At the ends of the grid an interval says where one cared to look, and nothing of V50. */
    const double step = p->theta[1] - p->theta[0];
    const bool low_known = low > p->theta[0] + step,
               high_known = high < p->theta[p->n_theta - 1] - step;
    /* One side alone says where V50 is not: then its far end is where one cared to look. */
    const bool both = n->trips > 0 && n->trips < n->flicks;
    *out = (struct fl_next_speed_answer){
        .v50 = both ? exp2(quantile(p, 0.5)) : FL_UNKNOWN,
        .low = n->trips < n->flicks && low_known ? exp2(low) : FL_UNKNOWN,
        .high = n->trips > 0 && high_known ? exp2(high) : FL_UNKNOWN,
        .next = tidy(exp2(n->candidate[best])),
        .enough = both && low_known && high_known && (high - low) / 2 <= log2(1 + wanted)};
}
