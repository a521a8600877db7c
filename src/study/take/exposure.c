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

static double overlap(double a_start_s, double a_end_s, double b_start_s, double b_end_s)
{
    double s = fmax(a_start_s, b_start_s), e = fmin(a_end_s, b_end_s);
    return e > s ? e - s : 0;
}

/* The camera speed of a frame is the mean about its time: it stands for the time up to halfway to
 * its neighbours. */
static double speed_from(const struct fl_take *t, size_t i)
{
    return i ? (t->time_s[i - 1] + t->time_s[i]) / 2 : t->time_s[0];
}

static double speed_until(const struct fl_take *t, size_t i)
{
    return i + 1 < (size_t)t->frames ? speed_from(t, i + 1) : t->duration_s;
}

static bool turns(const struct fl_take *t, size_t i)
{
    return t->quantity[FL_CAMERA_SPEED][i] > FL_MOTION_DEG_S;
}

/* Time spent turning: in all, and by state. */
struct turning {
    double all_s, on_s, off_s;
    double inferred_on_s, inferred_off_s;
};

/* Walks frames and spans together. late_s: by how much later than said the camera turned. */
static void add_seen(struct turning *out, const struct fl_take *t, double late_s)
{
    size_t first = 0;
    for (size_t i = 0; i < (size_t)t->frames; i++) {
        double start = speed_from(t, i) + late_s, end = speed_until(t, i) + late_s;
        while (first < t->states.n_spans && t->states.span[first].end_s <= start)
            first++;
        if (!turns(t, i))
            continue;
        for (size_t k = first; k < t->states.n_spans && t->states.span[k].start_s < end; k++) {
            const struct fl_state_span *a = &t->states.span[k];
            double s = measured(a) ? overlap(a->start_s, a->end_s, start, end) : 0;
            out->all_s += s;
            out->on_s += a->state == FL_STATE_ON ? s : 0;
            out->off_s += a->state == FL_STATE_OFF ? s : 0;
        }
    }
}

static bool lapse_starts(const struct fl_states *s, double t_s)
{
    for (size_t i = 0; i < s->n_lapses; i++)
        if (s->lapse[i].start_s == t_s)
            return true;
    return false;
}

static bool on_until(const struct fl_take *t, size_t part)
{
    const struct fl_inferred *p = &t->inferred[part];
    if (part && p[-1].end_s == p->start_s)
        return p[-1].state == FL_STATE_ON;
    for (size_t i = 0; i < t->states.n_spans; i++)
        if (t->states.span[i].end_s == p->start_s)
            return t->states.span[i].state == FL_STATE_ON;
    return false;
}

/* Of unseen time; open motion that leads from on to the start of a lapse is on, as that start is
 * the best that is known. */
static enum fl_state settled(const struct fl_take *t, size_t part)
{
    const struct fl_inferred *p = &t->inferred[part];
    bool trips = p->state == FL_STATE_UNSEEN && lapse_starts(&t->states, p->end_s);
    return trips && on_until(t, part) ? FL_STATE_ON : p->state;
}

static void add_inferred(struct turning *out, const struct fl_take *t)
{
    size_t i = 0, n = (size_t)t->frames;
    for (size_t k = 0; k < t->n_inferred; k++) {
        const struct fl_inferred *p = &t->inferred[k];
        enum fl_state state = settled(t, k);
        double *to = state == FL_STATE_ON ? &out->inferred_on_s : &out->inferred_off_s;
        while (i < n && speed_until(t, i) <= p->start_s)
            i++;
        for (size_t f = i; state != FL_STATE_UNSEEN && f < n && speed_from(t, f) < p->end_s; f++)
            if (turns(t, f))
                *to += overlap(p->start_s, p->end_s, speed_from(t, f), speed_until(t, f));
    }
}

/* Unseen time may have been either; motion is known no better than the clock. */
static void bound_share(struct fl_exposure *e, const struct fl_take *t)
{
    const double error_s = t->clock.known ? t->clock.error_ms / 1000 : 0;
    for (int k = -1; k <= 1; k++) {
        struct turning at = {0};
        add_seen(&at, t, k * error_s);
        e->off_share_in_motion_low = fmin(e->off_share_in_motion_low, share(at.off_s, at.all_s));
        e->off_share_in_motion_high =
            fmax(e->off_share_in_motion_high, share(at.all_s - at.on_s, at.all_s));
    }
}

void fl_expose_motion(struct fl_take *t)
{
    struct fl_exposure *e = &t->exposure;
    const bool measured_speed = t->quantity[FL_CAMERA_SPEED] && t->frames > 0;
    const double none = measured_speed ? 0 : FL_UNKNOWN;
    struct turning said = {none, none, none, none, none};
    e->off_share_in_motion_low = e->off_share_in_motion_high = FL_UNKNOWN;
    if (measured_speed) {
        add_seen(&said, t, 0);
        add_inferred(&said, t);
        bound_share(e, t);
    }
    e->motion_s = said.all_s;
    e->on_motion_s = said.on_s;
    e->off_motion_s = said.off_s;
    e->inferred_on_motion_s = said.inferred_on_s;
    e->inferred_off_motion_s = said.inferred_off_s;
    const double off = said.off_s + said.inferred_off_s, on = said.on_s + said.inferred_on_s;
    e->off_share_in_motion = share(off, on + off);
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
    fl_expose_motion(t);
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
