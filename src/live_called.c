/* Spans as they were called, and the lapses that they make: one a run of off, as in state/label.c.
 * Between two runs it may have come on, or not; that is for the study of the whole take to say. */
#include "live_called.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

/* As in state/label.c: the best time of an end that nothing shows lies so far past the last sure
 * sight of off. */
static const double usual_hold_s = 0.1;

/* The lapse that goes on, or whose end nothing has shown yet; NULL. */
static struct fl_lapse *open_lapse(struct fl_live_called *c)
{
    struct fl_lapse *v = c->n_lapses ? &c->lapse[c->n_lapses - 1] : NULL;
    return v && isinf(v->end_s) ? v : NULL;
}

/* What is seen next begins at next_s. */
static void close_lapse(struct fl_live_called *c, struct fl_lapse *v, double next_s, bool on)
{
    v->end_s = c->off_until_s + fmin(usual_hold_s, fmax(0, next_s - c->off_until_s) / 2);
    v->end_range_s[0] = c->off_until_s;
    v->end_range_s[1] = next_s;
    v->has_return = on;
}

static enum fl_live_edge off_begins(struct fl_live_called *c, double own_s, double *edge_s)
{
    struct fl_lapse *before = open_lapse(c);
    const bool trip = c->seen == FL_STATE_ON;
    if (before)
        close_lapse(c, before, own_s, false);
    const struct fl_lapse v = {.start_s = own_s,
                               .end_s = INFINITY,
                               .start_range_s = {c->seen_until_s, own_s},
                               .end_range_s = {own_s, INFINITY},
                               .has_trip = trip};
    FL_PUSH(c->lapse, c->n_lapses, c->cap_lapses, v);
    *edge_s = own_s;
    return trip ? FL_LIVE_TRIPPED : FL_LIVE_NO_EDGE;
}

static enum fl_live_edge on_begins(struct fl_live_called *c, double own_s, double *edge_s)
{
    struct fl_lapse *before = open_lapse(c);
    if (!before)
        return FL_LIVE_NO_EDGE;
    close_lapse(c, before, own_s, true);
    *edge_s = before->end_s;
    return FL_LIVE_RETURNED;
}

enum fl_live_edge fl_live_called_add(struct fl_live_called *c, enum fl_state state, double own_s,
                                     double from_s, double to_s, double *edge_s)
{
    enum fl_live_edge e = FL_LIVE_NO_EDGE;
    struct fl_live_span *before = c->n_spans ? &c->span[c->n_spans - 1] : NULL;
    const bool goes_on = before && before->state == state && before->end_s >= from_s;
    if (state == FL_STATE_OFF && !goes_on)
        e = off_begins(c, own_s, edge_s);
    if (state == FL_STATE_ON && !goes_on)
        e = on_begins(c, own_s, edge_s);
    if (state != FL_STATE_UNSEEN) {
        c->seen = state;
        c->seen_until_s = to_s;
        c->any_on |= state == FL_STATE_ON;
    }
    if (state == FL_STATE_OFF) {
        c->off_until_s = to_s;
        c->lapse[c->n_lapses - 1].end_range_s[0] = to_s; /* the last sure sight of it */
    }
    if (goes_on)
        before->end_s = to_s;
    else
        FL_PUSH(c->span, c->n_spans, c->cap_spans, ((struct fl_live_span){state, from_s, to_s}));
    return e;
}

void fl_live_called_part(struct fl_live_called *c)
{
    struct fl_lapse *v = open_lapse(c);
    c->seen = FL_STATE_UNSEEN;
    if (v)
        v->end_s = v->end_range_s[0] = v->end_range_s[1] = c->off_until_s;
}

void fl_live_called_forget(struct fl_live_called *c, double before_s)
{
    size_t spans = 0, lapses = 0;
    while (spans + 1 < c->n_spans && c->span[spans].end_s < before_s)
        spans++;
    while (lapses + 1 < c->n_lapses && c->lapse[lapses].end_s < before_s)
        lapses++;
    c->n_spans -= spans;
    c->n_lapses -= lapses;
    if (spans)
        memmove(c->span, c->span + spans, c->n_spans * sizeof *c->span);
    if (lapses)
        memmove(c->lapse, c->lapse + lapses, c->n_lapses * sizeof *c->lapse);
}

void fl_live_called_finish(struct fl_live_called *c)
{
    free(c->span);
    free(c->lapse);
    *c = (struct fl_live_called){0};
}

/* ---- as a take has it ---- */

static double base_hz(const struct fl_rates_found *f, bool on)
{
    if (f->ambiguous)
        return FL_UNKNOWN;
    if (on)
        return f->saw_on && f->on_counted && fl_rates_frames(f) ? 1 / f->rendered_on_s : FL_UNKNOWN;
    return f->saw_off ? 1 / f->rendered_off_s : FL_UNKNOWN;
}

static void push_span(struct fl_states *out, size_t *cap, enum fl_state state, double to_s)
{
    const double from_s = out->n_spans ? out->span[out->n_spans - 1].end_s : 0;
    if (to_s > from_s)
        FL_PUSH(out->span, out->n_spans, *cap,
                ((struct fl_state_span){.start_s = from_s,
                                        .end_s = to_s,
                                        .state = state,
                                        .confidence = 1,
                                        .reason = state == FL_STATE_UNSEEN ? "still" : NULL,
                                        .unique_rate_hz = FL_UNKNOWN}));
}

static void add_lapses(struct fl_states *out, const struct fl_live_called *c, double from_s,
                       double length_s)
{
    size_t cap = 0;
    for (size_t i = 0; i < c->n_lapses && c->any_on; i++) {
        struct fl_lapse v = c->lapse[i];
        v.start_s -= from_s;
        v.end_s = fmin(v.end_s - from_s, length_s);
        for (int k = 0; k < 2; k++)
            v.end_range_s[k] = fmin(v.end_range_s[k] - from_s, length_s);
        if (v.start_s >= 0)
            FL_PUSH(out->lapse, out->n_lapses, cap, v);
    }
}

struct fl_states fl_live_called_states(const struct fl_live_called *c,
                                       const struct fl_live_stretch *s,
                                       const struct fl_rates_found *rates)
{
    const double end = s->rec.duration_s;
    const size_t n = s->rec.signals.n;
    struct fl_states out = {.base_rate_on_hz = base_hz(rates, true),
                            .base_rate_off_hz = base_hz(rates, false),
                            .frames_per_rendered = fl_rates_frames(rates),
                            .frames_possible = rates->possible,
                            .n_frames = n,
                            .frame_state = FL_NEW(enum fl_state, n),
                            .frame_confidence = FL_NEW(float, n),
                            .unique_rate_hz = FL_NEW(float, n),
                            .changed_share = FL_NEW(float, n)};
    size_t cap = 0;
    for (size_t i = 0; i < c->n_spans; i++) {
        push_span(&out, &cap, FL_STATE_UNSEEN, fmin(c->span[i].start_s - s->from_s, end));
        push_span(&out, &cap, c->span[i].state, fmin(c->span[i].end_s - s->from_s, end));
    }
    push_span(&out, &cap, FL_STATE_UNSEEN, end);
    add_lapses(&out, c, s->from_s, end);
    for (size_t i = 0, k = 0; i < n; i++) {
        while (k + 1 < out.n_spans && out.span[k].end_s <= s->rec.timeline.time_s[i])
            k++;
        out.frame_state[i] = out.span[k].state;
        out.unique_rate_hz[i] = out.changed_share[i] = NAN;
    }
    return out;
}
