/* Waits of which some were cut short: Kaplan and Meier's estimate with Greenwood's error. */
#include "maths/survival.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "maths/interval.h"

struct delay {
    double t;
    bool event;
};

/* By time; events before censorings at the same time. */
static int by_time(const void *a, const void *b)
{
    const struct delay *p = a, *q = b;
    return p->t != q->t ? (p->t > q->t) - (p->t < q->t) : q->event - p->event;
}

static struct delay *sorted_delays(const double *t, const bool *event, size_t n, size_t *m)
{
    struct delay *d = FL_NEW(struct delay, n);
    *m = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(t[i]))
            d[(*m)++] = (struct delay){t[i], event[i]};
    qsort(d, *m, sizeof *d, by_time);
    return d;
}

/* Limits of S on the scale ln(-ln S), where they stay inside 0..1. */
static void log_log_limits(const struct fl_km_step *k, double z, double *low, double *high)
{
    double hazard = -log(k->s), spread = exp(z * k->se / (k->s * hazard));
    *low = exp(-hazard * spread);
    *high = exp(-hazard / spread);
}

/* First times at which the curve and its limits come down to one half. */
static void find_median(struct fl_km *out, double z)
{
    out->median = out->median_low = out->median_high = NAN;
    for (size_t i = out->n; i-- > 0;) {
        const struct fl_km_step *k = &out->step[i];
        double low, high;
        log_log_limits(k, z, &low, &high); /* NaN at S = 0: no width is known there */
        if (k->s <= 0.5 + 1e-12) /* a product of fractions may miss one half by rounding */
            out->median = k->t;
        if (low <= 0.5)
            out->median_low = k->t;
        if (high <= 0.5)
            out->median_high = k->t;
    }
}

void fl_km_fit(struct fl_km *out, const double *t, const bool *event, size_t n, double level)
{
    size_t m;
    struct delay *d = sorted_delays(t, event, n, &m);
    *out = (struct fl_km){.step = FL_NEW(struct fl_km_step, m)};
    double s = 1, greenwood = 0;
    for (size_t i = 0, end; i < m; i = end) {
        double at_risk = (double)(m - i), events = 0;
        for (end = i; end < m && d[end].t == d[i].t; end++)
            events += d[end].event;
        if (events == 0)
            continue;
        s *= 1 - events / at_risk;
        greenwood += events / (at_risk * (at_risk - events));
        out->step[out->n++] = (struct fl_km_step){d[i].t, (int)at_risk, (int)events, s,
                                                  s > 0 ? s * sqrt(greenwood) : NAN};
    }
    find_median(out, fl_normal_quantile(0.5 + level / 2));
    free(d);
}

void fl_km_finish(struct fl_km *k)
{
    free(k->step);
    *k = (struct fl_km){0};
}
