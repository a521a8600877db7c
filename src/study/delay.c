#include "study/delay.h"

#include <stdlib.h>

#define LEAST_LAPSES 5
#define TAIL_S 0.15 /* a trip this long after a flick is still its own */
#define ROUNDS 1000
#define SETTLED 1e-9

struct mass { double low, high, p; };

struct edge { double at; bool left; };

static int by_place(const void *a, const void *b)
{
    const struct edge *x = a, *y = b;
    if (x->at != y->at)
        return x->at > y->at ? 1 : -1;
    return y->left - x->left; /* closed ends: left before right */
}

/* Innermost brackets: a left end directly followed by a right end. Only they can hold mass. */
static size_t innermost(const double *low, const double *high, size_t n, struct mass *m)
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
            m[k++] = (struct mass){e[i].at, e[i + 1].at, 0};
    free(e);
    for (size_t j = 0; j < k; j++)
        m[j].p = 1.0 / (double)k;
    return k;
}

static bool holds(double low, double high, const struct mass *m)
{
    return low <= m->low && m->high <= high;
}

/* One round of self-consistency; returns the largest change. */
static double redistribute(const double *low, const double *high, size_t n, struct mass *m, double *next, size_t k)
{
    double change = 0;
    for (size_t j = 0; j < k; j++)
        next[j] = 0;
    for (size_t i = 0; i < n; i++) {
        double sum = 0;
        for (size_t j = 0; j < k; j++)
            sum += holds(low[i], high[i], &m[j]) ? m[j].p : 0;
        for (size_t j = 0; j < k; j++)
            next[j] += holds(low[i], high[i], &m[j]) ? m[j].p / sum / (double)n : 0;
    }
    for (size_t j = 0; j < k; j++) {
        change = fmax(change, fabs(next[j] - m[j].p));
        m[j].p = next[j];
    }
    return change;
}

double fl_bracket_quantile(const double *low, const double *high, size_t n, double p)
{
    if (!n)
        return FL_UNKNOWN;
    struct mass *m = FL_NEW(struct mass, n);
    double *next = FL_NEW(double, n), below = 0, at = INFINITY;
    size_t k = innermost(low, high, n, m);
    for (int round = 0; round < ROUNDS; round++)
        if (redistribute(low, high, n, m, next, k) < SETTLED)
            break;
    for (size_t j = 0; j < k && isinf(at); j++) {
        below += m[j].p;
        if (below >= p - 1e-6)
            at = m[j].high;
    }
    free(m);
    free(next);
    return at;
}

/* The last flick that began before t; NULL if none did. */
static const struct fl_flick *flick_before(const struct fl_take *t, double t_s)
{
    const struct fl_flick *f = NULL;
    for (size_t i = 0; i < t->n_flicks && t->flicks[i].start_s < t_s; i++)
        f = &t->flicks[i];
    return f;
}

/* Bracket of one lapse's return after the end of its flick; false when there was no flick. */
static bool bracket(const struct fl_take *t, const struct fl_lapse *l, double *low, double *high)
{
    double sure = l->has_return ? fmin(l->end_range_s[0], l->end_s) : l->end_s;
    const struct fl_flick *f = flick_before(t, sure);
    if (!f || f->end_s + TAIL_S < l->start_s) /* no flick made this lapse */
        return false;
    *low = fmax(0, sure - f->end_s);
    *high = l->has_return ? fmax(*low, fmax(l->end_range_s[1], l->end_s) - f->end_s) : INFINITY;
    return true;
}

double fl_return_delay(const struct fl_take *t)
{
    double *low = FL_NEW(double, t->states.n_lapses + 1), *high = FL_NEW(double, t->states.n_lapses + 1);
    size_t n = 0;
    for (size_t i = 0; i < t->states.n_lapses; i++)
        n += bracket(t, &t->states.lapse[i], &low[n], &high[n]);
    double p95 = n < LEAST_LAPSES ? FL_UNKNOWN : fl_bracket_quantile(low, high, n, 0.95);
    free(low);
    free(high);
    return isinf(p95) ? FL_UNKNOWN : p95;
}
