/* What repeats and jumps the output's own rhythm explains; the rest is the recorder's. */
#include "study/take/recorder_rhythm.h"

#include <stdlib.h>

#include "maths/robust.h"

/* Untorn output that keeps up with the capture makes no repeat; a slower one with periods this long
 * or longer makes two or more within the shortest lapse of interest, two base periods. */
#define KEEPS_UP 0.98
#define SLOW_PERIODS 1.5
#define FAST (1.5 / 512) /* of the width a frame (DESIGN: targets) */

static bool seen_on(const struct fl_take *t)
{
    for (size_t i = 0; i < t->states.n_spans; i++)
        if (t->states.span[i].state == FL_STATE_ON)
            return true;
    return false;
}

/* The on rate is not known where it keeps up with the capture, row for row. */
static bool keeps_up(const struct fl_take *t)
{
    return seen_on(t) && !(fl_states_on_output_hz(&t->states) < KEEPS_UP * t->capture_rate_hz);
}

/* 95th percentile of the intervals between flips in state off; NaN with few. */
static double longest_off_s(const struct fl_take *t)
{
    enum { ENOUGH = 20 };
    const double broken = 3; /* periods: the flips between were not seen */
    double *gap = FL_NEW(double, t->flips.n + 1);
    size_t n = 0;
    for (size_t i = 1; i < t->flips.n; i++) {
        double length = t->flips.v[i].time_s - t->flips.v[i - 1].time_s;
        if (fl_states_at(&t->states, t->flips.v[i - 1].time_s) == FL_STATE_OFF &&
            length * t->states.base_rate_off_hz < broken)
            gap[n++] = length;
    }
    double longest = n >= ENOUGH ? fl_quantile(gap, n, 0.95) : FL_UNKNOWN;
    free(gap);
    return longest;
}

double fl_recorder_longest_s(const struct fl_take *t)
{
    if (!t->torn)
        return 0;
    if (fl_known(t->states.base_rate_off_hz))
        return longest_off_s(t);
    return keeps_up(t) ? 1 / t->capture_rate_hz : FL_UNKNOWN;
}

/* Could the output, at the rates seen, leave a frame of its own as it was, with no other nearby? */
static bool rhythm_excludes_repeats(const struct fl_take *t)
{
    if (t->spec.capture_local)
        return true; /* it takes each output frame once */
    if (t->exposure.on_s + t->exposure.off_s <= 0)
        return false;
    if (t->torn) /* a whole frame stands still only if no flip fell within two periods, less the
                    blank */
        return fl_recorder_longest_s(t) * t->capture_rate_hz < 1.9;
    return keeps_up(t) && !(t->capture_rate_hz / t->states.base_rate_off_hz < SLOW_PERIODS);
}

/* What the take's usual output excludes may still be a rhythm for a moment, while the game is slow:
 * untorn, the shortest lapse of interest makes two repeats, torn only a longer one does. */
static long repeats(const struct fl_take *t, const struct fl_device *d)
{
    return t->spec.capture_local ? d->identical : t->torn ? d->alone + d->paired : d->alone;
}

struct step {
    double x, y;
};

static struct step step_at(const struct fl_take *t, long i)
{
    struct fl_take_shift shift = fl_take_shift(t);
    return (struct step){shift.x_px[i], shift.y_px[i]};
}

static double along(struct step a, struct step b)
{
    return a.x * b.x + a.y * b.y;
}

static bool on_around(const struct fl_take *t, long i)
{
    for (long k = i - 2; k <= i + 2; k++)
        if ((size_t)k >= t->states.n_frames || t->states.frame_state[k] != FL_STATE_ON)
            return false;
    return true;
}

/* Twice as far as the frames on both sides, or three times: two lost in a row. A camera speeds up
 * over several frames, so that no other frame stands out from both of its neighbours by so much. */
static bool jumped(const struct fl_take *t, long i)
{
    struct step now = step_at(t, i), a = step_at(t, i - 1), b = step_at(t, i + 1);
    struct step m = {(a.x + b.x) / 2, (a.y + b.y) / 2};
    double length = hypot(m.x, m.y),
           periods = (t->time_s[i] - t->time_s[i - 1]) * t->capture_rate_hz;
    double ratio = along(now, m) / (length * length),
           larger = fmax(hypot(a.x, a.y), hypot(b.x, b.y));
    double aside = fabs(now.x * m.y - now.y * m.x) / (length * length);
    return length >= FAST * t->width && periods < 1.5 && along(a, b) > 0 && ratio > 1.7 &&
           ratio < 3.4 && aside < 0.3 && hypot(now.x, now.y) > 1.4 * larger;
}

/* Jumps with no other in the rhythm's reach: uneven pacing beats with the capture and makes them in
 * rows. */
static long count_jumps(const struct fl_take *t)
{
    long n = 0, in_row = 0;
    double last_s = -1;
    for (long i = 3; i + 2 < t->frames; i++) {
        if (!on_around(t, i) || !jumped(t, i))
            continue;
        in_row = t->time_s[i] - last_s <= FL_DEVICE_RHYTHM_S ? in_row + 1 : 1;
        n += in_row == 1 ? 1 : in_row == 2 ? -1 : 0;
        last_s = t->time_s[i];
    }
    return n;
}

void fl_judge_recorder(struct fl_take *t)
{
    struct fl_recorder *r = &t->recorder;
    r->jumps = count_jumps(t);
    /* In torn footage of output that keeps up with the capture no row passes two flips in step with
     * all the others; the on rate is not known where every row is new. */
    r->jumps_told = t->torn && keeps_up(t);
    r->repeats_told = rhythm_excludes_repeats(t);
    t->repeated_frames = r->repeats_told ? repeats(t, &r->device) : 0;
}
