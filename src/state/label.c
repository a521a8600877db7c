/* Rates → posterior and best path → runs → what a take says: states, lapses, flips.
 *
 * Confidence is the posterior's own; edges are flips of the best path. What is not sure either way
 * is unseen, with the reason, and nothing is made of it. */
#include "state/label.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "state/frames.h"
#include "state/return_edge.h"
#include "state/runs.h"
#include "state/witness.h"

static const struct {
    double usual_hold_s; /* cut-offs hold on after the motion that set them off, 0.05 to 0.3 s
                            (common practice, no source): the best time of an end that nothing shows
                            lies this far past the last sure sight */
    double half_rate_s;  /* on each side of a frame, over which its unique rate is counted (DESIGN:
                            0.25 s windows) */
    float marked;        /* nats of a flip whose tear shows: as in state/rates.c */
} model = {.usual_hold_s = 0.1, .half_rate_s = 0.125, .marked = 0.5f};

static const char *unseen_reason(const struct fl_rates_found *f)
{
    return f->ambiguous ? f->ambiguous : "still";
}

static void push_span(struct fl_states *out, size_t *cap, enum fl_state s, double from, double to,
                      double confidence, const char *reason)
{
    if (to - from > 1e-9)
        FL_PUSH(out->span, out->n_spans, *cap,
                ((struct fl_state_span){.start_s = from,
                                        .end_s = to,
                                        .state = s,
                                        .confidence = confidence,
                                        .reason = reason,
                                        .unique_rate_hz = FL_UNKNOWN}));
}

/* An unseen stretch, parted where the spans in use begin and end. */
static void push_unseen(struct fl_states *out, size_t *cap, double from, double to,
                        const char *reason, const struct fl_label_settings *set)
{
    double at = from;
    for (size_t i = 0; i < set->n_use && at < to; i++) {
        double start = fl_clamp(set->use[i].start_s, at, to),
               end = fl_clamp(set->use[i].end_s, start, to);
        push_span(out, cap, FL_STATE_UNSEEN, at, start, 1, "use");
        push_span(out, cap, FL_STATE_UNSEEN, start, end, 1, reason);
        at = end;
    }
    push_span(out, cap, FL_STATE_UNSEEN, at, to, 1, set->n_use ? "use" : reason);
}

static void tile_spans(struct fl_states *out, const struct fl_runs *runs,
                       const struct fl_rates_found *f, const struct fl_label_settings *set)
{
    size_t cap = 0;
    double at = 0;
    for (size_t k = 0; k < runs->n; k++) {
        const struct fl_run *v = &runs->v[k];
        double from = fl_clamp(v->from_s, at, set->duration_s),
               to = fl_clamp(v->to_s, from, set->duration_s);
        push_unseen(out, &cap, at, from, unseen_reason(f), set);
        size_t before = out->n_spans;
        push_span(out, &cap, v->state, from, to, v->confidence, NULL);
        if (out->n_spans > before && v->state == FL_STATE_OFF)
            out->span[before].evidence =
                FL_EVIDENCE_RATE | (v->confirmed ? FL_EVIDENCE_SHARPNESS : 0);
        at = to;
    }
    push_unseen(out, &cap, at, set->duration_s, unseen_reason(f), set);
}

static double rate_between(const struct fl_renewal *r, const struct fl_evidence *e, double from,
                           double to)
{
    double length = 0;
    size_t n = 0;
    for (size_t i = 0; i < r->n_gaps; i++) {
        const struct fl_gap *g = &r->gap[i];
        double a = fl_slot_edge_s(e, g->from), b = fl_slot_edge_s(e, g->to);
        if (g->mode == FL_GAP_REST || a < from - 1e-6 || b > to + 1e-6)
            continue;
        length += b - a;
        n++;
    }
    return n ? (double)n / length : FL_UNKNOWN;
}

static bool any_on(const struct fl_runs *runs)
{
    for (size_t k = 0; k < runs->n; k++)
        if (runs->v[k].state == FL_STATE_ON)
            return true;
    return false;
}

/* A trip is seen only where the run before is on, a return where the one after is: between two runs
 * off it may have come on, or not. */
