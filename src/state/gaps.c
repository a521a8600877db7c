#include "state/gaps.h"

#include <math.h>
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
    return (1 - wide_share) * log_normal(x, middle, narrow) + wide_share * log_normal(x, middle, wide);
}

/* Both ends of a gap wait for the next tick of a clock: the length spreads by a triangle. */
static double quantised(double x, double middle, double quantum_s)
{
    if (quantum_s <= 0)
        return density(x, middle);
    enum { N = 16 };
    double sum = 0;
    for (int k = -N + 1; k < N; k++) {
        double u = (double)k / N;
        sum += (1 - fabs(u)) / N * density(x + u * quantum_s, middle);
    }
    return sum;
}

static void fill(struct fl_gap_density *d, double middle, double quantum_s, double slot_s)
{
    double least_s = middle * exp(-3 * wide) - quantum_s, most_s = middle * exp(3 * wide) + quantum_s;
    d->least = least_s > slot_s ? (size_t)(least_s / slot_s) : 1;
    d->most = (size_t)(most_s / slot_s) + 1;
    size_t n = d->most - d->least + 1;
    d->forward = FL_NEW(float, n);
    d->backward = FL_NEW(float, n);
    for (size_t i = 0; i < n; i++) {
        double p = quantised((double)(d->least + i) * slot_s, middle, quantum_s) * slot_s;
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
