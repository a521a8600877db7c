/* Comparing waits, and outcomes that compete. */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/interval.h"
#include "maths/survival.h"

struct wait {
    double t;
    int cause, group;
};

/* By time; events before censorings at the same time. */
static int by_time(const void *a, const void *b)
{
    const struct wait *p = a, *q = b;
    return p->t != q->t ? (p->t > q->t) - (p->t < q->t) : (q->cause > 0) - (p->cause > 0);
}

static size_t gather(struct wait *w, size_t n, const struct fl_waits *from, int group)
{
    for (size_t i = 0; i < from->n; i++)
        if (!isnan(from->t[i]))
            w[n++] = (struct wait){from->t[i], from->event[i], group};
    return n;
}

/* Sums over the distinct times with events. */
static double add_times(struct fl_log_rank *out, const struct wait *w, size_t n)
{
    double at_risk[2] = {0}, variance = 0;
    for (size_t i = 0; i < n; i++)
        at_risk[w[i].group]++;
    for (size_t i = 0, end; i < n; i = end) {
        double events[2] = {0}, gone[2] = {0};
        for (end = i; end < n && w[end].t == w[i].t; end++) {
            events[w[end].group] += w[end].cause;
            gone[w[end].group]++;
        }
        double d = events[0] + events[1], all = at_risk[0] + at_risk[1];
        for (int g = 0; g < 2; g++) {
            out->observed[g] += events[g];
            out->expected[g] += d * at_risk[g] / all;
        }
        if (all > 1)
            variance += d * (all - d) * at_risk[0] * at_risk[1] / (all * all * (all - 1));
        for (int g = 0; g < 2; g++)
            at_risk[g] -= gone[g];
    }
    return variance;
}

void fl_log_rank(struct fl_log_rank *out, const struct fl_waits *a, const struct fl_waits *b)
{
    struct wait *w = FL_NEW(struct wait, a->n + b->n + 1);
    size_t n = gather(w, gather(w, 0, a, 0), b, 1);
    qsort(w, n, sizeof *w, by_time);
    *out = (struct fl_log_rank){.chi2 = FL_UNKNOWN, .p = FL_UNKNOWN};
    double variance = add_times(out, w, n), excess = out->observed[0] - out->expected[0];
    if (variance > 0) {
        out->chi2 = excess * excess / variance;
        out->p = fl_chi2_upper(out->chi2, 1);
    }
    free(w);
}

void fl_incidence(const double *t, const int *cause, size_t n, double share[2])
{
    struct wait *w = FL_NEW(struct wait, n + 1);
    double neither = 1;
    for (size_t i = 0; i < n; i++)
        w[i] = (struct wait){t[i], cause[i], 0};
    qsort(w, n, sizeof *w, by_time);
    share[0] = share[1] = 0;
    for (size_t i = 0, end; i < n; i = end) {
        double events[3] = {0}, at_risk = (double)(n - i);
        for (end = i; end < n && w[end].t == w[i].t; end++)
            events[w[end].cause]++;
        share[0] += neither * events[1] / at_risk;
        share[1] += neither * events[2] / at_risk;
        neither *= 1 - (events[1] + events[2]) / at_risk;
    }
    free(w);
}
