#include "study/take/trace_mismatch.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

#define SMOOTH_S 0.1
#define LONG_S 0.5
#define BRIDGE_S 0.1
#define LEAST_DEG_S 25.0

struct sums {
    double tx, ty, px, py;
    size_t known;
};

static void add(struct sums *s, const struct fl_pair_series *t, const struct fl_pair_series *p,
                size_t i, int sign)
{
    if (isnan(t->x[i]) || isnan(t->y[i]) || isnan(p->x[i]) || isnan(p->y[i]))
        return;
    s->tx += sign * t->x[i];
    s->ty += sign * t->y[i];
    s->px += sign * p->x[i];
    s->py += sign * p->y[i];
    s->known += (size_t)sign;
}

static bool differ(const struct sums *s)
{
    if (!s->known)
        return false;
    double n = (double)s->known, larger = fmax(hypot(s->tx, s->ty), hypot(s->px, s->py)) / n;
    double apart = hypot(s->tx - s->px, s->ty - s->py) / n;
    return apart > LEAST_DEG_S && apart > larger / 2;
}

/* Frames whose surrounding 0.1 s disagree. */
static void find_differences(bool *out, const double *time_s, const struct fl_pair_series *t,
                             const struct fl_pair_series *p)
{
    struct sums s = {0};
    size_t from = 0, to = 0;
    for (size_t i = 0; i < t->n; i++) {
        for (; to < t->n && time_s[to] < time_s[i] + SMOOTH_S / 2; to++)
            add(&s, t, p, to, 1);
        for (; time_s[from] < time_s[i] - SMOOTH_S / 2; from++)
            add(&s, t, p, from, -1);
        out[i] = differ(&s);
    }
}

/* Ends of the run that starts at i: the last differing frame with no long pause before it. */
static size_t run_end(const bool *differs, const double *time_s, size_t n, size_t i)
{
    size_t last = i;
    for (size_t k = i; k < n && time_s[k] - time_s[last] < BRIDGE_S; k++)
        if (differs[k])
            last = k;
    return last;
}

double fl_trace_mismatch(bool *overruled, const double *time_s, const struct fl_pair_series *trace,
                         const struct fl_pair_series *picture)
{
    size_t n = trace->n;
    double seconds = 0;
    bool *differs = FL_NEW(bool, n + 1);
    find_differences(differs, time_s, trace, picture);
    for (size_t i = 0; i < n; i++) {
        overruled[i] = false;
        if (!differs[i])
            continue;
        size_t end = run_end(differs, time_s, n, i);
        bool longer = time_s[end] - time_s[i] >= LONG_S;
        seconds += longer ? time_s[end] - time_s[i] : 0;
        for (; i < end; i++)
            overruled[i] = longer;
        overruled[end] = longer;
    }
    free(differs);
    return seconds;
}
