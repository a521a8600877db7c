#include "state/label.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "state/alternation.h"

/* A run of one state holds a posterior of `certain` somewhere and of `sure` throughout. */
static const float sure = 0.85f, certain = 0.99f;
static const double default_merge_s = 0.25;
/* Cut-offs hold on after the motion that set them off, commonly 0.05 to 0.3 s (common practice, no
 * source): the best time of an end that nothing shows lies this far past the last sure sight. */
static const double usual_hold_s = 0.1;

struct run {
    enum fl_state state;
    size_t from, to;     /* slots */
    double from_s, to_s; /* edges; refined from flips */
    double confidence;
    float peak;
    bool heavy;           /* off by its rate, on by its detail */
    bool undecided;       /* detail says neither */
    bool softness_agrees; /* detail does not alternate: off by the second witness too */
};

struct runs {
    struct run *v;
    size_t n, cap;
};

static double slot_edge_s(const struct fl_evidence *e, size_t slot)
{
    return slot < e->n ? e->slot[slot].time_s - e->slot_s / 2 : e->slot[e->n - 1].time_s + e->slot_s / 2;
}

static enum fl_state slot_state(const struct fl_renewal *r, size_t i)
{
    return r->p_on[i] >= sure ? FL_STATE_ON : r->p_off[i] >= sure ? FL_STATE_OFF : FL_STATE_UNSEEN;
}

static void collect_runs(struct runs *runs, const struct fl_renewal *r, const struct fl_evidence *e)
{
    for (size_t i = 0; i < e->n; i++) {
        enum fl_state s = slot_state(r, i);
        if (s == FL_STATE_UNSEEN)
            continue;
        struct run *last = runs->n ? &runs->v[runs->n - 1] : NULL;
        if (!last || last->state != s || last->to != i) {
            FL_PUSH(runs->v, runs->n, runs->cap, ((struct run){.state = s, .from = i, .to = i}));
            last = &runs->v[runs->n - 1];
        }
        last->to = i + 1;
        float p = s == FL_STATE_ON ? r->p_on[i] : r->p_off[i];
        last->confidence += p;
        last->peak = fmaxf(last->peak, p);
    }
    for (size_t k = 0; k < runs->n; k++) {
        struct run *v = &runs->v[k];
        v->confidence /= (double)(v->to - v->from);
        v->from_s = slot_edge_s(e, v->from);
        v->to_s = slot_edge_s(e, v->to);
    }
}

static bool tells(const struct fl_evidence *e, size_t i)
{
    return e->slot[i].still != 0 || e->slot[i].flip != 0;
}

/* The posterior lingers where nothing more is seen: a run ends with the gap of its last evidence. */
static void trim_runs(struct runs *runs, const struct fl_renewal *r, const struct fl_evidence *e)
{
    size_t n = 0, g = 0;
    for (size_t k = 0; k < runs->n; k++) {
        struct run v = runs->v[k];
        size_t first = v.from, last = v.to;
        while (first < v.to && !tells(e, first))
            first++;
        while (last > first && !tells(e, last - 1))
            last--;
        if (first == last)
            continue;
        while (g < r->n_gaps && r->gap[g].to <= first)
            g++;
        if (g < r->n_gaps && r->gap[g].from < first)
            first = r->gap[g].from;
        size_t h = g;
        while (h < r->n_gaps && r->gap[h].to < last)
            h++;
        if (h < r->n_gaps && r->gap[h].from < last)
            last = r->gap[h].to;
        v.from = first > v.from ? first : v.from;
        v.to = last < v.to ? last : v.to;
        v.from_s = slot_edge_s(e, v.from);
        v.to_s = slot_edge_s(e, v.to);
        runs->v[n++] = v;
    }
    runs->n = n;
}

/* Runs too short to hold two gaps prove nothing; neighbours of one state close over a doubt of less
 * than two base periods. */
static void tidy_runs(struct runs *runs, const struct fl_rates *rates)
{
    size_t n = 0;
    for (size_t k = 0; k < runs->n; k++) {
        struct run v = runs->v[k];
        double least = v.state == FL_STATE_OFF ? 1.5 * rates->off_period_s : 0.75 * rates->on_period_s;
        if (v.to_s - v.from_s < least || v.peak < certain)
            continue;
        struct run *last = n ? &runs->v[n - 1] : NULL;
        if (last && last->state == v.state && v.from_s - last->to_s < 2 * rates->off_period_s) {
            last->to = v.to;
            last->to_s = v.to_s;
        } else {
            runs->v[n++] = v;
        }
    }
    runs->n = n;
}

/* Where on gives way to off (or back) within a few base periods, the edge is a flip of the best
 * path: the first that a gap of the new mode follows. */
