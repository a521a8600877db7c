/* Footage, trace and sound of one take → a recording in memory.
 *
 * Pictures pass through once and are not kept: a table of signals stands for them, so that two
 * hours of footage need no more memory while they are decoded than two minutes. */
#include "recording.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/stream.h"
#include "clock/hear.h"
#include "trace/read_trace.h"

/* Counts are spread over the time since the report before, up to this: a hand that rested has moved
 * only just before its first report. */
static const double most_spread_s = 0.02;
/* Share of the work that is decoding, as progress counts it. */
static const double decoding_share = 0.95;

static enum flinch_code read_trace(struct fl_recording *r, struct fl_error *err)
{
    if (!r->spec->trace)
        return FLINCH_OK;
    enum flinch_code code =
        fl_trace_read_as(&r->trace, r->spec->trace, r->spec->trace_columns, err);
    if (!code)
        r->motion = fl_motion_new(&r->trace, most_spread_s);
    return code;
}

static double expected_frames(const struct fl_footage_info *info, double stop_after_s)
{
    double n = (double)info->frames_hint;
    if (n <= 0)
        n = info->duration_hint_s * info->nominal_rate_hz;
    if (stop_after_s > 0 && info->nominal_rate_hz > 0)
        n = fmin(n > 0 ? n : INFINITY, stop_after_s * info->nominal_rate_hz);
    return n > 0 ? n : 10000;
}

/* Now and then; false to stop. */
static bool report(const struct fl_progress *progress, size_t frame, double expected)
{
    if (frame % 16)
        return true;
    fl_progress_report(progress, "decoding",
                       fmin(decoding_share, decoding_share * (double)frame / expected));
    return !fl_progress_stop(progress);
}

/* All frames of the footage, in order, into the stream; *n of them, whose times are kept. */
static enum flinch_code decode(struct fl_recording *r, struct fl_footage *footage,
                               struct fl_signal_stream *stream, double expected,
                               const struct fl_progress *progress, size_t *n, struct fl_error *err)
{
    enum flinch_code code;
    struct fl_frame frame;
    size_t cap = 0;
    bool got;
    *n = 0;
    while (!(code = fl_footage_next(footage, &frame, &got, err)) && got) {
        fl_signals_push(stream, frame.luma, frame.stride, frame.key);
        FL_PUSH(r->pts_s, *n, cap, frame.pts_s);
        if (!report(progress, *n, expected))
            return fl_fail(err, FLINCH_ERR_INTERRUPTED, "%s: stopped", r->spec->footage);
    }
    const char *warning = fl_footage_warning(footage);
    r->footage_warning = fl_strdup(warning);
    r->frame_bits = fl_footage_frame_bits(footage);
    return code;
}

enum flinch_code fl_recording_place(struct fl_recording *r, struct fl_error *err)
{
    const size_t n = r->signals.n;
    if (n < 2)
        return fl_fail(err, FLINCH_ERR_EMPTY, "%s: %s; record at least a few seconds",
                       r->spec->footage,
                       n ? "holds a single frame" : "holds no frame that can be decoded");
    enum flinch_code code =
        fl_timeline_fit(&r->timeline, r->pts_s, n, r->info.nominal_rate_hz, r->info.tick_s, err);
    if (code) {
        fl_fail_in(err, r->spec->footage);
        return code;
    }
    fl_scan_init(&r->scan, &r->timeline, FL_USUAL_BLANK);
    r->duration_s = r->timeline.time_s[n - 1] + r->scan.period_s;
    r->at_flips = r->spec->capture_local && !r->timeline.constant;
    return FLINCH_OK;
}

static enum flinch_code read_footage(struct fl_recording *r, const struct fl_footage_settings *how,
                                     const struct fl_progress *progress, struct fl_error *err)
{
    struct fl_footage *footage;
    enum flinch_code code = fl_footage_open(&footage, r->spec->footage, how, err);
    if (code)
        return code;
    size_t n;
    r->info = *fl_footage_info(footage);
    if (fl_footage_fallback(footage))
        fl_progress_note(progress, fl_footage_fallback(footage));
    struct fl_signal_stream *stream = fl_signals_open(r->info.width, r->info.height);
    code =
        decode(r, footage, stream, expected_frames(&r->info, how->stop_after_s), progress, &n, err);
    fl_signals_finish(&stream, &r->signals);
    fl_footage_close(&footage);
    return code ? code : fl_recording_place(r, err);
}

