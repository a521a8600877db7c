/* Findings: facts of a measured take against what can be told from it. */
#include "study/take/usable.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Common practice, no source: what a recording should offer before its figures mean much. */
enum { SHORT_S = 20, FEW_FRAMES = 30, LITTLE_MOTION_S = 5, FEW_FLICKS = 25 };
static const double most_faulty = 0.01; /* missing or repeated frames */
static const double slow_capture_hz = 59;
static const double few_bits_per_px = 0.03;
static const double most_fake =
    0.25; /* change at rest, of the change in motion: rows are told by their ratio */
static const double least_seen = 0.8;     /* of the moving time */
static const double least_covered = 0.99; /* of the footage, by the trace */
/* The capture of a base rate of 40/s, the slowest of interest, with rows that stand still. */
static const double slowest_capture_hz = 42.4;
/* Tears of an output this near to the capture rate, or to its half, stand still. */
static const double standing = 0.01;

const char *fl_finding_name(enum fl_finding_kind kind)
{
    static const char *const names[] = {"unusable", "limit", "advice", "note"};
    return names[kind];
}

const char *fl_told_name(enum fl_told told)
{
    static const char *const names[] = {"unknown", "no", "yes"};
    return names[told];
}

enum fl_finding_kind fl_usable_verdict(const struct fl_usable *u)
{
    return u->n && u->finding[0].kind < FL_ADVICE ? u->finding[0].kind : FL_ADVICE;
}

const char *fl_verdict_text(enum fl_finding_kind verdict)
{
    return verdict == FL_UNUSABLE ? "unusable"
           : verdict == FL_LIMIT  ? "usable with limits"
                                  : "usable";
}

/* What the judges share. */
struct judge {
    struct fl_usable *out;
    const struct fl_take *t;
    const struct fl_usable_facts *f;
    bool part;
};

static void found(struct judge *j, enum fl_finding_kind kind, const char *code, const char *fmt,
                  ...) __attribute__((format(printf, 4, 5)));

static void found(struct judge *j, enum fl_finding_kind kind, const char *code, const char *fmt,
                  ...)
{
    if (j->out->n == FL_FINDINGS_MAX)
        return;
    struct fl_finding *v = &j->out->finding[j->out->n++];
    va_list args;
    va_start(args, fmt);
    vsnprintf(v->found, sizeof v->found, fmt, args);
    va_end(args);
    v->kind = kind;
    v->code = code;
    v->change[0] = 0;
}

