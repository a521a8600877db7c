#include "run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "align.h"
#include "base/units.h"
#include "clock/clock.h"
#include "maths/robust.h"
#include "media/footage.h"
#include "media/scan.h"
#include "media/timeline.h"
#include "signal/device.h"
#include "signal/shift.h"
#include "signal/signals.h"
#include "state/evidence.h"
#include "state/label.h"
#include "state/motion_prior.h"
#include "state/rates.h"
#include "state/witness.h"
#include "study/curve/without_trace.h"
#include "study/take/edge_frames.h"
#include "study/take/measure.h"
#include "study/take/recorder_rhythm.h"
#include "trace/motion.h"
#include "trace/read_trace.h"
#include "trace/trace.h"

/* A still scene has a fast one on both sides: this much slower and on and off look alike. Working
 * pixels a frame; the ramp of the evidence is half way there. */
static const double visible_shift = 1.0;
/* Rows follow the scene to an eighth of its shift, their mean to about this much: working px. */
static const double grain_shift = 0.15;

/* What one take holds while it is measured. */
struct job {
    const struct fl_take_spec *spec;
    struct fl_footage *footage;
    struct fl_footage_info info;
    struct fl_signals signals;
    struct fl_rows rows;
    struct fl_timeline timeline;
    struct fl_trace trace;
    struct fl_motion *motion;
    struct fl_scan scan;
    double *pts_s; /* a frame: the container's own times */
    struct fl_rates_found found;
    double period_s, duration_s;
    int threads;
};

static void job_close(struct job *j)
{
    fl_footage_close(&j->footage);
    fl_signals_free(&j->signals);
    fl_rows_finish(&j->rows);
    fl_timeline_finish(&j->timeline);
    fl_motion_free(&j->motion);
    fl_trace_finish(&j->trace);
    free(j->pts_s);
    fl_scan_finish(&j->scan);
}

