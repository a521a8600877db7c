#include "state/gaps.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

/* Log-normal about the period: most gaps within a few per cent (pacing), some far off (a wandering
 * base rate, a hitch). */
static const double narrow = 0.08, wide = 0.25, wide_share = 0.1;
static double log_normal(double x, double middle, double spread)
{
    if (x <= 0)
        return 0;
    double z = log(x / middle) / spread;
    return exp(-0.5 * z * z) / (x * spread * sqrt(2 * FL_PI));
}

static double density(double x, double middle)
{
    return (1 - wide_share) * log_normal(x, middle, narrow) +
           wide_share * log_normal(x, middle, wide);
}

/* Both ends of a gap wait for the next tick of a clock: the chance that it lasts k ticks. */
static double ticks_share(long k, double middle, double quantum_s)
{
    enum { N = 16 };
    double sum = 0;
    for (int i = -N + 1; i < N; i++) {
        double u = (double)i / N;
        sum += (1 - fabs(u)) / N * density(((double)k + u) * quantum_s, middle) * quantum_s;
    }
    return sum;
}

/* Chance of a length of n slots. Ticks need not fall on slots: a slot either way shares a tick's
 * chance. */
static double slots_share(size_t n, double middle, double quantum_s, double slot_s)
{
    const double off_tick = 1e-3;
    if (quantum_s <= 0)
        return density((double)n * slot_s, middle) * slot_s;
    double length_s = (double)n * slot_s;
    long k = lround(length_s / quantum_s);
    double tick = (double)k * quantum_s / slot_s, sharers = floor(tick + 1) - ceil(tick - 1) + 1;
    bool on_tick = k > 0 && (double)n >= ceil(tick - 1) && (double)n <= floor(tick + 1);
    return (on_tick ? (1 - off_tick) * ticks_share(k, middle, quantum_s) / sharers : 0) +
           off_tick * density(length_s, middle) * slot_s;
}

static void fill(struct fl_gap_density *d, double middle, double quantum_s, double slot_s)
{
    double least_s = middle * exp(-3 * wide) - quantum_s,
           most_s = middle * exp(3 * wide) + quantum_s;
    d->least = least_s > slot_s ? (size_t)(least_s / slot_s) : 1;
    d->most = (size_t)(most_s / slot_s) + 1;
    size_t n = d->most - d->least + 1;
    d->forward = FL_NEW(float, n);
    d->backward = FL_NEW(float, n);
    for (size_t i = 0; i < n; i++) {
        double p = slots_share(d->least + i, middle, quantum_s, slot_s);
        d->forward[i] = d->backward[n - 1 - i] = (float)log(fmax(p, 1e-12));
    }
}

void fl_gap_table_init(struct fl_gap_table *t, const struct fl_rates *r, double slot_s)
{
    const double mean_rest_s = 0.3;
    fill(&t->mode[FL_GAP_AFTER_RENDERED], r->share * r->on_period_s, r->quantum_s, slot_s);
    fill(&t->mode[FL_GAP_AFTER_SYNTHESISED], (1 - r->share) * r->on_period_s, r->quantum_s, slot_s);
    fill(&t->mode[FL_GAP_MISSED], r->on_period_s, r->quantum_s, slot_s);
    fill(&t->mode[FL_GAP_OFF], r->off_period_s, r->quantum_s, slot_s);
    t->mode[FL_GAP_REST] = (struct fl_gap_density){0};
    t->longest = 0;
    for (int m = 0; m < FL_GAP_REST; m++)
        t->longest = t->mode[m].most > t->longest ? t->mode[m].most : t->longest;
    t->rest_least = (size_t)(fmax(0.03, 1.8 * r->off_period_s) / slot_s) + 1;
    t->rest_stay = (float)(-slot_s / mean_rest_s);
    t->rest_leave = (float)log(slot_s / mean_rest_s);
}

void fl_gap_table_finish(struct fl_gap_table *t)
{
    for (int m = 0; m < FL_GAP_MODES; m++) {
        free(t->mode[m].forward);
        free(t->mode[m].backward);
    }
}