static struct fl_lapse lapse_of(const struct fl_runs *runs, size_t k, double duration_s)
{
    const struct fl_run *a = &runs->v[k];
    const struct fl_run *before = k ? a - 1 : NULL, *after = k + 1 < runs->n ? a + 1 : NULL;
    struct fl_lapse v = {
        .start_s = fmax(a->from_s, 0),
        .end_s = fmin(a->to_s, duration_s),
        .start_range_s = {before ? before->to_s : 0, fmax(a->from_s, 0)},
        .end_range_s = {fmin(a->to_s, duration_s), after ? after->from_s : duration_s},
        .has_trip = before && before->state == FL_STATE_ON,
        .has_return = after && after->state == FL_STATE_ON,
        .confidence = a->confidence,
        .evidence = FL_EVIDENCE_RATE | (a->confirmed ? FL_EVIDENCE_SHARPNESS : 0)};
    if (v.end_s < duration_s)
        v.end_s += fmin(model.usual_hold_s, (v.end_range_s[1] - v.end_range_s[0]) / 2);
    return v;
}

/* The span off in which a lapse begins, counted among spans off. */
static size_t run_at(const struct fl_states *s, double start_s)
{
    size_t off = 0;
    for (size_t i = 0; i < s->n_spans && s->span[i].end_s <= start_s; i++)
        off += s->span[i].state == FL_STATE_OFF;
    return off;
}

/* A lapse a run: which of them are one is for the study to say, by the setting's rule. */
static void collect_lapses(struct fl_states *out, const struct fl_runs *runs,
                           const struct fl_renewal *r, const struct fl_evidence *e,
                           double duration_s)
{
    size_t cap = 0;
    if (!any_on(runs))
        return; /* a take that never shows on has no lapses */
    for (size_t k = 0; k < runs->n; k++) {
        if (runs->v[k].state != FL_STATE_OFF)
            continue;
        struct fl_lapse v = lapse_of(runs, k, duration_s);
        v.unique_rate_hz = rate_between(r, e, v.start_s, v.end_range_s[0]);
        v.run = run_at(out, v.start_s);
        v.runs = 1;
        FL_PUSH(out->lapse, out->n_lapses, cap, v);
    }
}

/* A gap of this state that is sure to be one. Where on-state flips leave too few marks to count, a
 * rate in state on would only echo the one in state off. */
static bool counted(const struct fl_renewal *r, const struct fl_rates_found *f,
                    const struct fl_gap *g, enum fl_state state)
{
    size_t middle = (g->from + g->to) / 2;
    if (state == FL_STATE_OFF)
        return g->mode == FL_GAP_OFF && r->p_off[middle] >= FL_RUN_SURE;
    return state == FL_STATE_ON && f->on_counted && g->mode < FL_GAP_OFF &&
           r->p_on[middle] >= FL_RUN_SURE;
}

struct rate_work {
    const struct fl_renewal *r;
    const struct fl_evidence *e;
    const struct fl_rates_found *f;
    size_t gap; /* no earlier one matters any more */
};

/* Flips a second from the gaps of one state that reach into [from, to); NaN under two of them.
 * Calls come in order of from. */
static double own_rate(struct rate_work *w, enum fl_state state, double from, double to)
{
    const struct fl_renewal *r = w->r;
    double length = 0;
    size_t n = 0;
    while (w->gap < r->n_gaps && fl_slot_edge_s(w->e, r->gap[w->gap].to) < from + 1e-6)
        w->gap++;
    for (size_t k = w->gap; k < r->n_gaps && fl_slot_edge_s(w->e, r->gap[k].from) < to - 1e-6; k++)
        if (counted(r, w->f, &r->gap[k], state)) {
            length += (double)(r->gap[k].to - r->gap[k].from) * w->e->slot_s;
            n++;
        }
    return n >= 2 ? (double)n / length : FL_UNKNOWN;
}

static void rate_spans(struct fl_states *out, struct rate_work w)
{
    for (size_t i = 0; i < out->n_spans; i++) {
        struct fl_state_span *a = &out->span[i];
        a->unique_rate_hz = own_rate(&w, a->state, a->start_s, a->end_s);
    }
}