static enum flinch_code read_trace(struct job *j, struct fl_error *err)
{
    if (!j->spec->trace)
        return FLINCH_OK;
    enum flinch_code code = fl_trace_read(&j->trace, j->spec->trace, err);
    if (!code)
        j->motion = fl_motion_new(&j->trace, 0.02);
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

/* Decodes all frames into signals and their presentation times. */
static enum flinch_code read_footage(struct job *j, const struct fl_run_settings *set,
                                     const struct fl_progress *progress, struct fl_error *err)
{
    struct fl_footage_settings settings = {.threads = set->threads,
                                           .stop_after_s = set->stop_after_s};
    enum flinch_code code = fl_footage_open(&j->footage, j->spec->footage, &settings, err);
    if (code)
        return code;
    j->info = *fl_footage_info(j->footage);
    struct fl_signal_stream *stream = fl_signals_open(j->info.width, j->info.height);
    double *pts = NULL, expected = expected_frames(&j->info, set->stop_after_s);
    size_t n = 0, cap = 0;
    struct fl_frame frame;
    bool got;
    while (!(code = fl_footage_next(j->footage, &frame, &got, err)) && got) {
        fl_signals_push(stream, frame.luma, frame.stride, frame.key);
        FL_PUSH(pts, n, cap, frame.pts_s);
        if (n % 16 == 0) {
            fl_progress_report(progress, "decoding", fmin(0.95, 0.95 * (double)n / expected));
            if (fl_progress_stop(progress)) {
                code = fl_fail(err, FLINCH_ERR_INTERRUPTED, "%s: stopped", j->spec->footage);
                break;
            }
        }
    }
    fl_signals_finish(&stream, &j->signals);
    if (!code && n < 2)
        code = fl_fail(err, FLINCH_ERR_EMPTY, "%s: %s; record at least a few seconds",
                       j->spec->footage,
                       n ? "holds a single frame" : "holds no frame that can be decoded");
    if (!code)
        code = fl_timeline_fit(&j->timeline, pts, n, j->info.nominal_rate_hz, j->info.tick_s, err);
    j->pts_s = pts;
    return code;
}

static void place_scan(struct job *j)
{
    const struct fl_timeline *t = &j->timeline;
    j->period_s = 1 / t->rate_hz;
    j->duration_s = t->time_s[t->n - 1] + j->period_s;
    fl_scan_init(&j->scan, t, FL_USUAL_BLANK);
}

/* Frames outside the spans in use say nothing. */
static void blank_unused(struct job *j)
{
    struct fl_signals *s = &j->signals;
    size_t tiles = (size_t)(s->grid.bands * s->grid.tiles);
    for (size_t i = 0; i < s->n; i++) {
        if (fl_take_spec_uses(j->spec, j->timeline.time_s[i]))
            continue;
        s->shift_x[i] = s->shift_y[i] = s->quality[i] = s->whole_quality[i] = 0;
        s->change[i] = NAN;
        for (size_t k = 0; k < tiles; k++)
            s->tiles[i * tiles + k].moved = FL_COST_NONE;
    }
}

static void fill_footage(struct fl_take *t, const struct job *j, const struct fl_evidence *e)
{
    const struct fl_signals *s = &j->signals;
    t->width = j->info.width;
    t->height = j->info.height;
    t->frames = (long)s->n;
    t->capture_rate_hz = j->timeline.rate_hz;
    t->duration_s = j->duration_s;
    t->constant_rate = j->timeline.constant;
    t->blank = j->scan.blank;
    t->missing_frames = (long)j->timeline.missing;
    t->torn = e->mixed >= 0.1;
    t->noise = fl_quantile_f(s->change, s->n, 0.1); /* coding noise of the stillest frames */
    t->codec = fl_arena_strdup(t->arena, j->info.codec);
    t->pixel_format = fl_arena_strdup(t->arena, j->info.pixel_format);
    t->transfer = fl_arena_strdup(t->arena, j->info.transfer);
    t->time_s = FL_ARENA(t->arena, double, s->n);
    t->shift_x_px = FL_ARENA(t->arena, float, s->n);
    t->shift_y_px = FL_ARENA(t->arena, float, s->n);
    t->shift_quality = FL_ARENA(t->arena, float, s->n);
    memcpy(t->time_s, j->timeline.time_s, s->n * sizeof *t->time_s);
    fl_shift_combine(s, &j->rows, t->shift_x_px, t->shift_y_px, t->shift_quality);
    double f = t->width / 2.0 / tan(t->spec.horizontal_fov_deg * FL_PI / 360);
    t->visible_floor_deg_s =
        atan(visible_shift * s->grid.factor / f) * 180 / FL_PI * t->capture_rate_hz;
}

/* A local recorder keeps each output frame with its own time; frames at even times have lost it. */
static bool local_with_times(const struct job *j)
{
    return j->spec->capture_local && !j->timeline.constant;
}

static void fit_clock(struct fl_take *t, const struct job *j)
{
    struct fl_clock *c = &t->clock;
    *c = (struct fl_clock){.off_minus_on_ms = FL_UNKNOWN,
                           .off_minus_on_low_ms = FL_UNKNOWN,
                           .off_minus_on_high_ms = FL_UNKNOWN,
                           .error_ms = FL_UNKNOWN};
    if (!j->motion) {
        snprintf(c->refused, sizeof c->refused, "no trace");
        return;
    }
    const struct fl_align_settings set = {j->scan.blank, local_with_times(j),
                                          grain_shift * j->signals.grid.factor};
    fl_align(t, &j->trace, j->motion, &set);
}

static void note_recorder(struct fl_take *t, const struct job *j)
{
    struct fl_recorder *r = &t->recorder;
    fl_device_find(&r->device, &j->signals, &j->scan, fl_recorder_longest_s(t));
    r->bits_per_px = fl_footage_frame_bits(j->footage) / ((double)t->width * t->height);
    if (j->motion) {
        r->trace_start_s = j->trace.start_s;
        r->trace_end_s = j->trace.end_s;
        r->trace_report_hz = j->trace.report_rate_hz;
        r->trace_gaps = (long)j->trace.gaps;
    }
}

static void warn_states(struct fl_take *t, const struct fl_rates_found *f)
{
    if (!f->ambiguous)
        return;
    static const struct {
        const char *reason, *text;
    } texts[] = {
        {"still", "The picture never moves fast enough to tell on from off; film faster turns."},
        {"rates", "Output changes in every row of every captured frame, whether on or off; capture "
                  "at a higher rate or lower the base rate."},
        {"factor", "More than one picture seems to be synthesised for each rendered one, which is "
                   "not measured yet."},
        {"ambiguous",
         "The take shows a single output rate, which may be on at half of it or off; film motion "
         "that trips the cut-off, or mark a control with 'synthesis: disabled'."},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        if (!strcmp(f->ambiguous, texts[i].reason))
            fl_take_warn(t, f->ambiguous, "%s", texts[i].text);
}

static void warn_footage(struct fl_take *t, const struct job *j)
{
    const char *reading = fl_footage_warning(j->footage);
    if (reading)
        fl_take_warn(t, "footage", "%s", reading);
    if (j->timeline.mended)
        fl_take_warn(t, "times_mended",
                     "%zu frames had no usable time and were placed by their neighbours.",
                     j->timeline.mended);
    if (j->trace.backward)
        fl_take_warn(t, "trace_backward", "%zu trace rows ran backward in time and were left out.",
                     j->trace.backward);
    if (j->trace.cut)
        fl_take_warn(t, "trace_cut", "The last line of the trace is unfinished and was left out.");
    if (j->trace.gaps)
        fl_take_warn(t, "trace_gaps",
                     "The trace is silent %zu times for over 0.1 s in the middle of motion.",
                     j->trace.gaps);
}

static void gather(struct fl_evidence *e, const struct job *j)
{
    if (local_with_times(j))
        fl_evidence_gather_local(e, &j->rows, j->timeline.time_s);
    else
        fl_evidence_gather(e, &j->rows, &j->scan);
}

static void label(struct fl_take *t, struct job *j, const struct fl_evidence *e)
{
    const struct fl_rates_given given = {j->period_s, t->spec.base_rate_hz,
                                         t->spec.synthesis_disabled, 0, j->threads};
    fl_rates_find(&j->found, e, &given);
    fl_witness_resolve(&j->found, e, &j->rows, &given);
    struct fl_label_settings settings = {.duration_s = j->duration_s,
                                         .native_height = t->height,
                                         .use = j->spec->use,
                                         .n_use = j->spec->n_use,
                                         .threads = j->threads};
    fl_label(&t->states, &t->flips, e, &j->rows, &j->found, &j->scan, &settings);
}

/* States from the picture alone. */
static void label_states(struct fl_take *t, struct job *j)
{
    struct fl_evidence e;
    fl_rows_judge(&j->rows, &j->signals, j->period_s);
    gather(&e, j);
    fill_footage(t, j, &e);
    warn_footage(t, j);
    label(t, j, &e);
    fl_evidence_finish(&e);
}

/* When the scene moves, by the trace; false where it cannot help. A local recording with true times
 * shows its flips whether anything moves or not. */
static bool know_motion(struct fl_motion_prior *k, const struct fl_take *t, const struct job *j)
{
    double base = fl_known(t->states.base_rate_off_hz) ? t->states.base_rate_off_hz
                                                       : t->states.base_rate_on_hz;
    const struct fl_motion_prior_settings set = {j->signals.grid.factor, j->trace.start_s,
                                                 j->trace.end_s,
                                                 fl_known(base) ? 1 / base : 1 / FL_BASE_LEAST_HZ};
    return j->motion && !local_with_times(j) &&
           fl_motion_prior_find(k, &j->rows, &j->scan, &t->clock, j->motion, &set);
}

/* States once more, now that the trace tells when rows that stand still say something; then the
 * clock on these. The picture's own answer is kept beside. */
static void look_again(struct fl_take *t, struct job *j, size_t warned)
{
    struct fl_motion_prior known;
    struct fl_evidence e;
    if (!know_motion(&known, t, j))
        return;
    fl_measure_take(t, j->motion, j->signals.change);
    fl_without_trace_keep(t);
    t->n_warnings = warned; /* what was said of the first pass */
    struct fl_states before = t->states;
    free(t->flips.v);
    fl_motion_prior_apply(&known, &j->rows);
    gather(&e, j);
    label(t, j, &e);
    fl_without_trace_mark(&t->states, &before);
    fit_clock(t, j);
    fl_states_finish(&before);
    fl_evidence_finish(&e);
    fl_motion_prior_finish(&known);
}

enum flinch_code fl_run_take(struct fl_take **out, const struct fl_take_spec *spec,
                             const struct fl_run_settings *settings,
                             const struct fl_progress *progress, struct fl_error *err)
{
    struct job j = {.spec = spec, .threads = settings->threads};
    *out = NULL;
    enum flinch_code code = read_trace(&j, err);
    if (!code)
        code = read_footage(&j, settings, progress, err);
    if (!code) {
        struct fl_take *t = fl_take_new();
        t->spec = *spec;
        place_scan(&j);
        blank_unused(&j);
        fl_progress_report(progress, "states", 0.96);
        label_states(t, &j);
        fl_progress_report(progress, "clock", 0.98);
        size_t warned = t->n_warnings;
        fit_clock(t, &j);
        look_again(t, &j, warned);
        warn_states(t, &j.found);
        note_recorder(t, &j);
        fl_measure_take(t, j.motion, j.signals.change);
        fl_without_trace_compare(t);
        fl_edge_frames_find(
            t, &(struct fl_edge_source){j.rows.bands, j.rows.verdict, j.pts_s, j.signals.key});
        fl_progress_report(progress, "done", 1);
        *out = t;
    }
    job_close(&j);
    return code;
}
