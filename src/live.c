/* The last seconds of a stream, looked at again and again by the model of whole takes.
 *
 * The model needs to see both sides of a moment, and a take to know its rates by. So a moment is
 * called only when the lag has passed, and rates are found on a longer stretch than states are,
 * less often, and kept when newer footage tells less. A take's own labels differ from these where
 * its far ends tell something of its middle. */
#include "live.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "align.h"
#include "base/mem.h"
#include "base/units.h"
#include "look.h"
#include "recording.h"
#include "run.h"
#include "signal/stream.h"
#include "trace/read_trace.h"

/* Choices, s. */
static const struct {
    double
        window; /* looked at for states: longer than lapses and the rests about them mostly are */
    double history;    /* looked at for rates, and the most that is kept */
    double first;      /* rates are first looked for after so much */
    double growth;     /* and again when the stream is so many times longer, */
    double again;      /* but at least this often */
    double jump;       /* times that leap by more, or go back, part the stream */
    double usual_hold; /* as in state/label.c: past the last sure sight of off */
    double flicks;     /* looked at for flicks: longer than a flick and the rest before it, ... */
    double flicks_every;
    double edge;  /* of that: what begins so soon may have begun before */
    double tail;  /* a trip so long after a flick is its own (DESIGN: flick) */
    double trace; /* kept of the trace */
} last = {.window = 2.5,
          .history = 30,
          .first = 3,
          .growth = 1.5,
          .again = 30,
          .jump = 1,
          .usual_hold = 0.1,
          .flicks = 8,
          .flicks_every = 0.5,
          .edge = 0.3,
          .tail = 0.15,
          .trace = 600};
/* As in recording.c. */
static const double most_spread_s = 0.02;

/* What has been called, while it is looked back on; times on the stream's own way. */
struct called {
    enum fl_state state;
    double start_s, end_s;
};

struct fl_live {
    struct fl_footage_info info;
    struct fl_take_spec spec;
    struct fl_signal_stream *stream;
    double *pts_s; /* of the frames kept, on the stream's clock */
    size_t n, cap;
    size_t first;    /* of them, the first since times last jumped */
    bool keep;       /* all of it, for a take */
    double flips_s;  /* flips are told up to here */
    double origin_s; /* footage time of stream time 0 */
    double last_pts_s, newest_s;
    double looked_s, rates_s; /* when states and rates were looked at last; footage time */
    bool known;               /* rates are */
    struct fl_rates_found rates;
    struct fl_live_now now;
    enum fl_state seen; /* the last called that was not unseen */
    bool in_lapse;
    double off_until_s;    /* last called off */
    struct called *called; /* of the last half minute, touching each other */
    size_t n_called, cap_called;
    struct fl_lapse *lapse; /* the same; the last may go on */
    size_t n_lapses, cap_lapses;
    struct fl_event *trace;
    size_t n_trace, cap_trace;
    struct fl_clock clock;         /* from footage time */
    double flicks_s, flick_over_s; /* flicks looked for last; end of the last one told */
    bool judged;
    struct fl_usable usable;
    struct fl_live_event *event;
    size_t n_events, cap_events, told;
};

const char *fl_live_kind_name(enum fl_live_kind k)
{
    static const char *const names[] = {"state", "trip",  "return", "flip",
                                        "flick", "rates", "jump"};
    return names[k];
}

static double period_s(const struct fl_live *l)
{
    return l->info.nominal_rate_hz > 0 ? 1 / l->info.nominal_rate_hz : 1.0 / 60;
}

static void tell(struct fl_live *l, struct fl_live_event e)
{
    e.seen_at_s = l->newest_s;
    FL_PUSH(l->event, l->n_events, l->cap_events, e);
}

struct fl_live *fl_live_open(const struct fl_footage_info *info, const struct fl_take_spec *spec)
{
    struct fl_live *l = FL_NEW(struct fl_live, 1);
    l->info = *info;
    fl_take_spec_init(&l->spec);
    if (spec)
        l->spec = *spec;
    l->spec.use = NULL; /* spans in use are counted from a start that a stream may not have */
    l->spec.n_use = 0;
    l->stream = fl_signals_open(info->width, info->height);
    l->last_pts_s = FL_UNKNOWN;
    l->now.on_hz = l->now.off_hz = FL_UNKNOWN;
    l->now.why = "still";
    snprintf(l->clock.refused, sizeof l->clock.refused, "no trace");
    l->now.no_clock = l->clock.refused;
    return l;
}

