/* One take, from its files to its figures, in the order in which each thing is known:
 *
 *     decode → signals → evidence → states → clock → states again → take
 *
 * States are found twice because each side needs the other: the clock rests on the flips that the
 * picture shows, and the trace, once it has a clock, tells when the scene moves, so that more can
 * be seen. The second labelling is the take's; the figures of the first stand beside it. */
#include "run.h"

#include <math.h>
#include <string.h>

#include "align.h"
#include "base/units.h"
#include "look.h"
#include "maths/robust.h"
#include "recording.h"
#include "signal/bands.h"
#include "signal/change.h"
#include "signal/device.h"
#include "signal/interlace.h"
#include "signal/key_frames.h"
#include "signal/kinds.h"
#include "study/curve/without_trace.h"
#include "study/take/edge_frames.h"
#include "study/take/measure.h"
#include "study/take/picture_scale.h"
#include "study/take/quantity.h"
#include "study/take/recorder_rhythm.h"
#include "study/take/sensitivity_measure.h"
#include "trace/slate.h"

/* A still scene has a fast one on both sides: this much slower and on and off look alike. Working
 * pixels a frame; the ramp of the evidence is half way there. */
static const double visible_shift = 1.0;
/* Wider than half a capture frame at 120/s, delays from trace to picture say little. */
static const double wide_ms = 4;
/* Polls without a report, as a share: a choice; a mouse at half the rate that is said misses 0.5.
 */
static const double much_missed = 0.05;

static void fill_footage(struct fl_take *t, const struct fl_recording *rec,
                         const struct fl_seen *seen)
{
    const struct fl_signals *s = &rec->signals;
    t->width = rec->info.width;
    t->height = rec->info.height;
    t->frames = (long)s->n;
    t->capture_rate_hz = rec->timeline.rate_hz;
    t->duration_s = rec->duration_s;
    t->constant_rate = rec->timeline.constant;
    t->blank = rec->scan.blank;
    t->missing_frames = (long)rec->timeline.missing;
    t->noise = fl_quantile_f(fl_changes(s), s->n, 0.1); /* coding noise of the stillest frames */
    t->codec = fl_arena_strdup(t->arena, rec->info.codec);
    t->pixel_format = fl_arena_strdup(t->arena, rec->info.pixel_format);
    t->transfer = fl_arena_strdup(t->arena, rec->info.transfer);
    t->time_s = FL_ARENA(t->arena, double, s->n);
    memcpy(t->time_s, rec->timeline.time_s, s->n * sizeof *t->time_s);
    for (size_t i = 0; i < fl_signal_column_count(); i++) {
        t->signal[i] = FL_ARENA(t->arena, float, s->n);
        memcpy(t->signal[i], seen->columns[i], s->n * sizeof **t->signal);
    }
    double f = t->width / 2.0 / tan(t->spec.horizontal_fov_deg * FL_PI / 360);
    t->visible_floor_deg_s =
        atan(visible_shift * s->grid.factor / f) * 180 / FL_PI * t->capture_rate_hz;
}

static void note_recorder(struct fl_take *t, const struct fl_recording *rec,
                          const struct fl_seen *seen)
{
    struct fl_recorder *r = &t->recorder;
    fl_device_find(&r->device, &rec->signals, seen->band_changes, &rec->scan,
                   fl_recorder_longest_s(t));
    r->covered = seen->covered;
    r->bits_per_px = rec->frame_bits / ((double)t->width * t->height);
    if (rec->motion) {
        r->trace_start_s = rec->trace.start_s;
        r->trace_end_s = rec->trace.end_s;
        r->trace_report_hz = rec->trace.report_rate_hz;
        r->trace_gaps = (long)rec->trace.gaps;
        if (fl_known(rec->spec->report_rate_hz))
            r->polling = fl_polling_find(&rec->trace, rec->spec->report_rate_hz);
        const struct fl_slate slate = fl_slate_find(&rec->trace, 0);
        r->slate_s = slate.found ? slate.first_click_s : FL_UNKNOWN;
    }
}

static void warn_fields(struct fl_take *t, const struct fl_recording *rec)
{
    struct fl_interlace f;
    fl_interlace_find(&f, &rec->signals);
    if (f.interlaced)
        fl_take_warn(t, "interlaced",
                     "The odd rows of the pictures show another moment than the even ones (in %ld "
                     "frames, by %.2g of the motion from frame to frame), so the footage is "
                     "interlaced though its file does not say so; record progressively.",
                     f.frames, fabs(f.part));
}

