/* Reads and measures in one thread, so that a stream that stalls stalls nothing else. */
#include "desk.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/monotonic.h"
#include "base/units.h"
#include "live.h"
#include "media/footage.h"
#include "pace.h"
#include "study/plan/next_speed.h"
#include "trace/follow_trace.h"

/* The stream counts as stalled after, s, and after half again its longest pause: recorders write in
 * bursts of some seconds. */
static const double stalled_s = 10;
/* Flicks shown are those faster, or that count. */
static const double turning_deg_s = 25;
enum { TRACE_EVERY = 8 }; /* pictures */

struct fl_desk {
    struct fl_desk_settings set;
    struct fl_footage *footage;
    struct fl_follow_trace *trace;
    struct fl_live *live;
    struct fl_next_speed own;  /* by this take's flicks alone */
    struct fl_next_speed next; /* and by the setting's earlier takes */
    pthread_t thread;
    bool running;
    /* the thread's own */
    struct fl_pace pace;
    bool trace_failed;
    double skip_from_s;
    long skipped;
    struct fl_watch_told told;
    pthread_mutex_t lock; /* over what follows */
    struct fl_watch_view view;
    struct fl_usable usable;
    char clock[FL_WATCH_NOTE], note[FL_WATCH_NOTE];
    bool ended;
    /* the viewer's own */
    struct fl_usable shown_usable;
    double waited_s, usual_wait_s; /* now; the longest after which something came */
    bool told_stall;
    char shown_clock[FL_WATCH_NOTE], shown_note[FL_WATCH_NOTE], shown_keep_why[FL_WATCH_NOTE];
};

static void warn(struct fl_desk *d, const char *code, const char *text)
{
    pthread_mutex_lock(&d->lock);
    snprintf(d->note, sizeof d->note, "%.*s", (int)sizeof d->note - 1, text);
    pthread_mutex_unlock(&d->lock);
    if (d->set.lines)
        fl_watch_tell_warning(d->set.lines, d->set.json, code, text, d->view.time_s);
}

/* ---- what the model calls ---- */

/* Of a take of its own, V50 is the take's; of one of a session, the setting's. */
static void answer(struct fl_desk *d)
{
    struct fl_watch_view *v = &d->view;
    const struct fl_standing *st = d->set.standing;
    struct fl_next_speed_answer own;
    fl_next_speed_answer(&d->next, d->set.wanted, &v->answer);
    v->fitted = d->own.flicks;
    v->fitted_trips = d->own.trips;
    if (!st)
        return;
    const struct fl_standing_setting *now = &st->setting[st->now];
    const bool any = st->next < st->n;
    fl_next_speed_answer(&d->own, d->set.wanted, &own);
    v->answer.v50 = now->v50;
    v->answer.low = now->low;
    v->answer.high = now->high;
    v->answer.enough = now->enough;
    v->fitted = now->flicks;
    v->fitted_trips = now->trips;
    v->session = (struct fl_watch_session){(int)st->n,
                                           st->finished,
                                           any ? st->setting[st->next].id : NULL,
                                           any ? st->setting[st->next].width : FL_UNKNOWN,
                                           any && st->next == st->now,
                                           own.enough,
                                           now->takes};
}

/* Its place among those shown; a new one goes first, where it is worth showing. */
static void show_flick(struct fl_watch_view *v, const struct fl_watch_flick *w, bool worth,
                       bool again)
{
    int at = 0;
    if (again) {
        while (at < v->shown && v->flick[at].time_s != w->time_s)
            at++;
    } else if (worth) {
        memmove(v->flick + 1, v->flick, (FL_WATCH_FLICKS - 1) * sizeof *v->flick);
        v->shown += v->shown < FL_WATCH_FLICKS;
    }
    if (at < v->shown && (again || worth))
        v->flick[at] = *w;
}

