/* The last seconds of a stream, looked at again and again by the model of whole takes.
 *
 * The model needs to see both sides of a moment, and a take to know its rates by. So a moment is
 * called only when the lag has passed, and rates are found on a longer stretch than states are,
 * less often, and kept when newer footage tells less. A take's own labels differ from these where
 * its far ends tell something of its middle. */
#include "live.h"

#include <math.h>
#include <stdlib.h>

#include "align.h"
#include "base/mem.h"
#include "base/units.h"
#include "live_called.h"
#include "live_flicks.h"
#include "live_store.h"
#include "look.h"
#include "run.h"

/* Choices, s. */
static const struct {
    double
        window; /* looked at for states: longer than lapses and the rests about them mostly are */
    double history; /* looked at for rates, and the most that is kept */
    double first;   /* rates are first looked for after so much */
    double growth;  /* and again when the stream is so many times longer, */
    double again;   /* but at least this often */
    double jump;    /* times that leap by more, or go back, part the stream */
    double flicks;  /* looked at for flicks: longer than a flick and the rest before it, ... */
    double flicks_every;
    double edge; /* of that: what begins so soon may have begun before */
    double tail; /* a trip so long after a flick is its own (DESIGN: flick) */
} last = {.window = 2.5,
          .history = 30,
          .first = 3,
          .growth = 1.5,
          .again = 30,
          .jump = 1,
          .flicks = 8,
          .flicks_every = 0.5,
          .edge = 0.3,
          .tail = 0.15};

struct fl_live {
    struct fl_live_store store;
    struct fl_live_called called; /* of the last half minute */
    struct fl_live_flicks flicks;
    double last_pts_s, newest_s;
    /* when states, rates and flicks were looked at last; flips and flicks told up to here */
    double looked_s, rates_s, flicks_s, flips_s, flick_over_s;
    bool known; /* rates are */
    struct fl_rates_found rates;
    struct fl_live_now now;
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
    return l->store.info.nominal_rate_hz > 0 ? 1 / l->store.info.nominal_rate_hz : 1.0 / 60;
}

static void tell(struct fl_live *l, struct fl_live_event e)
{
    e.seen_at_s = l->newest_s;
    FL_PUSH(l->event, l->n_events, l->cap_events, e);
}

struct fl_live *fl_live_open(const struct fl_footage_info *info, const struct fl_take_spec *spec)
{
    struct fl_live *l = FL_NEW(struct fl_live, 1);
    fl_live_store_open(&l->store, info, spec);
    l->last_pts_s = FL_UNKNOWN;
    l->now.on_hz = l->now.off_hz = FL_UNKNOWN;
    l->now.why = "still";
    l->now.no_clock = l->store.clock.refused;
    return l;
}