void fl_live_free(struct fl_live **live)
{
    struct fl_live *l = *live;
    if (!l)
        return;
    struct fl_signals s;
    if (l->stream) {
        fl_signals_finish(&l->stream, &s);
        fl_signals_free(&s);
    }
    free(l->pts_s);
    free(l->event);
    free(l->called);
    free(l->lapse);
    free(l->trace);
    free(l);
    *live = NULL;
}

/* ---- a stretch of the stream as a recording ---- */

struct stretch {
    struct fl_recording rec;
    struct fl_signal_rows *rows;
    struct fl_seen seen;
    double from_s;         /* footage time of its first frame */
    struct fl_clock clock; /* counted from there */
    struct fl_heard heard;
};

/* With a clock, what goes with the stretch; else all, if that is to find one. */
static void take_trace(struct stretch *s, const struct fl_live *l, bool to_find_clock)
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

/* The last so many seconds of settled frames; false where there are too few. Borrows their rows. */
static bool stretch_open(struct stretch *s, struct fl_live *l, double length_s, size_t ahead)
{
    const struct fl_signals *all = fl_signals_so_far(l->stream);
    const size_t n = all->n > ahead ? all->n - ahead : 0;
    size_t first = n;
    while (first > l->first && l->pts_s[n - 1] - l->pts_s[first - 1] < length_s)
        first--;
    *s = (struct stretch){0};
    if (n <= l->first || n < first + 8)
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
    take_trace(s, l, length_s >= last.history);
    fl_seen_find(&s->seen, r);
    return true;
}

static void stretch_close(struct stretch *s)
{
    fl_motion_free(&s->rec.motion);
    fl_seen_finish(&s->seen);
    fl_scan_finish(&s->rec.scan);
    fl_timeline_finish(&s->rec.timeline);
    free(s->rows);
}

/* ---- rates ---- */

/* Rates that tell more are kept: both states beat one, one beats none. */
static int told_by(const struct fl_rates_found *f)
{
    return f->ambiguous ? 0 : 1 + f->saw_on + f->saw_off;
}

static double output_hz(const struct fl_rates_found *f, bool on)
{
    if (f->ambiguous || (on ? !f->saw_on || !f->on_counted : !f->saw_off))
        return FL_UNKNOWN;
    const int n = fl_rates_frames(f);
    return on ? (n ? n / f->rates.on_period_s : FL_UNKNOWN) : 1 / f->rates.off_period_s;
}

static void keep_rates(struct fl_live *l, const struct fl_rates_found *f)
{
    if (l->known && told_by(f) < told_by(&l->rates))
        return;
    l->rates = *f;
    l->known = !f->ambiguous;
    l->now.why = f->ambiguous;
    l->now.on_hz = output_hz(f, true);
    l->now.off_hz = output_hz(f, false);
    if (l->known)
        tell(l, (struct fl_live_event){.kind = FL_LIVE_RATES,
                                       .time_s = l->newest_s,
                                       .on_hz = l->now.on_hz,
                                       .off_hz = l->now.off_hz,
                                       .frames_per_rendered = fl_rates_frames(f)});
}

static bool rates_due(const struct fl_live *l)
{
    const double since = l->newest_s - l->rates_s;
    return l->rates_s > 0 ? since >= last.again || l->newest_s >= last.growth * l->rates_s
                          : l->newest_s >= last.first;
}

/* A clock that was found is kept where newer motion tells none. */
static void look_for_clock(struct fl_live *l, struct stretch *s, const struct fl_look *look)
{
    struct fl_clock by_motion, settled;
    fl_align_motion(&by_motion, &s->heard, &s->rec, &s->seen);
    fl_align_flips(&settled, &by_motion, &s->rec, &s->seen, look);
    if (settled.known || !l->clock.known)
        s->clock = settled;
    if (settled.known) {
        l->clock = settled;
        l->clock.offset_s -= (1 + 1e-6 * settled.drift_ppm) * s->from_s;
    } else if (!l->clock.known) {
        l->clock = settled;
    }
    l->now.clock = l->clock.known;
}

static void judge(struct fl_live *l, struct stretch *s, struct fl_look *look)
{
    struct fl_take *t = fl_run_look(&s->rec, &s->seen, look, &s->clock, &s->heard);
    fl_usable_judge(&l->usable, t, true);
    l->judged = true;
    fl_take_free(&t);
}

static void look_for_rates(struct fl_live *l)
{
    struct stretch s;
    struct fl_look look;
    l->rates_s = l->newest_s;
    if (!stretch_open(&s, l, last.history, FL_SIGNAL_AHEAD))
        return;
    fl_look_first(&look, &s.rec, &s.seen, 1);
    keep_rates(l, &look.found);
    if (s.rec.motion)
        look_for_clock(l, &s, &look);
    judge(l, &s, &look);
    fl_look_finish(&look);
    stretch_close(&s);
}