/* Sound is gone through once more after the pictures, where clicks in it can line up a trace. Of a
 * footage's own, which may be anything, what cannot be decoded is no error. */
static enum flinch_code read_sound(struct fl_recording *r, const struct fl_footage_settings *how,
                                   const struct fl_progress *progress, struct fl_error *err)
{
    const char *own = r->spec->sound ? NULL : r->spec->footage;
    if (own && fl_byte_source_is_stream(own))
        return FLINCH_OK;
    const double origin_s = own && fl_known(r->pts_s[0]) ? r->pts_s[0] : 0;
    if (!r->trace.has_buttons)
        return FLINCH_OK;
    fl_progress_report(progress, "sound", decoding_share);
    const enum flinch_code code =
        fl_hear(&r->sound, own ? own : r->spec->sound,
                &(struct fl_hear_settings){origin_s, own ? how->stop_after_s : 0}, progress, err);
    return own && code != FLINCH_ERR_INTERRUPTED ? FLINCH_OK : code;
}

/* A trace that comes through a pipe has to be taken from it while the footage comes. */
struct trace_job {
    struct fl_recording *r;
    enum flinch_code code;
    struct fl_error err;
};

static void *trace_job(void *arg)
{
    struct trace_job *j = arg;
    j->code = read_trace(j->r, &j->err);
    return NULL;
}

static enum flinch_code read_side_by_side(struct fl_recording *r,
                                          const struct fl_footage_settings *how,
                                          const struct fl_progress *progress, struct fl_error *err)
{
    struct trace_job job = {.r = r};
    pthread_t thread;
    if (pthread_create(&thread, NULL, trace_job, &job))
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: no thread for the trace", r->spec->trace);
    const enum flinch_code code = read_footage(r, how, progress, err);
    pthread_join(thread, NULL);
    if (!code && job.code && err)
        *err = job.err;
    return code ? code : job.code;
}

/* The trace of footage that still grows grows with it. */
static enum flinch_code read_both(struct fl_recording *r, const struct fl_footage_settings *how,
                                  const struct fl_progress *progress, struct fl_error *err)
{
    if (r->spec->trace && fl_byte_source_is_stream(r->spec->trace))
        return read_side_by_side(r, how, progress, err);
    enum flinch_code code = how->follow ? FLINCH_OK : read_trace(r, err);
    if (!code)
        code = read_footage(r, how, progress, err);
    return code || !how->follow ? code : read_trace(r, err);
}

/* Frames outside the spans in use say nothing. */
static void blank_unused(struct fl_recording *r)
{
    for (size_t i = 0; i < r->signals.n; i++)
        if (!fl_take_spec_uses(r->spec, r->timeline.time_s[i]))
            fl_signals_blank(&r->signals, i);
}

enum flinch_code fl_recording_read(struct fl_recording *out, const struct fl_take_spec *spec,
                                   const struct fl_footage_settings *how,
                                   const struct fl_progress *progress, struct fl_error *err)
{
    *out = (struct fl_recording){.spec = spec, .frame_bits = FL_UNKNOWN};
    enum flinch_code code = read_both(out, how, progress, err);
    if (!code)
        code = read_sound(out, how, progress, err);
    if (!code)
        blank_unused(out);
    return code;
}

void fl_recording_finish(struct fl_recording *r)
{
    fl_signals_free(&r->signals);
    fl_scan_finish(&r->scan);
    fl_timeline_finish(&r->timeline);
    fl_motion_free(&r->motion);
    fl_trace_finish(&r->trace);
    fl_click_energy_free(&r->sound);
    free(r->pts_s);
    free(r->footage_warning);
    *r = (struct fl_recording){0};
}
