/* Runs the rule over samples, with an index that jumps over what cannot cross a threshold. */
#include "study/rule/cutoff.h"

#include <stdlib.h>

#include "base/mem.h"

#define BLOCK 32

void fl_speeds_index(struct fl_speeds *s, const double *time_s, const float *q, size_t n)
{
    size_t blocks = n / BLOCK + 1;
    *s = (struct fl_speeds){time_s, q, n, FL_NEW(float, blocks), FL_NEW(float, blocks)};
    for (size_t b = 0; b < blocks; b++) {
        s->top[b] = -INFINITY;
        s->bottom[b] = INFINITY;
        for (size_t i = b * BLOCK; i < n && i < (b + 1) * BLOCK; i++) {
            s->top[b] = fmaxf(s->top[b], q[i]); /* fmaxf and fminf skip NaN */
            s->bottom[b] = fminf(s->bottom[b], q[i]);
        }
    }
}

void fl_speeds_finish(struct fl_speeds *s)
{
    free(s->top);
    free(s->bottom);
    *s = (struct fl_speeds){0};
}

/* One threshold seen from one side. */
struct side {
    double theta;
    bool above;
};

static bool beyond(struct side d, double q)
{
    return d.above ? q > d.theta : q < d.theta;
}

/* First sample in [i, to) beyond the threshold; to if there is none. */
static size_t next_beyond(const struct fl_speeds *s, size_t i, size_t to, struct side d)
{
    while (i < to) {
        size_t block = i / BLOCK, last = (block + 1) * BLOCK;
        if (beyond(d, d.above ? s->top[block] : s->bottom[block]))
            for (; i < last && i < to; i++)
                if (beyond(d, s->q[i]))
                    return i;
        i = last;
    }
    return to;
}

/* When the line from sample i-1 to sample i meets theta; the time of sample i if i is the first. */
static double crossing(const struct fl_speeds *s, size_t from, size_t i, double theta)
{
    if (i <= from)
        return s->time_s[i];
    double a = s->q[i - 1], b = s->q[i];
    double part = a != b ? fl_clamp((theta - a) / (b - a), 0, 1) : 1;
    return s->time_s[i - 1] + part * (s->time_s[i] - s->time_s[i - 1]);
}

/* The first time from sample *i on at which q has been beyond for delay_s; *i moves to the first
 * sample at or after it. INFINITY, *i = to, if there is none. */
static double switch_time(const struct fl_speeds *s, size_t from, size_t *i, size_t to,
                          double end_s, struct side d, double delay_s)
{
    for (;;) {
        size_t k = next_beyond(s, *i, to, d);
        if (k == to)
            break;
        double deadline = crossing(s, from, k, d.theta) + delay_s;
        while (k < to && beyond(d, s->q[k]) && s->time_s[k] < deadline)
            k++;
        double held = k == to              ? end_s
                      : beyond(d, s->q[k]) ? INFINITY
                                           : crossing(s, from, k, d.theta);
        *i = k;
        if (held >= deadline)
            return deadline;
        if (k == to)
            break;
    }
    *i = to;
    return INFINITY;
}

void fl_cutoff_run(const struct fl_cutoff *c, const struct fl_speeds *s, size_t from, size_t to,
                   double end_s, bool off, struct fl_span_list *out)
{
    const struct side trip = {c->theta_off, true}, release = {c->theta_on, false};
    double since = from < to ? s->time_s[from] : end_s;
    for (size_t i = from; i < to;) {
        double at = off ? switch_time(s, from, &i, to, end_s, release, c->d_on_s)
                        : switch_time(s, from, &i, to, end_s, trip, c->d_off_s);
        if (isinf(at))
            break;
        if (off)
            FL_PUSH(out->v, out->n, out->cap, ((struct fl_span){since, at}));
        off = !off;
        since = at;
    }
    if (off && end_s > since)
        FL_PUSH(out->v, out->n, out->cap, ((struct fl_span){since, end_s}));
}

void fl_crossings(const struct fl_speeds *s, size_t from, size_t to, double end_s, double theta,
                  bool above, struct fl_span_list *out)
{
    const struct side d = {theta, above};
    for (size_t i = next_beyond(s, from, to, d); i < to; i = next_beyond(s, i, to, d)) {
        struct fl_span span = {crossing(s, from, i, theta), end_s};
        while (i < to && beyond(d, s->q[i]))
            i++;
        if (i < to)
            span.end_s = crossing(s, from, i, theta);
        FL_PUSH(out->v, out->n, out->cap, span);
    }
}