void fl_live_free(struct fl_live **live)
{
    struct fl_live *l = *live;
    if (!l)
        return;
    fl_live_store_close(&l->store);
    fl_live_called_finish(&l->called);
    free(l->event);
    free(l);
    *live = NULL;
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
static void look_for_clock(struct fl_live *l, struct fl_live_stretch *s, const struct fl_look *look)
{
    struct fl_clock by_motion, settled;
    fl_align_motion(&by_motion, &s->heard, &s->rec, &s->seen);
    fl_align_flips(&settled, &by_motion, &s->rec, &s->seen, look);
    if (settled.known || !l->store.clock.known)
        s->clock = settled;
    if (settled.known) {
        l->store.clock = settled;
        l->store.clock.offset_s -= (1 + 1e-6 * settled.drift_ppm) * s->from_s;
    } else if (!l->store.clock.known) {
        l->store.clock = settled;
    }
    l->now.clock = l->store.clock.known;
}

static void judge(struct fl_live *l, struct fl_live_stretch *s, struct fl_look *look)
{
    struct fl_take *t = fl_run_look(&s->rec, &s->seen, look, &s->clock, &s->heard);
    fl_usable_judge(&l->usable, t, true);
    l->judged = true;
    fl_take_free(&t);
}

/* ---- states ---- */

static void call(struct fl_live *l, enum fl_state state, double own_s, double from_s, double to_s)
{
    double edge_s;
    const enum fl_live_edge e = fl_live_called_add(&l->called, state, own_s, from_s, to_s, &edge_s);
    if (e == FL_LIVE_TRIPPED)
        l->now.trips++;
    if (e != FL_LIVE_NO_EDGE)
        tell(l, (struct fl_live_event){.kind = e == FL_LIVE_TRIPPED ? FL_LIVE_TRIP : FL_LIVE_RETURN,
                                       .time_s = edge_s});
    if (state == FL_STATE_ON)
        l->now.on_s += to_s - from_s;
    if (state == FL_STATE_OFF)
        l->now.off_s += to_s - from_s;
    if (state != l->now.state)
        tell(l, (struct fl_live_event){.kind = FL_LIVE_STATE, .time_s = from_s, .state = state});
    l->now.state = state;
    l->now.called_s = to_s;
    if (state != FL_STATE_UNSEEN) {
        l->now.seen = state;
        l->now.seen_s = to_s;
    }
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

static void look_for_rates(struct fl_live *l)
{
    struct fl_live_stretch s;
    struct fl_look look;
    const bool were_known = l->known;
    l->rates_s = l->newest_s;
    if (!fl_live_stretch_open(&s, &l->store, last.history, FL_LIVE_FOR_RATES))
        return;
    fl_look_first(&look, &s.rec, &s.seen, 1);
    keep_rates(l, &look.found);
    if (l->known && !were_known) /* what could not be called until now */
        call_states(l, &look.states, s.from_s, l->newest_s - FL_LIVE_LAG_S);
    if (s.rec.motion)
        look_for_clock(l, &s, &look);
    judge(l, &s, &look);
    fl_look_finish(&look);
    fl_live_stretch_close(&s);
}

static void look_for_states(struct fl_live *l, double lag_s)
{
    struct fl_live_stretch s;
    struct fl_look look;
    const double until_s = l->newest_s - lag_s;
    l->looked_s = l->newest_s;
    if (!l->known || !fl_live_stretch_open(&s, &l->store, last.window, FL_LIVE_FOR_STATES))
        return;
    fl_look_at_rates(&look, &s.rec, &s.seen, &l->rates, &s.clock, 1);
    call_states(l, &look.states, s.from_s, until_s);
    if (l->store.keep)
        tell_flips(l, &look.flips, s.from_s, until_s);
    fl_look_finish(&look);
    fl_live_stretch_close(&s);
}

/* ---- flicks ---- */

static void tell_flicks(struct fl_live *l, const struct fl_take *t, double from_s)
{
    for (size_t i = 0; i < t->n_flicks; i++) {
        struct fl_flick f = t->flicks[i];
        const double start = from_s + f.start_s, end = from_s + f.end_s;
        if ((from_s > last.edge && f.start_s < last.edge) || start < l->flick_over_s ||
            end + last.tail > l->now.called_s)
            continue;
        fl_live_flicks_told(&l->flicks, t, i, from_s);
        f.start_s = start;
        f.end_s = end;
        f.peak_s += from_s;
        l->flick_over_s = end;
        tell(l, (struct fl_live_event){.kind = FL_LIVE_FLICK, .time_s = start, .flick = f});
    }
}

/* Those that were at risk, as is known by now. */
static void tell_known(struct fl_live *l)
{
    struct fl_flick f;
    while (fl_live_flicks_known(&l->flicks, &f))
        tell(l, (struct fl_live_event){
                    .kind = FL_LIVE_FLICK, .time_s = f.start_s, .flick = f, .again = true});
}

/* With a trace speeds are the hand's, once there is a clock: those of the picture in the first few
 * seconds were up to half too fast. Until here nothing is out of sight yet. */
static bool waits_for_clock(const struct fl_live *l)
{
    return l->store.n_trace && !l->store.clock.known && l->newest_s < last.flicks;
}

static void look_for_flicks(struct fl_live *l)
{
    struct fl_live_stretch s;
    l->flicks_s = l->newest_s;
    if (!l->known || !fl_live_stretch_open(&s, &l->store, last.flicks, FL_LIVE_FOR_FLICKS))
        return;
    struct fl_look look = {.found = l->rates,
                           .states = fl_live_called_states(&l->called, &s, &l->rates)};
    struct fl_take *t = fl_run_look(&s.rec, &s.seen, &look, &s.clock, &s.heard);
    fl_live_flicks_judge(&l->flicks, t, s.from_s, last.edge);
    tell_flicks(l, t, s.from_s);
    tell_known(l);
    fl_take_free(&t);
    fl_look_finish(&look);
    fl_live_stretch_close(&s);
}

/* ---- the stream ---- */

void fl_live_trace(struct fl_live *l, const struct fl_event *events, size_t n)
{
    fl_live_store_trace(&l->store, events, n);
}

/* Footage time goes on over a leap forwards; over one back it goes on from where it was. */
static void jump(struct fl_live *l, double pts_s)
{
    const double step = pts_s - l->last_pts_s, lost = step > 0 ? step : 0;
    fl_live_end(l);
    tell(l, (struct fl_live_event){.kind = FL_LIVE_JUMP, .time_s = l->newest_s, .jump_s = lost});
    call(l, FL_STATE_UNSEEN, l->now.called_s, l->now.called_s, l->newest_s + lost);
    fl_live_called_part(&l->called);
    l->store.origin_s = l->newest_s + fmax(lost, period_s(l)) - pts_s;
    l->store.first = l->store.n;
    l->flips_s = l->now.called_s;
}

void fl_live_push(struct fl_live *l, const struct fl_frame *frame)
{
    double pts_s = fl_known(frame->pts_s)    ? frame->pts_s
                   : fl_known(l->last_pts_s) ? l->last_pts_s + period_s(l)
                                             : 0;
    if (!fl_known(l->last_pts_s))
        l->store.origin_s = -pts_s;
    else if (pts_s <= l->last_pts_s - last.jump || pts_s > l->last_pts_s + last.jump)
        jump(l, pts_s);
    l->last_pts_s = pts_s;
    l->newest_s = l->store.origin_s + pts_s;
    l->now.time_s = l->newest_s;
    l->now.frames++;
    fl_live_store_push(&l->store, frame, pts_s);
    if (rates_due(l))
        look_for_rates(l);
    if (l->newest_s - l->looked_s >= FL_LIVE_EVERY_S)
        look_for_states(l, FL_LIVE_LAG_S);
    if (l->newest_s - l->flicks_s >= last.flicks_every && !waits_for_clock(l))
        look_for_flicks(l);
    fl_live_store_forget(&l->store, last.history);
    fl_live_called_forget(&l->called, l->newest_s - last.history);
}

void fl_live_end(struct fl_live *l)
{
    if (!l->known)
        look_for_rates(l);
    look_for_states(l, 0);
    look_for_flicks(l);
}

void fl_live_keep(struct fl_live *l)
{
    l->store.keep = true;
}

enum flinch_code fl_live_take(struct fl_live *l, int threads, struct fl_take **out,
                              struct fl_error *err)
{
    struct fl_recording rec;
    *out = NULL;
    if (!l->store.keep || !l->store.stream)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "a take is made once, of a stream that was kept; open another");
    const enum flinch_code code = fl_live_store_recording(&l->store, &rec, err);
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
