/* Quantiles of densities on a grid, and of the difference of two. A row stands for the step about
 * it, evenly. */
#include "study/curve/trip_density.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

#define MOVES 0.07      /* octaves, 5 % */
#define NO_SHARE 1e-6   /* of the mean slope: it has no say */
#define SMALLEST_P 1e-9 /* what the rows that are left out may hold */
#define STEPS 18        /* bisections of some octaves: to less than a hundredth of a per cent */

static double step(void)
{
    return fl_trip_grid_step(0);
}

static double mass_at(const struct fl_trip_density *d, size_t i)
{
    return i && i + 1 < d->rows.rows ? d->at[i] : d->at[i] / 2;
}

static double total(const struct fl_trip_density *d)
{
    double sum = 0;
    for (size_t i = 0; i < d->rows.rows; i++)
        sum += mass_at(d, i);
    return sum;
}

/* Where so much of the density's own sum lies below. */
static double reached(const struct fl_trip_density *d, double below)
{
    double sum = 0;
    for (size_t i = 0; i < d->rows.rows; i++) {
        double m = mass_at(d, i);
        if (sum + m >= below && m > 0)
            return d->rows.low + step() * ((double)i - 0.5 + (below - sum) / m);
        sum += m;
    }
    return d->rows.low + step() * (double)(d->rows.rows - 1);
}

double fl_trip_quantile(const struct fl_trip_density *d, double p)
{
    return reached(d, p * total(d));
}

/* Were the rows to reach twice as far: beyond either end. */
static double beyond(const struct fl_trip_density *d, bool high)
{
    return d->at[high ? d->rows.rows - 1 : 0] * FL_TRIP_REACH / step();
}

struct fl_trip_interval fl_trip_interval_of(const struct fl_trip_density *d, double level)
{
    double all = total(d), tail = (1 - level) / 2, below = beyond(d, false),
           above = beyond(d, true);
    double more = all + below + above;
    struct fl_trip_interval out = {reached(d, all / 2), reached(d, tail * all),
                                   reached(d, (1 - tail) * all)};
    double low = tail * more - below, high = all + above - tail * more;
    if (low <= 0 || out.low - reached(d, low) > MOVES)
        out.low = -INFINITY;
    if (high >= all || reached(d, high) - out.high > MOVES)
        out.high = INFINITY;
    return out;
}

/* ---- two settings ---- */

/* One line of a posterior: what lies at or below each row's upper edge. */
struct line {
    double low, all;
    size_t rows;
    double *mass, *below;
};

static struct line line_new(const struct fl_trip_posterior *p, int first, int last)
{
    size_t n = p->rows.rows;
    struct line l = {p->rows.low, 0, n, FL_NEW(double, n), FL_NEW(double, n)};
    for (int m = first; m <= last; m++)
        for (size_t i = 0; i < n; i++)
            l.mass[i] += p->mass[(size_t)m * n + i];
    for (size_t i = 0; i < n; i++)
        l.below[i] = l.all += l.mass[i];
    return l;
}

static void line_free(struct line *l)
{
    free(l->mass);
    free(l->below);
}

/* Pairs of lines, one a mean slope or one in all; each pair's share is that of its first. */
struct difference {
    struct line a[FL_TRIP_MEANS], b[FL_TRIP_MEANS];
    int n;
};

/* P(a - b > d) of one pair, times what a holds. The rows of both are equally far apart, so that
 * each of a's falls on the same part of one of b's. */
static double above(const struct line *a, const struct line *b, double d)
{
    double at = (a->low - d - b->low) / step() + 0.5, first = floor(at), part = at - first, sum = 0;
    for (size_t i = 0; i < a->rows; i++) {
        double row = first + (double)i;
        if (row >= (double)b->rows) {
            sum += a->mass[i];
        } else if (row >= 0) {
            size_t k = (size_t)row;
            sum += a->mass[i] * (b->below[k] - b->mass[k] * (1 - part)) / b->all;
        }
    }
    return sum;
}

/* P(a - b < d). */
static double difference_below(const struct difference *f, double d)
{
    double sum = 0, all = 0;
    for (int m = 0; m < f->n; m++) {
        all += f->a[m].all;
        sum += above(&f->a[m], &f->b[m], d);
    }
    return 1 - sum / all;
}

static double difference_quantile(const struct difference *f, double p)
{
    const struct line *a = &f->a[0], *b = &f->b[0];
    double low = a->low - (b->low + step() * (double)b->rows),
           high = a->low + step() * (double)a->rows - b->low;
    for (int i = 0; i < STEPS; i++) {
        double middle = (low + high) / 2;
        *(difference_below(f, middle) < p ? &low : &high) = middle;
    }
    return (low + high) / 2;
}

struct fl_trip_ratio fl_trip_ratio_of(const struct fl_trip_posterior *a,
                                      const struct fl_trip_posterior *b, double level)
{
    bool together = a->session == b->session;
    struct difference f = {.n = 0};
    int pairs = together ? FL_TRIP_MEANS : 1;
    for (int m = 0; m < pairs; m++) {
        int last = together ? m : FL_TRIP_MEANS - 1;
        struct line la = line_new(a, m, last), lb = line_new(b, m, last);
        if (la.all > NO_SHARE && lb.all > 0) {
            f.a[f.n] = la;
            f.b[f.n++] = lb;
        } else {
            line_free(&la);
            line_free(&lb);
        }
    }
    double lower = difference_below(&f, 0), p = 2 * fmin(lower, 1 - lower);
    struct fl_trip_ratio out = {
        a->open_low || b->open_high ? -INFINITY : difference_quantile(&f, (1 - level) / 2),
        a->open_high || b->open_low ? INFINITY : difference_quantile(&f, (1 + level) / 2),
        fmin(1, fmax(p, SMALLEST_P))};
    for (int m = 0; m < f.n; m++) {
        line_free(&f.a[m]);
        line_free(&f.b[m]);
    }
    return out;
}