/* ---- states ---- */

/* A lapse begins where off is seen and on was seen before, whatever lies between, and ends where on
 * is seen again: as in a whole take (state/label.c). own_s: where the span began, which may have
 * been called something else before it was sure. */
static void call_edges(struct fl_live *l, enum fl_state state, double own_s)
{
    if (state == FL_STATE_OFF && l->seen == FL_STATE_ON) {
        l->now.trips++;
        l->in_lapse = true;
        FL_PUSH(l->lapse, l->n_lapses, l->cap_lapses,
                ((struct fl_lapse){.start_s = own_s,
                                   .end_s = INFINITY,
                                   .end_range_s = {INFINITY, INFINITY},
                                   .has_trip = true}));
        tell(l, (struct fl_live_event){.kind = FL_LIVE_TRIP, .time_s = own_s});
    }
    if (state == FL_STATE_ON && l->seen == FL_STATE_OFF && l->in_lapse) {
        struct fl_lapse *v = &l->lapse[l->n_lapses - 1];
        l->in_lapse = false;
        v->end_s = l->off_until_s + fmin(last.usual_hold, fmax(0, own_s - l->off_until_s) / 2);
        v->end_range_s[0] = l->off_until_s;
        v->end_range_s[1] = own_s;
        v->has_return = true;
        tell(l, (struct fl_live_event){.kind = FL_LIVE_RETURN, .time_s = v->end_s});
    }
    l->seen = state;
}

static void call(struct fl_live *l, enum fl_state state, double own_s, double from_s, double to_s)
{
    if (state != FL_STATE_UNSEEN && state != l->seen)
        call_edges(l, state, own_s);
    if (state == FL_STATE_ON)
        l->now.on_s += to_s - from_s;
    if (state == FL_STATE_OFF) {
        l->now.off_s += to_s - from_s;
        l->off_until_s = to_s;
    }
    if (state != l->now.state)
        tell(l, (struct fl_live_event){.kind = FL_LIVE_STATE, .time_s = from_s, .state = state});
    l->now.state = state;
    l->now.called_s = to_s;
    if (state != FL_STATE_UNSEEN) {
        l->now.seen = state;
        l->now.seen_s = to_s;
    }
    if (l->n_called && l->called[l->n_called - 1].state == state)
        l->called[l->n_called - 1].end_s = to_s;
    else
        FL_PUSH(l->called, l->n_called, l->cap_called, ((struct called){state, from_s, to_s}));
}

static void call_states(struct fl_live *l, const struct fl_states *s, double from_s, double until_s)
{
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *a = &s->span[i];
        const double begin = fmax(from_s + a->start_s, l->now.called_s),
                     end = fmin(from_s + a->end_s, until_s);
        if (end > begin)
            call(l, a->state, from_s + a->start_s, begin, end);
    }
}

static void tell_flips(struct fl_live *l, const struct fl_flips *f, double from_s, double until_s)
{
    for (size_t i = 0; i < f->n; i++) {
        const double t = from_s + f->v[i].time_s;
        if (t > l->flips_s && t <= until_s)
            tell(l, (struct fl_live_event){.kind = FL_LIVE_FLIP, .time_s = t, .row = f->v[i].row});
    }
    l->flips_s = fmax(l->flips_s, until_s);
}

static void look_for_states(struct fl_live *l, double lag_s, size_t ahead)
{
    struct stretch s;
    struct fl_look look;
    const double until_s = l->newest_s - lag_s;
    l->looked_s = l->newest_s;
    if (!l->known || !stretch_open(&s, l, last.window, ahead))
        return;
    fl_look_at_rates(&look, &s.rec, &s.seen, &l->rates, 1);
    call_states(l, &look.states, s.from_s, until_s);
    if (l->keep)
        tell_flips(l, &look.flips, s.from_s, until_s);
    fl_look_finish(&look);
    stretch_close(&s);
}

/* ---- flicks ---- */

static double base_hz(const struct fl_rates_found *f, bool on)
{
    if (f->ambiguous)
        return FL_UNKNOWN;
    if (on)
        return f->saw_on && f->on_counted && fl_rates_frames(f) ? 1 / f->rendered_on_s : FL_UNKNOWN;
    return f->saw_off ? 1 / f->rendered_off_s : FL_UNKNOWN;
}