static void warn_footage(struct fl_take *t, const struct fl_recording *rec)
{
    warn_fields(t, rec);
    if (rec->footage_warning)
        fl_take_warn(t, "footage", "%s", rec->footage_warning);
    if (rec->timeline.mended)
        fl_take_warn(t, "times_mended",
                     "%zu frames had no usable time and were placed by their neighbours.",
                     rec->timeline.mended);
    if (rec->scan.longest_gap_s > FL_SCAN_LONGEST_GAP_S)
        fl_take_warn(t, "times_jump",
                     "The footage's times jump by up to %.1f s; what lies between is unseen.",
                     rec->scan.longest_gap_s);
    for (int i = 0; i < rec->trace.n_notes; i++)
        fl_take_warn(t, rec->trace.note[i].code, "%s", rec->trace.note[i].text);
}

static void warn_clock(struct fl_take *t)
{
    const struct fl_clock *c = &t->clock;
    if (!strcmp(c->method, "sound"))
        return; /* told with the sound */
    if (!c->known)
        fl_take_warn(t, "clock_refused",
                     "The trace could not be lined up with the footage (%s); figures that need it "
                     "are left out.",
                     c->refused);
    else if (!fl_known(c->error_ms))
        fl_take_warn(t, "clock_wide",
                     "Too little motion is seen in a known state to take out how long the screen "
                     "holds each picture: the trace may lie some 10 ms off.");
    else if (c->error_ms > wide_ms)
        fl_take_warn(t, "clock_wide",
                     "The trace is lined up within %.0f ms only: too little motion is seen with "
                     "synthesis on.",
                     c->error_ms);
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
        {"ambiguous",
         "The take shows a single output rate, which may be on at half of it or off; film motion "
         "that trips the cut-off, or mark a control with 'synthesis: disabled'."},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        if (!strcmp(f->ambiguous, texts[i].reason))
            fl_take_warn(t, f->ambiguous, "%s", texts[i].text);
}

/* Counts of a missed poll come with the next report, so that short peaks are flattened. */
static void warn_polling(struct fl_take *t)
{
    const struct fl_polling *p = &t->recorder.polling;
    if (p->missed > much_missed)
        fl_take_warn(t, "polling",
                     "At %.0f %% of the polls of the moving mouse no report came, if it is polled "
                     "%g times a second as the session says: reports were lost, or it is polled "
                     "more slowly.",
                     100 * p->missed, t->spec.report_rate_hz);
    else if (fabs(p->found_hz / t->spec.report_rate_hz - 1) > much_missed)
        fl_take_warn(t, "polling",
                     "The moving mouse reports %.0f times a second; the session says %g.",
                     p->found_hz, t->spec.report_rate_hz);
}

/* A sound that was given is expected to tell; a footage's own may hold no click. */
static void warn_sound(struct fl_take *t)
{
    const struct fl_heard *h = &t->heard;
    if (h->join.code[0])
        fl_take_warn(t, h->join.code, "%s", h->join.says);
    else if (!h->clock.known && t->spec.sound)
        fl_take_warn(t, "sound_refused", "The sound gives no clock (%s).", h->clock.refused);
}

/* In working px: by the field of view that was given, else by what a count turns and shifts. */
static double focal_px(const struct fl_take *t, int factor)
{
    const struct fl_clock *c = &t->clock;
    double fov = t->spec.horizontal_fov_deg * FL_PI / 180,
           turn = t->spec.degrees_per_count * FL_PI / 180;
    if (fl_known(fov))
        return t->width / 2.0 / factor / tan(fov / 2);
    return c->known ? fabs(c->gain_x) / turn / factor : FL_UNKNOWN;
}

/* What the parts of the picture did. Half of the window is a few base periods: tears even out. */
static void view_parts(struct fl_take *t, const struct fl_recording *rec,
                       const struct fl_seen *seen)
{
    const double half_s = 0.05, focal = focal_px(t, rec->signals.grid.factor);
    if (!(focal > 0))
        return;
    t->view = FL_ARENA(t->arena, struct fl_view_motion, rec->signals.n + 1);
    fl_view_motion_find(t->view, &rec->signals, &seen->rows, t->time_s, half_s, focal);
}

/* What the stick makes of the picture, by the clock as it is settled. */
static void note_turn_curve(struct fl_take *t, const struct fl_recording *rec,
                            const struct fl_seen *seen)
{
    struct fl_turn_curve *c = &t->turn_curve;
    fl_align_turn_curve(c, FL_ARENA(t->arena, struct fl_turn_rate, FL_TURN_RATES), &t->clock, rec,
                        seen);
    for (size_t k = 0; k < c->n; k++)
        c->rate[k].deg_s = c->rate[k].speed * fl_picture_degrees(t, 1);
}