static void settle_edges(struct runs *runs, const struct fl_renewal *r, const struct fl_evidence *e,
                         const struct fl_rates *rates)
{
    size_t g = 0;
    for (size_t k = 0; k + 1 < runs->n; k++) {
        struct run *a = &runs->v[k], *b = &runs->v[k + 1];
        if (a->state == b->state || b->from_s - a->to_s > 3 * rates->off_period_s)
            continue;
        double best = INFINITY, middle = (a->to_s + b->from_s) / 2, at = middle;
        while (g < r->n_gaps && slot_edge_s(e, r->gap[g].to) < a->to_s - 4 * rates->off_period_s)
            g++;
        for (size_t i = g; i < r->n_gaps && slot_edge_s(e, r->gap[i].from) < b->from_s + 4 * rates->off_period_s; i++) {
            bool off = r->gap[i].mode == FL_GAP_OFF;
            bool was_off = i && r->gap[i - 1].mode == FL_GAP_OFF;
            if (!i || r->gap[i - 1].to != r->gap[i].from || off == was_off || off != (b->state == FL_STATE_OFF))
                continue;
            double t = slot_edge_s(e, r->gap[i].from);
            if (fabs(t - middle) < best) {
                best = fabs(t - middle);
                at = t;
            }
        }
        a->to_s = b->from_s = at;
    }
}

/* Gaps of the best path that lie within a run; *last is one past the end. */
static size_t gaps_within(const struct fl_renewal *r, const struct fl_evidence *e, const struct run *v, size_t *last)
{
    size_t first = 0;
    while (first < r->n_gaps && slot_edge_s(e, r->gap[first].from) < v->from_s - 1e-6)
        first++;
    *last = first;
    while (*last < r->n_gaps && slot_edge_s(e, r->gap[*last].to) < v->to_s + 1e-6)
        ++*last;
    return first;
}

/* Kinds of the frames that the gaps of an alternating run show: the sharper ones are rendered. */
static void name_kinds(enum fl_kind *kind, const struct fl_renewal *r, const struct fl_evidence *e,
                       const struct run *v, bool second_is_rendered)
{
    size_t last, first = gaps_within(r, e, v, &last);
    for (size_t i = first; i < last; i++)
        kind[i] = ((i - first) % 2 == 1) == second_is_rendered ? FL_KIND_RENDERED : FL_KIND_SYNTHESISED;
}

/* Heavy runs are on; what lies about them and shows too little detail to decide may be either. */
static void drop_beside_heavy(struct runs *runs)
{
    const double near_s = 1; /* a heavy scene lasts for about that long */
    size_t n = 0;
    for (size_t k = 0; k < runs->n; k++) {
        bool doubt = false;
        for (size_t i = 0; runs->v[k].undecided && i < runs->n && !doubt; i++)
            doubt = runs->v[i].heavy && runs->v[i].from_s - runs->v[k].to_s < near_s &&
                    runs->v[k].from_s - runs->v[i].to_s < near_s;
        if (!doubt)
            runs->v[n++] = runs->v[k];
    }
    runs->n = n;
    for (size_t k = 0; k < n; k++)
        if (runs->v[k].heavy)
            runs->v[k].state = FL_STATE_ON;
}

/* Off by its rate, but with detail that alternates from flip to flip: synthesis is on and the base
 * rate has halved. */
static void heed_alternation(struct runs *runs, const struct fl_renewal *r, const struct fl_evidence *e,
                             const struct fl_rows *rows, enum fl_kind *kind)
{
    const double clear = 2.5; /* ln odds */
    struct fl_alternation *all = FL_NEW(struct fl_alternation, runs->n), *on = FL_NEW(struct fl_alternation, runs->n);
    struct fl_softness softness;
    size_t n_on = 0;
    for (size_t k = 0; k < runs->n; k++) {
        size_t last, first = gaps_within(r, e, &runs->v[k], &last);
        fl_alternation_measure(&all[k], e, rows, r->gap, first, last);
        if (runs->v[k].state == FL_STATE_ON)
            on[n_on++] = all[k];
    }
    fl_softness_learn(&softness, on, n_on);
    for (size_t k = 0; k < runs->n; k++) {
        struct run *v = &runs->v[k];
        double odds = fl_alternation_log_odds(&all[k], &softness);
        v->heavy = v->state == FL_STATE_OFF && odds > clear;
        v->softness_agrees = odds < -clear;
        v->undecided = v->state == FL_STATE_OFF && fabs(odds) < 1;
        if (odds > clear)
            name_kinds(kind, r, e, v, all[k].mean > 0);
    }
    drop_beside_heavy(runs);
    free(all);
    free(on);
}

static const char *unseen_reason(const struct fl_rates_found *f)
{
    return f->ambiguous ? f->ambiguous : "still";
}

