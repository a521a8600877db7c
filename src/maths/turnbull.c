/* Delays known only by brackets (Turnbull 1976). */
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/survival.h"

#define MOST_ROUNDS 2000
#define CONVERGED 1e-9

struct edge {
    double at;
    bool left;
};

static int by_place(const void *a, const void *b)
{
    const struct edge *x = a, *y = b;
    if (x->at != y->at)
        return x->at > y->at ? 1 : -1;
    return y->left - x->left; /* closed ends: left before right */
}

static size_t innermost(const double *low, const double *high, size_t n, struct fl_turnbull_mass *m)
{
    struct edge *e = FL_NEW(struct edge, 2 * n);
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        e[2 * i] = (struct edge){low[i], true};
        e[2 * i + 1] = (struct edge){high[i], false};
    }
    qsort(e, 2 * n, sizeof *e, by_place);
    for (size_t i = 0; i + 1 < 2 * n; i++)
        if (e[i].left && !e[i + 1].left)
            m[k++] = (struct fl_turnbull_mass){e[i].at, e[i + 1].at, 0};
    free(e);
    for (size_t j = 0; j < k; j++)
        m[j].p = 1.0 / (double)k;
    return k;
}

/* The masses inside each bracket: always neighbours, and always at least one. */
struct reach {
    size_t from, to;
};

static struct reach *reaches(const double *low, const double *high, size_t n,
                             const struct fl_turnbull *t)
{
    struct reach *r = FL_NEW(struct reach, n);
    for (size_t i = 0; i < n; i++) {
        while (r[i].from < t->n && t->mass[r[i].from].low < low[i])
            r[i].from++;
        r[i].to = r[i].from;
        while (r[i].to < t->n && t->mass[r[i].to].high <= high[i])
            r[i].to++;
    }
    return r;
}

/* One round of self-consistency in O(n + masses), by running sums; returns the largest change.
 * below, gain: room for masses + 1. */
static double redistribute(struct fl_turnbull *t, const struct reach *r, size_t n, double *below,
                           double *gain)
{
    double change = 0, sum = 0;
    for (size_t j = 0; j < t->n; j++)
        below[j + 1] = below[j] + t->mass[j].p;
    for (size_t j = 0; j <= t->n; j++)
        gain[j] = 0;
    for (size_t i = 0; i < n; i++) {
        double inside = below[r[i].to] - below[r[i].from];
        if (!(inside > 0))
            continue; /* all of its mass has gone to nothing: rounding */
        gain[r[i].from] += 1 / inside;
        gain[r[i].to] -= 1 / inside;
    }
    for (size_t j = 0; j < t->n; j++) {
        sum += gain[j];
        double next = t->mass[j].p * fmax(0, sum) / (double)n;
        change = fmax(change, fabs(next - t->mass[j].p));
        t->mass[j].p = next;
    }
    return change;
}

void fl_turnbull_fit(struct fl_turnbull *out, const double *low, const double *high, size_t n)
{
    *out = (struct fl_turnbull){FL_NEW(struct fl_turnbull_mass, n + 1), 0};
    if (!n)
        return;
    out->n = innermost(low, high, n, out->mass);
    struct reach *r = reaches(low, high, n, out);
    double *below = FL_NEW(double, out->n + 1), *gain = FL_NEW(double, out->n + 1);
    for (int round = 0; round < MOST_ROUNDS; round++)
        if (redistribute(out, r, n, below, gain) < CONVERGED)
            break;
    free(r);
    free(below);
    free(gain);
}

void fl_turnbull_finish(struct fl_turnbull *t)
{
    free(t->mass);
    *t = (struct fl_turnbull){0};
}

void fl_turnbull_quantile(const struct fl_turnbull *t, double p, double *low, double *high)
{
    double below = 0;
    *low = *high = t->n ? INFINITY : FL_UNKNOWN;
    for (size_t j = 0; j < t->n; j++) {
        below += t->mass[j].p;
        if (below >= p - 1e-6) {
            *low = t->mass[j].low;
            *high = t->mass[j].high;
            return;
        }
    }
}

double fl_bracket_quantile(const double *low, const double *high, size_t n, double p)
{
    struct fl_turnbull t;
    double near, far;
    fl_turnbull_fit(&t, low, high, n);
    fl_turnbull_quantile(&t, p, &near, &far);
    fl_turnbull_finish(&t);
    return far;
}