/* What has been called of a stretch as a take has it; what has not been called is unseen. */
static struct fl_states states_of(const struct fl_live *l, const struct stretch *s)
{
    const double end = s->rec.duration_s;
    const size_t n = s->rec.signals.n;
    struct fl_states out = {.base_rate_on_hz = base_hz(&l->rates, true),
                            .base_rate_off_hz = base_hz(&l->rates, false),
                            .frames_per_rendered = fl_rates_frames(&l->rates),
                            .frames_possible = l->rates.possible,
                            .n_frames = n,
                            .frame_state = FL_NEW(enum fl_state, n),
                            .frame_confidence = FL_NEW(float, n),
                            .unique_rate_hz = FL_NEW(float, n),
                            .changed_share = FL_NEW(float, n)};
    size_t cap = 0, cap_lapses = 0;
    double at = 0;
    for (size_t i = 0; i <= l->n_called; i++) {
        const bool left = i == l->n_called; /* what is not called yet */
        const double to = left ? end : fmin(l->called[i].end_s - s->from_s, end);
        const enum fl_state state = left ? FL_STATE_UNSEEN : l->called[i].state;
        if (to <= at)
            continue;
        FL_PUSH(out.span, out.n_spans, cap,
                ((struct fl_state_span){.start_s = at,
                                        .end_s = to,
                                        .state = state,
                                        .confidence = 1,
                                        .reason = state == FL_STATE_UNSEEN ? "still" : NULL,
                                        .unique_rate_hz = FL_UNKNOWN}));
        at = to;
    }
    for (size_t i = 0; i < l->n_lapses; i++) {
        struct fl_lapse v = l->lapse[i];
        v.start_s -= s->from_s;
        v.end_s = fmin(v.end_s - s->from_s, end);
        for (int k = 0; k < 2; k++)
            v.end_range_s[k] = fmin(v.end_range_s[k] - s->from_s, end);
        if (v.start_s >= 0)
            FL_PUSH(out.lapse, out.n_lapses, cap_lapses, v);
    }
    for (size_t i = 0, k = 0; i < n; i++) {
        while (k + 1 < out.n_spans && out.span[k].end_s <= s->rec.timeline.time_s[i])
            k++;
        out.frame_state[i] = out.span[k].state;
        out.unique_rate_hz[i] = out.changed_share[i] = NAN;
    }
    return out;
}

static void tell_flicks(struct fl_live *l, const struct fl_take *t, double from_s)
{
    for (size_t i = 0; i < t->n_flicks; i++) {
        struct fl_flick f = t->flicks[i];
        const double start = from_s + f.start_s, end = from_s + f.end_s;
        if ((from_s > last.edge && f.start_s < last.edge) || start < l->flick_over_s ||
            end + last.tail > l->now.called_s)
            continue;
        f.start_s = start;
        f.end_s = end;
        f.peak_s += from_s;
        l->flick_over_s = end;
        tell(l, (struct fl_live_event){.kind = FL_LIVE_FLICK, .time_s = start, .flick = f});
    }
}

static void look_for_flicks(struct fl_live *l, size_t ahead)
{
    struct stretch s;
    l->flicks_s = l->newest_s;
    if (!l->known || !stretch_open(&s, l, last.flicks, ahead))
        return;
    struct fl_look look = {.found = l->rates, .states = states_of(l, &s)};
    struct fl_take *t = fl_run_look(&s.rec, &s.seen, &look, &s.clock, &s.heard);
    tell_flicks(l, t, s.from_s);
    fl_take_free(&t);
    fl_look_finish(&look);
    stretch_close(&s);
}

/* ---- the stream ---- */

void fl_live_trace(struct fl_live *l, const struct fl_event *events, size_t n)
{
    size_t old = 0;
    for (size_t i = 0; i < n; i++)
        if (!l->n_trace || events[i].time_s > l->trace[l->n_trace - 1].time_s)
            FL_PUSH(l->trace, l->n_trace, l->cap_trace, events[i]);
    while (!l->keep && old < l->n_trace &&
           l->trace[old].time_s < l->trace[l->n_trace - 1].time_s - last.trace)
        old++;
    if (old > l->n_trace / 4) {
        l->n_trace -= old;
        memmove(l->trace, l->trace + old, l->n_trace * sizeof *l->trace);
    }
}

