#include "cli/advice.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Common practice, no source: what a recording should offer before its figures mean much. */
enum { SHORT_S = 20, FEW_FRAMES = 30, LITTLE_MOTION_S = 5 };
static const double most_dropped = 0.01, most_noise = 4, slow_capture_hz = 59;

const char *fl_finding_name(enum fl_finding kind)
{
    static const char *const names[] = {"unusable", "advice", "note"};
    return names[kind];
}

bool fl_unusable(const struct fl_advice *a)
{
    return a->n > 0 && a->item[0].kind == FL_UNUSABLE;
}

double fl_moving_s(const struct fl_take *t)
{
    double least = 1.5 * t->width / 512, sum = 0;
    if (!t->shift_x_px || !t->shift_y_px)
        return 0;
    for (long i = 1; i < t->frames; i++) {
        double gap = t->time_s[i] - t->time_s[i - 1];
        double periods = fmax(1, round(gap * t->capture_rate_hz)); /* fmax passes a NaN by */
        if (hypot(t->shift_x_px[i], t->shift_y_px[i]) >= least * periods)
            sum += gap;
    }
    return sum;
}

static void add(struct fl_advice *a, enum fl_finding kind, const char *code, const char *fmt, ...)
    __attribute__((format(printf, 4, 5)));

static void add(struct fl_advice *a, enum fl_finding kind, const char *code, const char *fmt, ...)
{
    if (a->n == FL_ADVICE_MAX)
        return;
    va_list args;
    va_start(args, fmt);
    vsnprintf(a->item[a->n].text, sizeof a->item[a->n].text, fmt, args);
    va_end(args);
    a->item[a->n].kind = kind;
    a->item[a->n++].code = code;
}

static const char *common_reason(const struct fl_take *t)
{
    const char *best = NULL;
    double most = 0;
    for (size_t i = 0; i < t->states.n_spans; i++) {
        const char *reason = t->states.span[i].reason;
        double sum = 0;
        for (size_t j = 0; reason && j < t->states.n_spans; j++)
            if (t->states.span[j].reason && !strcmp(reason, t->states.span[j].reason))
                sum += t->states.span[j].end_s - t->states.span[j].start_s;
        if (sum > most)
            most = sum, best = reason;
    }
    return best;
}

static void judge_states(struct fl_advice *a, const struct fl_take *t, double moving_s)
{
    const char *reason = common_reason(t);
    if (t->frames < FEW_FRAMES)
        add(a, FL_UNUSABLE, "few_frames", "only %ld frames; record at least a minute", t->frames);
    else if (moving_s <= 0)
        add(a, FL_UNUSABLE, "no_motion", "nothing moves; film fast camera motion, about 25 flicks a take");
    else if (t->exposure.on_s + t->exposure.off_s <= 0)
        add(a, FL_UNUSABLE, "unseen", "on and off cannot be told apart anywhere (%s); %s",
            reason ? reason : "no reason known",
            reason && !strcmp(reason, "rates")
                ? "capture at a higher rate, or cap the frame rate lower"
                : "move faster, in a brighter and richer scene");
}

static void judge_capture(struct fl_advice *a, const struct fl_take *t)
{
    double all = (double)(t->frames + t->missing_frames);
    if ((double)t->missing_frames > most_dropped * all)
        add(a, FL_ADVICE, "dropped",
            "%ld of %.0f frames are missing; use a faster disk or a lower bit rate",
            t->missing_frames, all);
    if ((double)t->repeated_frames > most_dropped * all)
        add(a, FL_ADVICE, "repeated",
            "%ld frames are repeated; record at the rate of the capture device",
            t->repeated_frames);
    if (t->capture_rate_hz < slow_capture_hz)
        add(a, FL_ADVICE, "slow_capture", "%.1f frames/s is slow; capture at 60/s, better 120/s",
            t->capture_rate_hz);
    if (t->noise > most_noise)
        add(a, FL_ADVICE, "noise", "still picture parts vary by %.1f levels; raise the bit rate",
            t->noise);
}

void fl_advise(struct fl_advice *out, const struct fl_take *t)
{
    *out = (struct fl_advice){0};
    double moving_s = fl_moving_s(t);
    judge_states(out, t, moving_s);
    judge_capture(out, t);
    if (!fl_unusable(out) && moving_s < LITTLE_MOTION_S)
        add(out, FL_ADVICE, "little_motion", "only %.1f s of motion; flick more often", moving_s);
    if (!fl_unusable(out) && t->duration_s < SHORT_S)
        add(out, FL_ADVICE, "short", "only %.1f s long; record at least a minute", t->duration_s);
    /* Without a picture that can be used the rest only follows. */
    for (size_t i = 0; i < t->n_warnings && !fl_unusable(out); i++)
        add(out, FL_NOTE, t->warnings[i].code, "%s", t->warnings[i].text);
}