static void add_flick(struct fl_desk *d, const struct fl_live_event *e)
{
    struct fl_watch_view *v = &d->view;
    const struct fl_flick *f = &e->flick;
    const struct fl_watch_flick w = {f->start_s, f->end_s,   f->peak[FL_CAMERA_SPEED],
                                     f->at_risk, f->tripped, e->again};
    const bool counts =
        f->at_risk == FL_YES && f->tripped != FL_ANSWER_UNKNOWN && fl_known(w.peak_deg_s);
    if (counts) {
        fl_next_speed_add(&d->own, w.peak_deg_s, f->tripped == FL_YES);
        fl_next_speed_add(&d->next, w.peak_deg_s, f->tripped == FL_YES);
    }
    if (counts && d->set.standing)
        fl_standing_add(d->set.standing, w.peak_deg_s, f->tripped == FL_YES);
    pthread_mutex_lock(&d->lock);
    show_flick(v, &w, counts || !(w.peak_deg_s < turning_deg_s), e->again);
    if (counts && !e->again)
        v->last_deg_s = w.peak_deg_s;
    v->flicks += !e->again;
    v->degrees |= fl_known(w.peak_deg_s);
    if (counts)
        answer(d);
    pthread_mutex_unlock(&d->lock);
    if (d->set.lines)
        fl_watch_tell_flick(d->set.lines, d->set.json, &w, e->seen_at_s);
    if (d->set.lines && counts)
        fl_watch_tell_next(d->set.lines, d->set.json, v);
    if (d->set.lines && counts && d->set.standing)
        fl_watch_tell_session(d->set.lines, d->set.json, d->set.standing, v);
}

static void tell_jump(struct fl_desk *d, const struct fl_live_event *e)
{
    char text[FL_WATCH_NOTE];
    if (d->skipped) {
        snprintf(text, sizeof text,
                 "fell behind: %ld pictures skipped, %.1f s are unseen; stop other work here",
                 d->skipped, e->jump_s);
        d->skipped = 0;
        warn(d, "behind", text);
    } else {
        snprintf(text, sizeof text, "the stream's times jump by %.1f s at %.1f s", e->jump_s,
                 e->time_s);
        warn(d, "times_jump", text);
    }
}

static void hear(struct fl_desk *d, const struct fl_live_event *e)
{
    FILE *out = d->set.lines;
    const bool json = d->set.json;
    switch (e->kind) {
    case FL_LIVE_STATE:
        if (out)
            fl_watch_tell_state(out, json, e->state, e->time_s, e->seen_at_s);
        break;
    case FL_LIVE_TRIP:
    case FL_LIVE_RETURN:
        if (out)
            fl_watch_tell_edge(out, json, e->kind == FL_LIVE_TRIP, e->time_s, e->seen_at_s);
        break;
    case FL_LIVE_FLIP: break;
    case FL_LIVE_FLICK: add_flick(d, e); break;
    case FL_LIVE_RATES:
        if (out)
            fl_watch_tell_rates(out, json, e->on_hz, e->off_hz, e->seen_at_s);
        break;
    case FL_LIVE_JUMP: tell_jump(d, e); break;
    }
}

static void note_now(struct fl_desk *d)
{
    struct fl_live_now now;
    const struct fl_usable *u = fl_live_findings(d->live);
    struct fl_watch_view *v = &d->view;
    fl_live_now(d->live, &now);
    pthread_mutex_lock(&d->lock);
    v->time_s = now.time_s;
    v->state = now.state;
    v->why = now.why;
    v->on_hz = now.on_hz;
    v->off_hz = now.off_hz;
    v->seen = now.seen;
    v->seen_s = now.seen_s;
    v->on_s = now.on_s;
    v->off_s = now.off_s;
    v->trips = now.trips;
    if (u)
        d->usable = *u;
    v->usable = u ? &d->usable : NULL;
    if (!d->trace)
        snprintf(d->clock, sizeof d->clock, "no trace: speeds are the picture's");
    else if (now.clock)
        snprintf(d->clock, sizeof d->clock, "trace and picture are lined up");
    else
        snprintf(d->clock, sizeof d->clock, "trace not lined up yet: %s", now.no_clock);
    pthread_mutex_unlock(&d->lock);
}