static void push_span(struct fl_states *out, size_t *cap, enum fl_state s, double from, double to,
                      double confidence, const char *reason)
{
    if (to - from > 1e-9)
        FL_PUSH(out->span, out->n_spans, *cap, ((struct fl_state_span){from, to, s, confidence, reason}));
}

/* An unseen stretch, parted where the spans in use begin and end. */
static void push_unseen(struct fl_states *out, size_t *cap, double from, double to, const char *reason,
                        const struct fl_label_settings *set)
{
    double at = from;
    for (size_t i = 0; i < set->n_use && at < to; i++) {
        double start = fl_clamp(set->use[i].start_s, at, to), end = fl_clamp(set->use[i].end_s, start, to);
        push_span(out, cap, FL_STATE_UNSEEN, at, start, 1, "use");
        push_span(out, cap, FL_STATE_UNSEEN, start, end, 1, reason);
        at = end;
    }
    push_span(out, cap, FL_STATE_UNSEEN, at, to, 1, set->n_use ? "use" : reason);
}

static void tile_spans(struct fl_states *out, const struct runs *runs, const struct fl_rates_found *f,
                       const struct fl_label_settings *set)
{
    size_t cap = 0;
    double at = 0;
    for (size_t k = 0; k < runs->n; k++) {
        const struct run *v = &runs->v[k];
        double from = fl_clamp(v->from_s, at, set->duration_s), to = fl_clamp(v->to_s, from, set->duration_s);
        push_unseen(out, &cap, at, from, unseen_reason(f), set);
        push_span(out, &cap, v->state, from, to, v->confidence, NULL);
        at = to;
    }
    push_unseen(out, &cap, at, set->duration_s, unseen_reason(f), set);
}

static double rate_between(const struct fl_renewal *r, const struct fl_evidence *e, double from, double to)
{
    double length = 0;
    size_t n = 0;
    for (size_t i = 0; i < r->n_gaps; i++) {
        const struct fl_gap *g = &r->gap[i];
        double a = slot_edge_s(e, g->from), b = slot_edge_s(e, g->to);
        if (g->mode == FL_GAP_REST || a < from - 1e-6 || b > to + 1e-6)
            continue;
        length += b - a;
        n++;
    }
    return n ? (double)n / length : FL_UNKNOWN;
}

static bool any_on(const struct runs *runs)
{
    for (size_t k = 0; k < runs->n; k++)
        if (runs->v[k].state == FL_STATE_ON)
            return true;
    return false;
}

static void collect_lapses(struct fl_states *out, const struct runs *runs, const struct fl_renewal *r,
                           const struct fl_evidence *e, double duration_s, double merge_s)
{
    size_t cap = 0;
    if (!any_on(runs))
        return; /* a take that never shows on has no lapses */
    for (size_t k = 0; k < runs->n; k++) {
        if (runs->v[k].state != FL_STATE_OFF)
            continue;
        size_t last = k;
        while (last + 1 < runs->n && runs->v[last + 1].state == FL_STATE_OFF &&
               runs->v[last + 1].from_s - runs->v[last].to_s <= merge_s)
            last++;
        const struct run *a = &runs->v[k], *b = &runs->v[last];
        struct fl_lapse v = {
            .start_s = fmax(a->from_s, 0), .end_s = fmin(b->to_s, duration_s),
            .start_range_s = {k ? runs->v[k - 1].to_s : 0, fmax(a->from_s, 0)},
            .end_range_s = {fmin(b->to_s, duration_s), last + 1 < runs->n ? runs->v[last + 1].from_s : duration_s},
            .has_trip = k > 0, .has_return = last + 1 < runs->n, .confidence = a->confidence,
            .evidence = FL_EVIDENCE_RATE | (a->softness_agrees ? FL_EVIDENCE_SHARPNESS : 0)};
        if (v.end_s < duration_s)
            v.end_s += fmin(usual_hold_s, (v.end_range_s[1] - v.end_range_s[0]) / 2);
        v.unique_rate_hz = rate_between(r, e, v.start_s, v.end_range_s[0]);
        FL_PUSH(out->lapse, out->n_lapses, cap, v);
        k = last;
    }
}