struct fl_take *fl_run_look(const struct fl_recording *rec, const struct fl_seen *seen,
                            struct fl_look *look, const struct fl_clock *clock,
                            const struct fl_heard *heard)
{
    struct fl_take *t = fl_take_new();
    t->spec = *rec->spec;
    t->torn = look->torn;
    fill_footage(t, rec, seen);
    t->states = look->states;
    t->flips = look->flips;
    t->clock = *clock;
    t->heard = *heard;
    fl_align_join(&t->clock, &t->heard, rec);
    look->states = (struct fl_states){0};
    look->flips = (struct fl_flips){0};
    warn_footage(t, rec);
    if (rec->motion)
        warn_clock(t);
    warn_sound(t);
    warn_states(t, &look->found);
    note_recorder(t, rec, seen);
    warn_polling(t);
    view_parts(t, rec, seen);
    fl_picture_scale_measure(t, &rec->signals);
    note_turn_curve(t, rec, seen);
    fl_sensitivity_measure(t, rec->motion, &rec->signals, fl_align_scan_s(rec));
    fl_sensitivity_warn(t);
    fl_measure_take(t, rec->motion, fl_changes(&rec->signals));
    return t;
}

/* The take as it is seen with the trace's help, beside what the picture alone says. */
static struct fl_take *take_of_both(const struct fl_recording *rec, const struct fl_seen *seen,
                                    struct fl_look *again, const struct fl_clock *settled_again,
                                    struct fl_look *first, const struct fl_clock *settled,
                                    const struct fl_heard *heard)
{
    struct fl_take *alone = fl_run_look(rec, seen, first, settled, heard);
    struct fl_take *t = fl_run_look(rec, seen, again, settled_again, heard);
    fl_without_trace_keep(t, alone);
    fl_without_trace_compare(t);
    fl_take_free(&alone);
    return t;
}

/* A stick turns by the game's own curve: with it the same clock is found more sharply. True if
 * there is one to go by. */
static bool learn_response(struct fl_recording *rec, const struct fl_clock *c,
                           const struct fl_seen *seen)
{
    struct fl_turn_rate rate[FL_TURN_RATES];
    struct fl_turn_curve curve;
    fl_align_turn_curve(&curve, rate, c, rec, seen);
    if (!curve.n)
        return false;
    const struct fl_stick_response r = fl_turn_curve_response(&curve);
    fl_motion_respond(rec->motion, &r);
    return true;
}

/* Signals → evidence → states → clock → states again → take. */
struct fl_take *fl_run_recording(struct fl_recording *rec, int threads,
                                 const struct fl_progress *progress)
{
    struct fl_seen seen;
    struct fl_look first, again = {0};
    struct fl_clock by_motion, settled, settled_again;
    struct fl_heard heard;
    fl_progress_report(progress, "states", 0.96);
    fl_seen_find(&seen, rec);
    fl_signals_drop(&rec->signals, &fl_bands_signal); /* the largest; rows speak for them now */
    fl_look_first(&first, rec, &seen, threads);
    fl_progress_report(progress, "clock", 0.98);
    fl_align_sound(&heard, rec);
    fl_align_response(rec, &heard, &seen);
    fl_align_motion(&by_motion, &heard, rec, &seen);
    if (learn_response(rec, &by_motion, &seen))
        fl_align_motion(&by_motion, &heard, rec, &seen);
    fl_align_flips(&settled, &by_motion, rec, &seen, &first);
    struct fl_take *t;
    if (fl_look_again(&again, &first, &settled, rec, &seen, threads)) {
        fl_align_flips(&settled_again, &by_motion, rec, &seen, &again);
        t = take_of_both(rec, &seen, &again, &settled_again, &first, &settled, &heard);
    } else {
        t = fl_run_look(rec, &seen, &first, &settled, &heard);
    }
    fl_edge_frames_find(t, &(struct fl_edge_source){seen.rows.bands, seen.rows.verdict, rec->pts_s,
                                                    fl_key_frames(&rec->signals)});
    fl_look_finish(&first);
    fl_look_finish(&again);
    fl_seen_finish(&seen);
    return t;
}

enum flinch_code fl_run_take(struct fl_take **out, const struct fl_take_spec *spec,
                             const struct fl_run_settings *settings,
                             const struct fl_progress *progress, struct fl_error *err)
{
    struct fl_recording rec;
    const struct fl_footage_settings how = {.threads = settings->threads,
                                            .stop_after_s = settings->stop_after_s,
                                            .follow = settings->follow,
                                            .patience_s = FL_RUN_PATIENCE_S,
                                            .decoder = settings->decoder};
    enum flinch_code code = fl_recording_read(&rec, spec, &how, progress, err);
    *out = code ? NULL : fl_run_recording(&rec, settings->threads, progress);
    if (!code)
        fl_progress_report(progress, "done", 1);
    fl_recording_finish(&rec);
    return code;
}