static void listen_to(struct fl_desk *d)
{
    struct fl_live_event e;
    note_now(d);
    while (fl_live_poll(d->live, &e))
        hear(d, &e);
    if (d->set.lines && d->view.usable)
        fl_watch_tell_findings(d->set.lines, d->set.json, &d->told, d->view.usable, d->view.time_s);
}

/* ---- the streams ---- */

static void read_trace(struct fl_desk *d)
{
    const struct fl_event *events;
    size_t n;
    struct fl_error err = {0};
    if (!d->trace)
        return;
    if (!fl_follow_trace_poll(d->trace, &events, &n, &err)) {
        fl_live_trace(d->live, events, n);
    } else if (!d->trace_failed) {
        d->trace_failed = true;
        warn(d, "trace", err.text);
    }
}

static bool too_late(struct fl_desk *d, double pts_s)
{
    struct fl_byte_source_state s = {0};
    if (d->set.every || !fl_known(pts_s))
        return false;
    fl_footage_stream_state(d->footage, &s);
    const bool skip = fl_pace_skips(&d->pace, fl_now_s(), pts_s, s.waits);
    d->skipped += skip;
    return skip;
}

static void *watch(void *arg)
{
    struct fl_desk *d = arg;
    struct fl_frame frame;
    struct fl_error err = {0};
    bool got;
    enum flinch_code code;
    for (long i = 0; !(code = fl_footage_next(d->footage, &frame, &got, &err)) && got; i++) {
        if (i % TRACE_EVERY == 0)
            read_trace(d);
        if (too_late(d, frame.pts_s))
            continue;
        fl_live_push(d->live, &frame);
        listen_to(d);
    }
    read_trace(d);
    fl_live_end(d->live);
    listen_to(d);
    const char *why = code ? err.text : fl_footage_warning(d->footage);
    if (why)
        warn(d, "footage", why);
    fl_footage_copy_rest(d->footage);
    pthread_mutex_lock(&d->lock);
    d->ended = true;
    pthread_mutex_unlock(&d->lock);
    return NULL;
}

/* ---- from outside ---- */

static enum flinch_code open_streams(struct fl_desk *d, bool (*stopped)(void *ctx), void *ctx,
                                     struct fl_error *err)
{
    const struct fl_take_spec *spec = d->set.spec;
    const struct fl_footage_settings how = {.threads = d->set.threads,
                                            .follow = d->set.follow,
                                            .keep = d->set.keep,
                                            .stopped = stopped,
                                            .ctx = ctx};
    enum flinch_code code = FLINCH_OK;
    if (spec->trace)
        code = fl_follow_trace_open(&d->trace, spec->trace, spec->trace_columns, d->set.keep_trace,
                                    err);
    return code ? code : fl_footage_open(&d->footage, spec->footage, &how, err);
}