/* The rate of a moment is that of the state it lies in, over a quarter of a second about it. */
static void fill_frames(struct fl_states *out, struct rate_work w, const struct fl_scan *scan)
{
    const double half = model.half_rate_s;
    assert(w.e->frames == scan->n);
    out->n_frames = scan->n;
    out->frame_state = FL_NEW(enum fl_state, scan->n);
    out->frame_confidence = FL_NEW(float, scan->n);
    out->unique_rate_hz = FL_NEW(float, scan->n);
    out->changed_share = FL_NEW(float, scan->n);
    size_t span = 0;
    for (size_t i = 0; i < scan->n; i++) {
        double t = scan->time_s[i] + scan->period_s / 2;
        out->changed_share[i] = w.e->changed_share[i];
        out->unique_rate_hz[i] = NAN;
        while (span + 1 < out->n_spans && out->span[span].end_s <= t)
            span++;
        if (!out->n_spans)
            continue;
        const struct fl_state_span *a = &out->span[span];
        out->frame_state[i] = a->state;
        out->frame_confidence[i] = (float)a->confidence;
        out->unique_rate_hz[i] =
            (float)own_rate(&w, a->state, fmax(a->start_s, t - half), fmin(a->end_s, t + half));
    }
}

static void collect_flips(struct fl_flips *flips, const struct fl_renewal *r,
                          const struct fl_evidence *e, const struct fl_rates_found *f,
                          const enum fl_kind *kind, int native_height)
{
    size_t cap = 0;
    int bands = e->slots_a_frame - 1;
    for (size_t i = 0; i < r->n_gaps; i++) {
        const struct fl_gap *g = &r->gap[i];
        size_t middle = (g->from + g->to) / 2;
        bool off = g->mode == FL_GAP_OFF && r->p_off[middle] >= FL_RUN_SURE;
        /* Where the take's on-state flips leave too few marks to count, those that do still stand.
         */
        bool marked = e->slot[g->from].flip > model.marked;
        bool on =
            g->mode < FL_GAP_OFF && (f->on_counted || marked) && r->p_on[middle] >= FL_RUN_SURE;
        if (!off && !on)
            continue;
        int place = e->local ? 1 : (int)(g->from % (size_t)e->slots_a_frame);
        struct fl_flip v = {.time_s = fl_slot_edge_s(e, g->from),
                            .frame = e->slot[g->from].frame,
                            .row = place ? (float)(place - 1) * (float)native_height / (float)bands
                                         : 0,
                            .confidence = off ? r->p_off[middle] : r->p_on[middle],
                            .in_blank = place == 0,
                            .kind = kind[i] != FL_KIND_UNKNOWN ? kind[i]
                                    : off                      ? FL_KIND_RENDERED
                                                               : FL_KIND_UNKNOWN};
        FL_PUSH(flips->v, flips->n, cap, v);
    }
}

void fl_label(struct fl_states *out, struct fl_flips *flips, const struct fl_evidence *e,
              const struct fl_rows *rows, const struct fl_rates_found *f,
              const struct fl_scan *scan, const struct fl_label_settings *set)
{
    *out = (struct fl_states){.base_rate_on_hz = FL_UNKNOWN, .base_rate_off_hz = FL_UNKNOWN};
    *flips = (struct fl_flips){0};
    struct fl_renewal r = {0};
    struct fl_runs runs = {0};
    struct fl_segment *segments;
    size_t n = fl_segments(e, &segments);
    fl_renewal_solve(&r, e, segments, n, &f->rates, set->threads);
    enum fl_kind *kind = FL_NEW(enum fl_kind, r.n_gaps);
    if (!f->ambiguous) {
        fl_runs_collect(&runs, &r, e, &f->rates);
        fl_witness_heed(&runs, kind, &r, e, rows, &f->rates);
        fl_return_edges(&runs, e, &f->rates, set->threads);
        if (f->saw_off)
            out->base_rate_off_hz = 1 / f->rendered_off_s;
        if (f->saw_on && f->on_counted && fl_rates_frames(f))
            out->base_rate_on_hz = 1 / f->rendered_on_s;
    }
    tile_spans(out, &runs, f, set);
    fl_frames_find(out, f, &r, e, rows);
    collect_lapses(out, &runs, &r, e, set->duration_s);
    const struct rate_work rates = {&r, e, f, 0};
    rate_spans(out, rates);
    fill_frames(out, rates, scan);
    collect_flips(flips, &r, e, f, kind, set->native_height);
    free(kind);
    fl_runs_finish(&runs);
    free(segments);
    fl_renewal_finish(&r);
}
