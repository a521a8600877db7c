/* What a take shows of its own recording. */
#include "study/take/usable.h"

#include <stdlib.h>
#include <string.h>

#include "clock/clock.h"
#include "maths/robust.h"
#include "study/take/picture_scale.h"

/* Off shows rows that stand still only if its output is this much slower than the capture. */
#define STILL_ROWS 1.06
#define FAST (1.5 / 512) /* of the width a capture period (DESIGN: targets) */

/* Motion of the picture in a run of frames, and how long it took where it is known. */
struct sum {
    double x, y, s;
};

static void add_step(struct sum *sum, const struct fl_take *t, long i, double sign)
{
    struct fl_take_shift shift = fl_take_shift(t);
    if (i == 0 || isnan(shift.x_px[i]))
        return;
    sum->x += sign * shift.x_px[i];
    sum->y += sign * shift.y_px[i];
    sum->s += sign * (t->time_s[i] - t->time_s[i - 1]);
}

/* Speed of the picture, native px a capture period: mean over about 50 ms, two of the slowest base
 * periods, as with synthesis off some frames do not move at all. NaN where nothing tells. */
static double *smooth_speed(const struct fl_take *t)
{
    const double half_s = 0.025;
    double *speed = FL_NEW(double, (size_t)t->frames);
    struct sum sum = {0};
    for (long i = 0, from = 0, to = 0; i < t->frames; i++) {
        while (to < t->frames && t->time_s[to] <= t->time_s[i] + half_s)
            add_step(&sum, t, to++, 1);
        while (t->time_s[from] < t->time_s[i] - half_s)
            add_step(&sum, t, from++, -1);
        speed[i] = sum.s > 1e-6 ? hypot(sum.x, sum.y) / (sum.s * t->capture_rate_hz) : FL_UNKNOWN;
    }
    return speed;
}

static double frame_s(const struct fl_take *t, long i)
{
    return (i + 1 < t->frames ? t->time_s[i + 1] : t->duration_s) - t->time_s[i];
}

static bool seen(const struct fl_take *t, long i)
{
    return (size_t)i < t->states.n_frames && t->states.frame_state[i] != FL_STATE_UNSEEN;
}

/* Slowest of the speeds, in steps of a quarter octave, from which up at least half of the time of
 * every step that holds enough is seen. */
static double told_from(const struct fl_take *t, const double *speed)
{
    enum { STEPS = 48 };
    const double lowest_px = 0.1, enough_s = 0.1;
    double all[STEPS] = {0}, told[STEPS] = {0};
    for (long i = 0; i < t->frames; i++) {
        double step = 4 * log2(speed[i] / lowest_px);
        if (!(step >= 0))
            continue;
        int k = step < STEPS - 1 ? (int)step : STEPS - 1;
        all[k] += frame_s(t, i);
        told[k] += seen(t, i) ? frame_s(t, i) : 0;
    }
    int lowest = STEPS;
    for (int k = STEPS - 1; k >= 0; k--) {
        if (all[k] < enough_s)
            continue;
        if (told[k] < 0.5 * all[k])
            break;
        lowest = k;
    }
    return lowest < STEPS ? lowest_px * exp2(lowest / 4.0) : FL_UNKNOWN;
}

static void find_motion(struct fl_usable_facts *f, const struct fl_take *t)
{
    double *speed = smooth_speed(t), told = 0;
    for (long i = 0; i < t->frames; i++) {
        if (!(speed[i] >= FAST * t->width))
            continue;
        f->moving_s += frame_s(t, i);
        told += seen(t, i) ? frame_s(t, i) : 0;
    }
    f->seen_share = f->moving_s > 0 ? told / f->moving_s : FL_UNKNOWN;
    f->told_from_px = told_from(t, speed);
    f->told_from_deg_s = fl_shift_degrees(f->told_from_px, t->width, t->spec.horizontal_fov_deg) *
                         t->capture_rate_hz;
    free(speed);
}

static void find_rows(struct fl_usable_facts *f, const struct fl_take *t)
{
    double sum = 0;
    long telling = 0, torn = 0;
    for (size_t i = 0; t->states.changed_share && i < t->states.n_frames; i++) {
        float share = t->states.changed_share[i];
        if (isnan(share))
            continue;
        telling++;
        sum += share;
        torn += share > 0.08f && share < 0.92f;
    }
    f->changed_hz = telling ? sum / (double)telling * t->capture_rate_hz : FL_UNKNOWN;
    f->torn_share = telling ? (double)torn / (double)telling : FL_UNKNOWN;
}

static bool has_reason(const struct fl_take *t, const char *reason)
{
    for (size_t i = 0; i < t->states.n_spans; i++)
        if (t->states.span[i].reason && !strcmp(t->states.span[i].reason, reason))
            return true;
    return false;
}

/* With one state seen, the other is expected at half or twice its output. */
static enum fl_told tell(const struct fl_usable_facts *f, const struct fl_take *t)
{
    bool on = t->exposure.on_s > 0, off = t->exposure.off_s > 0;
    double expected = fl_known(f->off_output_hz) ? f->off_output_hz : f->on_output_hz / 2;
    if (on && off)
        return FL_TOLD_YES;
    if (has_reason(t, "rates"))
        return FL_TOLD_NO;
    if (!fl_known(expected))
        return FL_TOLD_UNKNOWN;
    return t->spec.capture_local || expected <= f->off_most_hz ? FL_TOLD_YES : FL_TOLD_NO;
}

static void find_rates(struct fl_usable_facts *f, const struct fl_take *t)
{
    f->on_output_hz = t->exposure.on_s > 0 ? fl_states_on_output_hz(&t->states) : FL_UNKNOWN;
    f->off_output_hz = t->exposure.off_s > 0 ? t->states.base_rate_off_hz : FL_UNKNOWN;
    f->on_above_capture =
        t->exposure.on_s > 0 && !fl_known(f->on_output_hz) && !t->spec.capture_local;
    f->off_most_hz = t->capture_rate_hz / STILL_ROWS;
    f->told = tell(f, t);
}

static void find_trace(struct fl_usable_facts *f, const struct fl_take *t)
{
    const struct fl_recorder *r = &t->recorder;
    double *peak = FL_NEW(double, t->n_flicks + 1);
    for (size_t i = 0; i < t->n_flicks; i++)
        peak[i] = t->flicks[i].peak[FL_HAND_SPEED];
    f->hand_most_cm_s = fl_quantile(peak, t->n_flicks, 0.99);
    free(peak);
    f->trace_share = FL_UNKNOWN;
    if (!t->clock.known || !fl_known(r->trace_start_s) || !(t->duration_s > 0))
        return;
    double from = fmax(0, fl_clock_footage_time(&t->clock, r->trace_start_s));
    double to = fmin(t->duration_s, fl_clock_footage_time(&t->clock, r->trace_end_s));
    f->trace_share = fmax(0, to - from) / t->duration_s;
}

void fl_usable_facts(struct fl_usable_facts *f, const struct fl_take *t)
{
    *f = (struct fl_usable_facts){0};
    for (long i = 0; i + 1 < t->frames; i++)
        f->longest_gap_s = fmax(f->longest_gap_s, t->time_s[i + 1] - t->time_s[i]);
    find_motion(f, t);
    find_rows(f, t);
    find_rates(f, t);
    find_trace(f, t);
}