static void change(struct judge *j, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

/* What to do about the finding just added. */
static void change(struct judge *j, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    vsnprintf(j->out->finding[j->out->n - 1].change, sizeof j->out->finding[0].change, fmt, args);
    va_end(args);
}

/* Half of the rows' tiles are enough, but flips in the rest go by unseen. */
static void judge_left_out(struct judge *j)
{
    const double much = 0.35; /* of the picture: a held object and the usual counters take 0.2 */
    const struct fl_covered *o = &j->t->recorder.covered;
    if (!(o->share > much))
        return;
    found(j, FL_ADVICE, "left_out", "%.0f %% of the picture does not move with the scene",
          100 * o->share);
    change(j, "switch off the recorder's overlays and second pictures; crop bars away");
}

static double span_s(const struct fl_take *t, const char *reason)
{
    double sum = 0;
    for (size_t i = 0; i < t->states.n_spans; i++) {
        const struct fl_state_span *s = &t->states.span[i];
        sum += s->reason && !strcmp(s->reason, reason) ? s->end_s - s->start_s : 0;
    }
    return sum;
}

/* Change at rest against change in motion; NaN if either is unknown. */
static double fake_share(const struct fl_take *t, double change_at_rest)
{
    return change_at_rest / t->recorder.device.motion_change;
}

static bool encoded_poorly(const struct fl_take *t)
{
    return t->recorder.bits_per_px < few_bits_per_px ||
           fake_share(t, t->recorder.device.key_change) > most_fake;
}

/* As advice names it; empty where it is not known, as of a stream that still comes. */
static const char *bits_now(const struct fl_take *t, char *text, size_t room)
{
    *text = 0;
    if (fl_known(t->recorder.bits_per_px))
        snprintf(text, room, " (now %.2g bits a pixel)", t->recorder.bits_per_px);
    return text;
}

static void advise_contrast(struct judge *j)
{
    char now[40];
    if (encoded_poorly(j->t))
        change(j, "raise the bit rate%s, film a brighter scene rich in detail",
               bits_now(j->t, now, sizeof now));
    else
        change(j, "turn faster, in a brighter scene that is rich in detail");
}

static void judge_one_rate(struct judge *j)
{
    if (fl_known(j->f->changed_hz) && j->f->changed_hz < 0.97 * j->t->capture_rate_hz)
        found(j, FL_UNUSABLE, "ambiguous",
              "a single output rate, about %.0f/s, that may be on at half of it or off",
              j->f->changed_hz);
    else
        found(j, FL_UNUSABLE, "ambiguous",
              "a single output rate, that may be on at half of it or off");
    if (encoded_poorly(j->t))
        advise_contrast(j);
    else
        change(j, "flick fast enough to trip the cut-off; if synthesis was disabled here, say "
                  "--disabled");
}

static void judge_unseen(struct judge *j)
{
    const struct fl_take *t = j->t;
    if (span_s(t, "rates") > 0) {
        found(j, FL_UNUSABLE, "rates",
              "on and off both show a new picture in every row of every captured frame");
        change(j, "capture faster, or cap the game so that without synthesis it stays under %.0f/s",
               j->f->off_most_hz);
    } else if (span_s(t, "ambiguous") > 0) {
        judge_one_rate(j);
    } else {
        found(j, FL_UNUSABLE, "unseen", "it moves, but neither on nor off is seen anywhere");
        advise_contrast(j);
    }
}

static bool warned(const struct fl_take *t, const char *code)
{
    for (size_t i = 0; i < t->n_warnings; i++)
        if (!strcmp(t->warnings[i].code, code))
            return true;
    return false;
}

static void judge_states(struct judge *j)
{
    const struct fl_take *t = j->t;
    if (warned(t, "interlaced")) {
        found(j, FL_UNUSABLE, "interlaced",
              "odd and even rows show two moments: interlaced, though its file does not say so");
        change(j, "record progressively: set recorder and capture card to p, not i");
    }
    if (t->frames < FEW_FRAMES) {
        found(j, FL_UNUSABLE, "few_frames", "only %ld frames", t->frames);
        change(j, "record at least a minute");
    } else if (t->capture_rate_hz < slowest_capture_hz && !t->spec.capture_local) {
        found(j, FL_UNUSABLE, "slow_capture",
              "%.4g frames/s is slower than the games it should see", t->capture_rate_hz);
        change(j, "capture at 60 frames/s, better 120");
    } else if (j->f->moving_s <= 0) {
        found(j, FL_UNUSABLE, "no_motion", "nothing moves");
        change(j, "film fast camera turns, about %d flicks a take", FEW_FLICKS);
    } else if (t->exposure.on_s + t->exposure.off_s <= 0) {
        judge_unseen(j);
    }
}

static void judge_seen(struct judge *j)
{
    const struct fl_take *t = j->t;
    if (j->f->seen_share < least_seen) {
        found(j, FL_LIMIT, "seen_little", "on or off is seen in only %.0f %% of the moving time",
              100 * j->f->seen_share);
        advise_contrast(j);
    }
    if (t->exposure.on_s <= 0 && !t->spec.synthesis_disabled) {
        found(j, FL_LIMIT, "never_on", "synthesis is never seen on, so no lapse can be found");
        change(j, "switch synthesis on and rest between flicks; a control takes --disabled");
    } else if (t->exposure.off_s <= 0) {
        found(j, FL_LIMIT, "never_off",
              "synthesis is never seen off, so no trip speed can be given, only a bound");
        change(j, "flick faster than the cut-off of this game");
    }
}

static double near(double rate, double target)
{
    return fabs(rate / target - 1);
}

static void judge_tears(struct judge *j)
{
    const double on = j->f->on_output_hz, off = j->f->off_output_hz, c = j->t->capture_rate_hz;
    const double rate = near(on, c) < standing        ? on
                        : near(off, c / 2) < standing ? off
                                                      : FL_UNKNOWN;
    if (!j->t->torn || !fl_known(rate))
        return;
    found(j, FL_LIMIT, "standing_tears",
          "output at %.1f/s and capture at %.1f/s: tears stand still", rate, c);
    change(j, "move the game's frame cap by 3 %% or more");
}

static void judge_faults(struct judge *j)
{
    const struct fl_take *t = j->t;
    const struct fl_recorder *r = &t->recorder;
    double all = (double)(t->frames + t->missing_frames), compared = (double)r->device.compared;
    if ((double)t->missing_frames > most_faulty * all) {
        found(j, FL_LIMIT, "dropped", "%ld of %.0f frames are missing (%.1f %%)", t->missing_frames,
              all, 100 * (double)t->missing_frames / all);
        change(j, "record to a faster disk, at a smaller size or with a faster encoder");
    }
    if ((double)t->repeated_frames > most_faulty * compared) {
        found(j, FL_LIMIT, "repeated",
              "%ld of %.0f frames in motion repeat the one before (%.1f %%)", t->repeated_frames,
              compared, 100 * (double)t->repeated_frames / compared);
        change(
            j,
            "set the recorder to the capture device's own rate; relieve the machine that records");
    }
    if (r->jumps_told && (double)r->jumps > most_faulty * compared) {
        found(j, FL_LIMIT, "renumbered",
              "%ld times the picture moves twice as far as usual: a frame was lost and the "
              "times were closed up",
              r->jumps);
        change(j, "record with the device's own time stamps; use a faster disk or encoder");
    }
}

static void judge_coding(struct judge *j)
{
    const struct fl_device *d = &j->t->recorder.device;
    enum fl_finding_kind kind =
        j->f->seen_share < least_seen ? FL_LIMIT : FL_ADVICE; /* does it do harm? */
    if (fake_share(j->t, d->rest_change) > most_fake) {
        found(j, kind, "noise",
              "at rest the picture varies by %.1f levels, %.0f %% of what motion changes",
              d->rest_change, 100 * fake_share(j->t, d->rest_change));
        change(j, "switch film grain off, film a scene that keeps still, raise the bit rate");
    } else if (fake_share(j->t, d->key_change) > most_fake) {
        found(j, kind, "pumping",
              "key frames, every %.2g s, change the picture at rest by %.0f %% of what motion does",
              d->key_interval_s, 100 * fake_share(j->t, d->key_change));
        char now[40];
        change(j, "raise the bit rate%s or record at a constant quality; fewer key frames",
               bits_now(j->t, now, sizeof now));
    }
}

static void judge_trace(struct judge *j)
{
    const struct fl_take *t = j->t;
    if (!t->spec.trace)
        return;
    if (!t->clock.known) {
        found(j, FL_LIMIT, "clock_refused", "the trace does not line up: %.110s", t->clock.refused);
        change(j,
               "give the trace of this very take, logged over all of it, with at least 10 flicks; "
               "begin with a slate");
    } else if (j->f->trace_share < least_covered) {
        found(j, FL_LIMIT, "trace_short", "the trace covers %.0f %% of the footage",
              100 * j->f->trace_share);
        change(j, "start the trace before the recorder, stop it after");
    }
    if (t->recorder.trace_gaps > 0) {
        found(j, FL_LIMIT, "trace_gaps", "the trace is silent %ld times in the middle of motion",
              t->recorder.trace_gaps);
        change(j, "log the mouse's own reports, not the pointer's; relieve the machine under test");
    }
}

/* Then states were sought as if a card had scanned at even times. */
static bool has_uneven_times(const struct fl_take *t)
{
    return !t->constant_rate && !t->spec.capture_local;
}

static void judge_times(struct judge *j)
{
    const struct fl_take *t = j->t;
    if (!has_uneven_times(t))
        return;
    found(j, FL_LIMIT, "uneven_times", "frames come at uneven times, up to %.0f ms apart",
          1000 * j->f->longest_gap_s);
    change(j, "recorded on the machine under test? say --local; else record at a constant rate");
}

static void judge_amount(struct judge *j)
{
    const struct fl_take *t = j->t;
    if (t->capture_rate_hz < slow_capture_hz && !t->spec.capture_local) {
        found(j, FL_ADVICE, "slow_capture", "%.4g frames/s is slow", t->capture_rate_hz);
        change(j, "capture at 60 frames/s, better 120");
    }
    if (j->part)
        return;
    if (t->duration_s < SHORT_S) {
        found(j, FL_ADVICE, "short", "only %.1f s long", t->duration_s);
        change(j, "record two to three minutes a take");
    }
    if (j->f->moving_s < LITTLE_MOTION_S) {
        found(j, FL_ADVICE, "little_motion", "only %.1f s of fast motion", j->f->moving_s);
        change(j, "flick more often");
    } else if (t->n_flicks < FEW_FLICKS) {
        found(j, FL_ADVICE, "few_flicks", "only %zu flicks", t->n_flicks);
        change(j, "make at least %d flicks a take, from rest to rest", FEW_FLICKS);
    }
}

/* Warnings that a finding says already, or that are about the options of other commands. */
static bool said(const struct judge *j, const char *code)
{
    static const char *const others[] = {"still",
                                         "rates",
                                         "ambiguous",
                                         "nothing_seen",
                                         "no_camera_speed",
                                         "no_flicks",
                                         "no_flick_fitted",
                                         "flicks_without_degrees",
                                         "kernel_without_base_rate",
                                         "no_hand_speed"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (!strcmp(code, others[i]))
            return true;
    for (int i = 0; i < j->out->n; i++)
        if (!strcmp(code, j->out->finding[i].code))
            return true;
    return false;
}

static void pass_warnings(struct judge *j)
{
    for (size_t i = 0; i < j->t->n_warnings; i++)
        if (!said(j, j->t->warnings[i].code))
            found(j, FL_NOTE, j->t->warnings[i].code, "%s", j->t->warnings[i].text);
}

static void sort_by_kind(struct fl_usable *u)
{
    for (int i = 1; i < u->n; i++) {
        struct fl_finding v = u->finding[i];
        int k = i;
        for (; k > 0 && u->finding[k - 1].kind > v.kind; k--)
            u->finding[k] = u->finding[k - 1];
        u->finding[k] = v;
    }
}

void fl_usable_judge(struct fl_usable *out, const struct fl_take *t, bool part)
{
    *out = (struct fl_usable){0};
    fl_usable_facts(&out->facts, t);
    struct judge j = {out, t, &out->facts, part};
    judge_states(&j);
    bool usable = !out->n;
    judge_times(&j);
    if (usable && !has_uneven_times(t)) {
        judge_seen(&j);
        judge_tears(&j);
    }
    judge_faults(&j);
    judge_coding(&j);
    judge_left_out(&j);
    judge_trace(&j);
    if (usable)
        judge_amount(&j);
    pass_warnings(&j);
    sort_by_kind(out);
}
