/* A stream's measurements, the last of them kept or all; stretches of them are lent out, so that
 * looking at the same seconds again and again copies none. */
#include "live_store.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "trace/read_trace.h"

/* As in recording.c. */
static const double most_spread_s = 0.02;
/* Kept of the trace, s: pictures and hand may come minutes apart. A choice. */
static const double trace_s = 600;
enum { FEWEST = 8 }; /* frames of a stretch */

void fl_live_store_open(struct fl_live_store *l, const struct fl_footage_info *info,
                        const struct fl_take_spec *spec)
{
    *l =
        (struct fl_live_store){.info = *info, .stream = fl_signals_open(info->width, info->height)};
    fl_take_spec_init(&l->spec);
    if (spec)
        l->spec = *spec;
    l->spec.use = NULL; /* spans in use are counted from a start that a stream may not have */
    l->spec.n_use = 0;
    snprintf(l->clock.refused, sizeof l->clock.refused, "no trace");
}

void fl_live_store_close(struct fl_live_store *l)
{
    struct fl_signals s;
    if (l->stream) {
        fl_signals_finish(&l->stream, &s);
        fl_signals_free(&s);
    }
    free(l->pts_s);
    free(l->trace);
    *l = (struct fl_live_store){0};
}

void fl_live_store_push(struct fl_live_store *l, const struct fl_frame *frame, double pts_s)
{
    fl_signals_push(l->stream, frame->luma, frame->stride, frame->key);
    FL_PUSH(l->pts_s, l->n, l->cap, pts_s);
}

void fl_live_store_trace(struct fl_live_store *l, const struct fl_event *events, size_t n)
{
    size_t old = 0;
    for (size_t i = 0; i < n; i++)
        if (!l->n_trace || events[i].time_s > l->trace[l->n_trace - 1].time_s)
            FL_PUSH(l->trace, l->n_trace, l->cap_trace, events[i]);
    while (!l->keep && old < l->n_trace &&
           l->trace[old].time_s < l->trace[l->n_trace - 1].time_s - trace_s)
        old++;
    if (old > l->n_trace / 4) {
        l->n_trace -= old;
        memmove(l->trace, l->trace + old, l->n_trace * sizeof *l->trace);
    }
}

void fl_live_store_forget(struct fl_live_store *l, double history_s)
{
    if (l->keep || l->n <= 2 * FL_SIGNALS_KEPT || l->n % FL_SIGNALS_KEPT)
        return;
    const size_t n = l->n;
    size_t old = 0;
    while (old < n && l->pts_s[n - 1] - l->pts_s[old] > history_s)
        old++;
    const size_t gone = fl_signals_forget(l->stream, old);
    for (size_t i = gone; gone && i < n; i++)
        l->pts_s[i - gone] = l->pts_s[i];
    l->n -= gone;
    l->first -= gone < l->first ? gone : l->first;
}

enum flinch_code fl_live_store_recording(struct fl_live_store *l, struct fl_recording *out,
                                         struct fl_error *err)
{
    *out = (struct fl_recording){
        .spec = &l->spec, .info = l->info, .pts_s = l->pts_s, .frame_bits = FL_UNKNOWN};
    fl_signals_finish(&l->stream, &out->signals);
    l->pts_s = NULL;
    l->n = l->cap = 0;
    const enum flinch_code code = fl_recording_place(out, err);
    if (code || l->n_trace < 2)
        return code;
    fl_trace_of_events(&out->trace, l->trace, l->n_trace);
    l->trace = NULL;
    l->n_trace = l->cap_trace = 0;
    out->motion = fl_motion_new(&out->trace, most_spread_s);
    return FLINCH_OK;
}

/* ---- stretches ---- */

/* With a clock, what goes with the stretch; else all, if that is to find one. */
static void take_trace(struct fl_live_stretch *s, const struct fl_live_store *l, bool to_find_clock)
{
    struct fl_trace *t = &s->rec.trace;
    const double margin = 1, from = l->clock.known ? s->clock.offset_s - margin : -INFINITY,
                 to = l->clock.known ? s->clock.offset_s + s->rec.duration_s + margin : INFINITY;
    size_t first = 0, end = l->n_trace;
    while (first < end && l->trace[first].time_s < from)
        first++;
    while (end > first && l->trace[end - 1].time_s > to)
        end--;
    fl_align_sound(&s->heard, &s->rec);
    if (end - first < 2 || !(l->clock.known || to_find_clock))
        return;
    *t = (struct fl_trace){.events = l->trace + first,
                           .n = end - first,
                           .has_motion = true,
                           .report_rate_hz = FL_UNKNOWN,
                           .start_s = l->trace[first].time_s,
                           .end_s = l->trace[end - 1].time_s,
                           .format = "stream"};
    s->rec.motion = fl_motion_new(t, most_spread_s);
}

bool fl_live_stretch_open(struct fl_live_stretch *s, const struct fl_live_store *l, double length_s,
                          enum fl_live_purpose purpose)
{
    const struct fl_signals *all = fl_signals_so_far(l->stream);
    const size_t n = all->n > FL_SIGNAL_AHEAD ? all->n - FL_SIGNAL_AHEAD : 0;
    size_t first = n;
    while (first > l->first && l->pts_s[n - 1] - l->pts_s[first - 1] < length_s)
        first--;
    *s = (struct fl_live_stretch){0};
    if (n <= l->first || n < first + FEWEST)
        return false;
    struct fl_recording *r = &s->rec;
    r->spec = &l->spec;
    r->info = l->info;
    r->frame_bits = FL_UNKNOWN;
    if (fl_timeline_fit(&r->timeline, l->pts_s + first, n - first, l->info.nominal_rate_hz,
                        l->info.tick_s, NULL))
        return false;
    s->from_s = l->origin_s + l->pts_s[first];
    s->rows = FL_NEW(struct fl_signal_rows, all->n_kinds);
    for (size_t k = 0; k < all->n_kinds; k++) {
        s->rows[k] = all->of[k];
        if (s->rows[k].row)
            s->rows[k].row += first * s->rows[k].size;
    }
    r->signals = (struct fl_signals){all->grid, n - first, n - first, s->rows, all->n_kinds};
    fl_scan_init(&r->scan, &r->timeline, FL_USUAL_BLANK);
    r->duration_s = r->timeline.time_s[n - first - 1] + r->scan.period_s;
    r->at_flips = l->spec.capture_local && !r->timeline.constant;
    s->clock = l->clock;
    s->clock.offset_s += (1 + 1e-6 * l->clock.drift_ppm) * s->from_s;
    if (purpose == FL_LIVE_FOR_STATES) {
        if (l->clock.known)
            take_trace(s, l, false);
        fl_seen_find_rows(&s->seen, r);
        return true;
    }
    take_trace(s, l, purpose == FL_LIVE_FOR_RATES);
    fl_seen_find(&s->seen, r);
    return true;
}

void fl_live_stretch_close(struct fl_live_stretch *s)
{
    fl_motion_free(&s->rec.motion);
    fl_seen_finish(&s->seen);
    fl_scan_finish(&s->rec.scan);
    fl_timeline_finish(&s->rec.timeline);
    free(s->rows);
}