/* Unique rate over a quarter of a second about each frame, of what was seen. */
static void fill_frames(struct fl_states *out, const struct fl_renewal *r, const struct fl_evidence *e,
                        const struct fl_rates_found *f, const struct fl_scan *scan)
{
    const double half = 0.125;
    out->n_frames = scan->n;
    out->frame_state = FL_NEW(enum fl_state, scan->n);
    out->frame_confidence = FL_NEW(float, scan->n);
    out->unique_rate_hz = FL_NEW(float, scan->n);
    out->changed_share = FL_NEW(float, scan->n);
    size_t lo = 0, span = 0;
    for (size_t i = 0; i < scan->n; i++) {
        double t = scan->time_s[i] + scan->period_s / 2;
        while (span + 1 < out->n_spans && out->span[span].end_s <= t)
            span++;
        out->frame_state[i] = out->n_spans ? out->span[span].state : FL_STATE_UNSEEN;
        out->frame_confidence[i] = out->n_spans ? (float)out->span[span].confidence : 0;
        out->changed_share[i] = e->changed_share[i];
        double length = 0, n = 0;
        while (lo < r->n_gaps && slot_edge_s(e, r->gap[lo].to) < t - half)
            lo++;
        for (size_t k = lo; k < r->n_gaps && slot_edge_s(e, r->gap[k].from) < t + half; k++) {
            const struct fl_gap *g = &r->gap[k];
            size_t middle = (g->from + g->to) / 2;
            bool counted = g->mode == FL_GAP_OFF ? r->p_off[middle] >= sure
                           : g->mode != FL_GAP_REST && r->p_on[middle] >= sure && (f->saw_off || f->on_counted);
            if (counted) {
                length += (double)(g->to - g->from) * e->slot_s;
                n++;
            }
        }
        /* Where on-state flips leave no marks, a rate in state on would only echo the one in state off. */
        bool known = out->frame_state[i] == FL_STATE_OFF || (out->frame_state[i] == FL_STATE_ON && f->on_counted);
        out->unique_rate_hz[i] = n >= 2 && known ? (float)(n / length) : NAN;
    }
}

static void collect_flips(struct fl_flips *flips, const struct fl_renewal *r, const struct fl_evidence *e,
                          const struct fl_rates_found *f, const enum fl_kind *kind, int native_height)
{
    size_t cap = 0;
    int bands = e->slots_a_frame - 1;
    for (size_t i = 0; i < r->n_gaps; i++) {
        const struct fl_gap *g = &r->gap[i];
        size_t middle = (g->from + g->to) / 2;
        bool off = g->mode == FL_GAP_OFF && r->p_off[middle] >= sure;
        /* Where the take's on-state flips leave too few marks to count, those that do still stand. */
        bool marked = e->slot[g->from].flip > 0.5f;
        bool on = g->mode < FL_GAP_OFF && (f->on_counted || marked) && r->p_on[middle] >= sure;
        if (!off && !on)
            continue;
        int place = e->local ? 1 : (int)(g->from % (size_t)e->slots_a_frame);
        struct fl_flip v = {
            .time_s = slot_edge_s(e, g->from), .frame = e->slot[g->from].frame,
            .row = place ? (float)(place - 1) * (float)native_height / (float)bands : 0,
            .confidence = off ? r->p_off[middle] : r->p_on[middle], .in_blank = place == 0,
            .kind = kind[i] != FL_KIND_UNKNOWN ? kind[i] : off ? FL_KIND_RENDERED : FL_KIND_UNKNOWN};
        FL_PUSH(flips->v, flips->n, cap, v);
    }
}

void fl_label(struct fl_states *out, struct fl_flips *flips, const struct fl_evidence *e, const struct fl_rows *rows,
              const struct fl_rates_found *f, const struct fl_scan *scan, const struct fl_label_settings *set)
{
    *out = (struct fl_states){.base_rate_on_hz = FL_UNKNOWN, .base_rate_off_hz = FL_UNKNOWN};
    *flips = (struct fl_flips){0};
    struct fl_renewal r = {0};
    struct runs runs = {0};
    struct fl_segment *segments;
    size_t n = fl_segments(e, &segments);
    fl_renewal_solve(&r, e, segments, n, &f->rates);
    enum fl_kind *kind = FL_NEW(enum fl_kind, r.n_gaps);
    if (!f->ambiguous) {
        collect_runs(&runs, &r, e);
        trim_runs(&runs, &r, e);
        tidy_runs(&runs, &f->rates);
        settle_edges(&runs, &r, e, &f->rates);
        heed_alternation(&runs, &r, e, rows, kind);
        if (f->saw_off)
            out->base_rate_off_hz = 1 / f->rates.off_period_s;
        if (f->saw_on && f->on_counted)
            out->base_rate_on_hz = 1 / f->rates.on_period_s;
    }
    tile_spans(out, &runs, f, set);
    collect_lapses(out, &runs, &r, e, set->duration_s, set->merge_s > 0 ? set->merge_s : default_merge_s);
    fill_frames(out, &r, e, f, scan);
    collect_flips(flips, &r, e, f, kind, set->native_height);
    free(kind);
    free(runs.v);
    free(segments);
    fl_renewal_finish(&r);
}
