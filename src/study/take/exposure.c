/* Sums of states over time, and the unique rate in windows of 0.25 s. */
#include "study/take/exposure.h"

#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"

static bool measured(const struct fl_state_span *s)
{
    return !s->reason || strcmp(s->reason, "use");
}

static double share(double part, double whole)
{
    return whole > 0 ? part / whole : FL_UNKNOWN;
}

static void count_states(struct fl_exposure *e, const struct fl_states *s)
{
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *a = &s->span[i];
        double *to = a->state == FL_STATE_ON    ? &e->on_s
                     : a->state == FL_STATE_OFF ? &e->off_s
                                                : &e->unseen_s;
        if (measured(a))
            *to += a->end_s - a->start_s;
    }
}

static double overlap(const struct fl_state_span *a, double start_s, double end_s)
{
    double s = fmax(a->start_s, start_s), e = fmin(a->end_s, end_s);
    return e > s ? e - s : 0;
}

/* Walks frames and spans together; frame i lasts until the next one begins. */
static void count_motion(struct fl_exposure *e, const struct fl_take *t)
{
    const float *speed = t->quantity[FL_CAMERA_SPEED];
    size_t first = 0, n = (size_t)t->frames;
    for (size_t i = 0; i < n; i++) {
        double start = t->time_s[i], end = i + 1 < n ? t->time_s[i + 1] : t->duration_s;
        while (first < t->states.n_spans && t->states.span[first].end_s <= start)
            first++;
        if (!(speed[i] > FL_MOTION_DEG_S))
            continue;
        for (size_t k = first; k < t->states.n_spans && t->states.span[k].start_s < end; k++) {
            const struct fl_state_span *a = &t->states.span[k];
            double s = measured(a) ? overlap(a, start, end) : 0;
            e->motion_s += s;
            e->on_motion_s += a->state == FL_STATE_ON ? s : 0;
            e->off_motion_s += a->state == FL_STATE_OFF ? s : 0;
        }
    }
}

void fl_expose(struct fl_take *t)
{
    struct fl_exposure *e = &t->exposure;
    *e = (struct fl_exposure){0};
    count_states(e, &t->states);
    double seen = e->on_s + e->off_s, all = seen + e->unseen_s;
    e->off_share = share(e->off_s, seen);
    e->off_share_low = seen > 0 ? e->off_s / all : FL_UNKNOWN;
    e->off_share_high = seen > 0 ? (e->off_s + e->unseen_s) / all : FL_UNKNOWN;
    e->inferred_on_s = e->inferred_off_s = e->open_s = FL_UNKNOWN;
    e->off_share_of_take = e->off_share_of_take_low = e->off_share_of_take_high = FL_UNKNOWN;
    e->lapses_low = e->lapses_high = t->states.n_lapses;
    e->lapses_per_min = share(60 * (double)t->states.n_lapses, all);
    for (size_t i = 0; i < t->states.n_lapses; i++)
        e->longest_s = fmax(e->longest_s, t->states.lapse[i].end_s - t->states.lapse[i].start_s);
    if (t->quantity[FL_CAMERA_SPEED])
        count_motion(e, t);
    else
        e->motion_s = e->on_motion_s = e->off_motion_s = FL_UNKNOWN;
    e->off_share_in_motion = share(e->off_motion_s, e->on_motion_s + e->off_motion_s);
    e->off_share_in_motion_low = share(e->off_motion_s, e->motion_s);
    e->off_share_in_motion_high = share(e->motion_s - e->on_motion_s, e->motion_s);
}

/* Unique rates of the frames of one kind, gathered for a mean and a percentile. */
struct pool {
    double *v;
    size_t n;
};

static void summarise(struct pool *p, double *mean, double *p1)
{
    *mean = p->n ? fl_mean(p->v, p->n) : FL_UNKNOWN;
    *p1 = fl_quantile(p->v, p->n, 0.01);
    free(p->v);
}

static size_t swings(const struct fl_states *s)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_lapses; i++)
        n += s->lapse[i].has_trip && s->lapse[i].has_return;
    return n;
}

static bool inside_lapse(const struct fl_states *s, size_t *k, double t_s)
{
    while (*k < s->n_lapses && s->lapse[*k].end_s <= t_s)
        ++*k;
    return *k < s->n_lapses && s->lapse[*k].start_s <= t_s;
}

void fl_smooth(struct fl_take *t)
{
    const struct fl_states *s = &t->states;
    const float *speed = t->quantity[FL_CAMERA_SPEED];
    size_t n = s->unique_rate_hz ? (size_t)t->frames : 0, lapse = 0;
    n = n < s->n_frames ? n : s->n_frames;
    struct pool rest = {FL_NEW(double, n + 1), 0}, motion = {FL_NEW(double, n + 1), 0},
                off = {FL_NEW(double, n + 1), 0};
    for (size_t i = 0; i < n; i++) {
        double rate = s->unique_rate_hz[i];
        bool lapsed = inside_lapse(s, &lapse, t->time_s[i]);
        if (!fl_known(rate) || s->frame_state[i] == FL_STATE_UNSEEN)
            continue;
        if (lapsed)
            off.v[off.n++] = rate;
        if (speed && speed[i] > FL_MOTION_DEG_S)
            motion.v[motion.n++] = rate;
        else if (speed && speed[i] <= FL_MOTION_DEG_S)
            rest.v[rest.n++] = rate;
    }
    summarise(&rest, &t->smoothness.rest_mean_hz, &t->smoothness.rest_p1_hz);
    summarise(&motion, &t->smoothness.motion_mean_hz, &t->smoothness.motion_p1_hz);
    summarise(&off, &t->smoothness.lapse_mean_hz, &t->smoothness.lapse_p1_hz);
    double all = t->exposure.on_s + t->exposure.off_s + t->exposure.unseen_s;
    t->smoothness.swings_per_min = share(60 * (double)swings(s), all);
}