static void forget(struct fl_live *l)
{
    const size_t n = l->n;
    size_t old = 0;
    while (old < n && l->pts_s[n - 1] - l->pts_s[old] > last.history)
        old++;
    const size_t gone = fl_signals_forget(l->stream, old);
    for (size_t i = gone; gone && i < n; i++)
        l->pts_s[i - gone] = l->pts_s[i];
    l->n -= gone;
    l->first -= gone < l->first ? gone : l->first;
    size_t spans = 0, lapses = 0;
    while (spans + 1 < l->n_called && l->called[spans].end_s < l->newest_s - last.history)
        spans++;
    while (lapses + 1 < l->n_lapses && l->lapse[lapses].end_s < l->newest_s - last.history)
        lapses++;
    l->n_called -= spans;
    l->n_lapses -= lapses;
    if (spans)
        memmove(l->called, l->called + spans, l->n_called * sizeof *l->called);
    if (lapses)
        memmove(l->lapse, l->lapse + lapses, l->n_lapses * sizeof *l->lapse);
}

/* Footage time goes on over a leap forwards; over one back it goes on from where it was. */
static void jump(struct fl_live *l, double pts_s)
{
    const double step = pts_s - l->last_pts_s, lost = step > 0 ? step : 0;
    fl_live_end(l);
    tell(l, (struct fl_live_event){
                .kind = FL_LIVE_JUMP, .time_s = l->newest_s, .jump_s = step > 0 ? lost : 0});
    call(l, FL_STATE_UNSEEN, l->now.called_s, l->now.called_s, l->newest_s + lost);
    l->seen = FL_STATE_UNSEEN;
    l->in_lapse = false;
    l->origin_s = l->newest_s + fmax(lost, period_s(l)) - pts_s;
    l->first = l->n;
    l->flips_s = l->now.called_s;
}

void fl_live_push(struct fl_live *l, const struct fl_frame *frame)
{
    double pts_s = fl_known(frame->pts_s)    ? frame->pts_s
                   : fl_known(l->last_pts_s) ? l->last_pts_s + period_s(l)
                                             : 0;
    if (!fl_known(l->last_pts_s))
        l->origin_s = -pts_s;
    else if (pts_s <= l->last_pts_s - last.jump || pts_s > l->last_pts_s + last.jump)
        jump(l, pts_s);
    l->last_pts_s = pts_s;
    l->newest_s = l->origin_s + pts_s;
    l->now.time_s = l->newest_s;
    l->now.frames++;
    fl_signals_push(l->stream, frame->luma, frame->stride, frame->key);
    FL_PUSH(l->pts_s, l->n, l->cap, pts_s);
    if (rates_due(l))
        look_for_rates(l);
    if (l->newest_s - l->looked_s >= FL_LIVE_EVERY_S)
        look_for_states(l, FL_LIVE_LAG_S, FL_SIGNAL_AHEAD);
    if (l->newest_s - l->flicks_s >= last.flicks_every)
        look_for_flicks(l, FL_SIGNAL_AHEAD);
    if (!l->keep && l->n > 2 * FL_SIGNALS_KEPT && l->n % FL_SIGNALS_KEPT == 0)
        forget(l);
}

void fl_live_end(struct fl_live *l)
{
    if (!l->known)
        look_for_rates(l);
    look_for_states(l, 0, FL_SIGNAL_AHEAD);
    look_for_flicks(l, FL_SIGNAL_AHEAD);
}

void fl_live_keep(struct fl_live *l)
{
    l->keep = true;
}

/* The recording takes over what was kept. */
enum flinch_code fl_live_take(struct fl_live *l, int threads, struct fl_take **out,
                              struct fl_error *err)
{
    *out = NULL;
    if (!l->keep || !l->stream)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "a take is made once, of a stream that was kept; open another");
    struct fl_recording rec = {
        .spec = &l->spec, .info = l->info, .pts_s = l->pts_s, .frame_bits = FL_UNKNOWN};
    fl_signals_finish(&l->stream, &rec.signals);
    l->pts_s = NULL;
    l->n = l->cap = 0;
    enum flinch_code code = fl_recording_place(&rec, err);
    if (!code && l->n_trace >= 2) {
        fl_trace_of_events(&rec.trace, l->trace, l->n_trace);
        l->trace = NULL;
        l->n_trace = l->cap_trace = 0;
        rec.motion = fl_motion_new(&rec.trace, most_spread_s);
    }
    if (!code)
        *out = fl_run_recording(&rec, threads, NULL);
    fl_recording_finish(&rec);
    return code;
}

const struct fl_usable *fl_live_findings(const struct fl_live *l)
{
    return l->judged ? &l->usable : NULL;
}

bool fl_live_poll(struct fl_live *l, struct fl_live_event *out)
{
    if (l->told == l->n_events) {
        l->told = l->n_events = 0;
        return false;
    }
    *out = l->event[l->told++];
    return true;
}

void fl_live_now(const struct fl_live *l, struct fl_live_now *out)
{
    *out = l->now;
}