enum flinch_code fl_desk_open(struct fl_desk **out, const struct fl_desk_settings *settings,
                              bool (*stopped)(void *ctx), void *ctx, struct fl_error *err)
{
    struct fl_desk *d = FL_NEW(struct fl_desk, 1);
    d->set = *settings;
    pthread_mutex_init(&d->lock, NULL);
    fl_next_speed_init(&d->own);
    fl_next_speed_init(&d->next);
    if (d->set.standing)
        fl_standing_expect(d->set.standing, &d->next);
    enum flinch_code code = open_streams(d, stopped, ctx, err);
    if (!code) {
        const struct fl_footage_info *info = fl_footage_info(d->footage);
        d->live = fl_live_open(info, settings->spec);
        d->view = (struct fl_watch_view){.input = settings->spec->footage,
                                         .width = info->width,
                                         .height = info->height,
                                         .rate_hz = info->nominal_rate_hz,
                                         .wanted = settings->wanted,
                                         .why = "still",
                                         .on_hz = FL_UNKNOWN,
                                         .off_hz = FL_UNKNOWN,
                                         .last_deg_s = FL_UNKNOWN,
                                         .keep = settings->keep};
        d->view.degrees = fl_known(settings->spec->horizontal_fov_deg) ||
                          (settings->spec->trace && fl_known(settings->spec->degrees_per_count));
        d->view.degrees_how = settings->spec->trace ? "--fov or --degrees-per-count" : "--fov";
        answer(d);
        if (d->set.lines && d->set.standing)
            fl_watch_tell_session(d->set.lines, d->set.json, d->set.standing, &d->view);
        if (pthread_create(&d->thread, NULL, watch, d))
            code = fl_fail(err, FLINCH_ERR_OPEN, "%s: no thread to read it", d->view.input);
        d->running = !code;
    }
    if (code)
        fl_desk_free(&d);
    *out = d;
    return code;
}

bool fl_desk_view(struct fl_desk *d, struct fl_watch_view *out)
{
    struct fl_byte_source_state s = {0};
    const bool stream = fl_footage_stream_state(d->footage, &s);
    pthread_mutex_lock(&d->lock);
    *out = d->view;
    d->shown_usable = d->usable;
    out->usable = d->view.usable ? &d->shown_usable : NULL;
    memcpy(d->shown_clock, d->clock, sizeof d->clock);
    memcpy(d->shown_note, d->note, sizeof d->note);
    const bool goes_on = !d->ended;
    pthread_mutex_unlock(&d->lock);
    out->clock = d->shown_clock;
    out->note = *d->shown_note ? d->shown_note : NULL;
    out->waiting_s = stream && goes_on ? s.waiting_s : 0;
    if (out->waiting_s < d->waited_s)
        d->usual_wait_s = fmax(d->usual_wait_s, d->waited_s);
    d->waited_s = out->waiting_s;
    out->usual_wait_s = d->usual_wait_s;
    out->kept_mb = 1e-6 * (double)s.kept;
    snprintf(d->shown_keep_why, sizeof d->shown_keep_why, "%s", s.keep_why);
    out->keep_why = d->shown_keep_why;
    const double stalled = fmax(stalled_s, FL_WATCH_LONGER * d->usual_wait_s);
    if (d->set.lines && out->waiting_s >= stalled && !d->told_stall) {
        d->told_stall = true;
        fl_watch_tell_warning(d->set.lines, d->set.json, "stalled",
                              "nothing comes any more; is the recorder running?", out->time_s);
    } else if (out->waiting_s < stalled) {
        d->told_stall = false;
    }
    return goes_on;
}

void fl_desk_finish(struct fl_desk *d, bool *kept)
{
    struct fl_watch_view v;
    if (d->running)
        pthread_join(d->thread, NULL);
    d->running = false;
    fl_desk_view(d, &v);
    *kept = d->set.keep && !*v.keep_why;
    if (d->set.lines && *v.keep_why)
        fl_watch_tell_warning(d->set.lines, d->set.json, "keep", v.keep_why, v.time_s);
    if (d->set.lines)
        fl_watch_tell_end(d->set.lines, d->set.json, &v);
    fl_footage_close(&d->footage);
    fl_follow_trace_close(&d->trace);
}

void fl_desk_free(struct fl_desk **desk)
{
    struct fl_desk *d = *desk;
    if (!d)
        return;
    if (d->running)
        pthread_join(d->thread, NULL);
    fl_footage_close(&d->footage);
    fl_follow_trace_close(&d->trace);
    fl_live_free(&d->live);
    fl_next_speed_finish(&d->own);
    fl_next_speed_finish(&d->next);
    pthread_mutex_destroy(&d->lock);
    free(d);
    *desk = NULL;
}
