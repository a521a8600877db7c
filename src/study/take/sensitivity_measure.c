/* The counts that each frame shows, by the clock; then the fit, and what is odd about it. */
#include "study/take/sensitivity_measure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

#define RADIANS (FL_PI / 180)
/* What is worth saying, as shares. Choices. */
static const struct {
    double apart;     /* of what was given, beyond the interval */
    double unlike;    /* between the axes */
    double slow_px;   /* working px a frame, that may not show whole */
    double first_fov; /* degrees, that the search for the field of view begins with */
} model = {.apart = 0.02, .unlike = 0.03, .slow_px = 1, .first_fov = 90};
enum { FOV_ROUNDS = 4 };

/* What a take's fit is made from. */
struct source {
    const struct fl_signals *signals;
    double *across, *down; /* counts so far in each frame */
};

/* Half an output interval: by so much what stands on the screen is older than its scan. */
static double hold_s(const struct fl_states *s, bool off)
{
    const double own = off ? s->base_rate_off_hz : s->base_rate_on_hz,
                 other = off ? s->base_rate_on_hz : s->base_rate_off_hz,
                 rate = fl_known(own) ? own : other;
    return fl_known(rate) ? 0.5 / (rate * (off ? 1 : 2)) : 0;
}

/* Trace time of what stands in the middle of frame i. */
static double shown_at(const struct fl_take *t, size_t i, double scan_s, const double hold[2])
{
    const bool off = i < t->states.n_frames && t->states.frame_state[i] == FL_STATE_OFF;
    const double late_ms = off && fl_known(t->clock.off_minus_on_ms) ? t->clock.off_minus_on_ms : 0;
    return fl_clock_trace_time(&t->clock, t->time_s[i] + scan_s / 2 - hold[off]) - late_ms / 1000;
}

/* Frames that stand at their flips (scan_s 0) have no hold. */
static struct source source_of(const struct fl_take *t, const struct fl_motion *motion,
                               const struct fl_signals *signals, double scan_s)
{
    const size_t n = (size_t)t->frames;
    const double hold[2] = {scan_s > 0 ? hold_s(&t->states, false) : 0,
                            scan_s > 0 ? hold_s(&t->states, true) : 0};
    struct source s = {signals, FL_NEW(double, n + 1), FL_NEW(double, n + 1)};
    for (size_t i = 0; i < n; i++) {
        const double at = shown_at(t, i, scan_s, hold);
        s.across[i] = s.down[i] = FL_UNKNOWN;
        if (fl_motion_covers(motion, at))
            fl_motion_path(motion, at, &s.across[i], &s.down[i]);
    }
    return s;
}

static void source_free(struct source *s)
{
    free(s->across);
    free(s->down);
}

/* ---- the fit ---- */

static double focal_px(int width, double fov_deg)
{
    return width / 2.0 / tan(fov_deg / 2 * RADIANS);
}

static void find_at(struct fl_sensitivity *out, const struct fl_take *t, const struct source *s,
                    double fov_deg)
{
    struct fl_frame_turn *turn = fl_turn_frames(s->signals, focal_px(t->width, fov_deg));
    const double slow_rad = model.slow_px * s->signals->grid.factor / focal_px(t->width, fov_deg);
    fl_sensitivity_find(
        out, &(struct fl_turning){(size_t)t->frames, t->time_s, s->across, s->down, turn},
        slow_rad);
    free(turn);
}

static double fov_for(int width, double focal)
{
    return 2 * atan(width / 2.0 / focal) / RADIANS;
}

/* The view in which the picture turns as far as the session says; a longer focal length means
 * fewer degrees a pixel. */
static void find_view(struct fl_sensitivity *out, const struct fl_take *t, const struct source *s)
{
    double fov = model.first_fov;
    for (int round = 0; round < FOV_ROUNDS; round++) {
        find_at(out, t, s, fov);
        if (out->refused[0])
            return;
        const double focal = focal_px(t->width, fov) / t->spec.degrees_per_count,
                     found = fabs(out->right.degrees),
                     half = (out->right.high - out->right.low) / 2;
        fov = fov_for(t->width, focal * found);
        out->fov_low_deg = fov_for(t->width, focal * (found + half));
        out->fov_high_deg = fov_for(t->width, focal * (found - half));
    }
    out->fov_deg = fov;
}

static const char *missing(const struct fl_take *t, const struct fl_motion *motion)
{
    if (!motion)
        return "no trace";
    if (fl_motion_of_stick(motion))
        return "a stick has no counts";
    if (!t->clock.known)
        return "the trace has no clock";
    if (!fl_known(t->spec.horizontal_fov_deg) && !fl_known(t->spec.degrees_per_count))
        return "horizontal_fov_deg is not given";
    return NULL;
}

void fl_sensitivity_measure(struct fl_take *t, const struct fl_motion *motion,
                            const struct fl_signals *signals, double scan_s)
{
    const char *why = missing(t, motion);
    if (why) {
        fl_sensitivity_none(&t->sensitivity, why);
        return;
    }
    struct source source = source_of(t, motion, signals, scan_s);
    if (fl_known(t->spec.horizontal_fov_deg))
        find_at(&t->sensitivity, t, &source, t->spec.horizontal_fov_deg);
    else
        find_view(&t->sensitivity, t, &source);
    source_free(&source);
}

/* ---- what follows ---- */

double fl_take_degrees_per_count(const struct fl_take *t)
{
    const struct fl_axis_gain *g = &t->sensitivity.right;
    if (fl_known(t->spec.degrees_per_count))
        return t->spec.degrees_per_count;
    return fl_known(g->degrees) && !fl_axis_grows(g) ? fabs(g->degrees) : FL_UNKNOWN;
}

/* Share by which the two axes' intervals are apart at least. */
static bool axes_differ(const struct fl_sensitivity *s)
{
    const struct fl_axis_gain *r = &s->right, *d = &s->down;
    const double right = fabs(r->degrees), down = fabs(d->degrees),
                 error = hypot((r->high - r->low) / 2 / right, (d->high - d->low) / 2 / down);
    return fl_known(right) && fl_known(down) && fabs(down / right - 1) > model.unlike + error;
}

double fl_take_vertical_ratio(const struct fl_take *t)
{
    const struct fl_sensitivity *s = &t->sensitivity;
    return axes_differ(s) ? fabs(s->down.degrees / s->right.degrees) : 1;
}

static bool contradicts(const struct fl_take *t)
{
    const struct fl_axis_gain *g = &t->sensitivity.right;
    const double said = t->spec.degrees_per_count, found = fabs(g->degrees),
                 half = (g->high - g->low) / 2;
    return fl_known(t->spec.horizontal_fov_deg) && fl_known(said) && fl_known(found) &&
           fabs(found - said) > half + model.apart * said;
}

static void warn_amount(struct fl_take *t)
{
    const struct fl_axis_gain *g = &t->sensitivity.right;
    const double half = (g->high - g->low) / 2, found = fabs(g->degrees);
    if (contradicts(t))
        fl_take_warn(t, "sensitivity_differs",
                     "The picture turns by %.4g degrees a count (%.4g to %.4g), the session says "
                     "%.4g: degrees_per_count or horizontal_fov_deg is not as it was. Figures in "
                     "degrees go by the session.",
                     found, found - half, found + half, t->spec.degrees_per_count);
    else if (!fl_known(t->spec.degrees_per_count) && fl_known(fl_take_degrees_per_count(t)))
        fl_take_warn(t, "sensitivity_found",
                     "degrees_per_count is not given; the picture turns by %.4g degrees a count "
                     "(%.4g to %.4g), and figures in degrees go by that.",
                     found, found - half, found + half);
}

void fl_sensitivity_warn(struct fl_take *t)
{
    const struct fl_sensitivity *s = &t->sensitivity;
    warn_amount(t);
    if (fl_axis_grows(&s->right))
        fl_take_warn(t, "sensitivity_grows",
                     "The camera turns by %.0f %% %s a count each time that the hand doubles its "
                     "speed (acceleration): no one number of degrees a count holds.",
                     100 * fabs(s->right.growth), s->right.growth > 0 ? "more" : "less");
    if (s->right.degrees < 0)
        fl_take_warn(t, "axis_inverted", "The horizontal axis of the mouse is inverted.");
    if (s->down.degrees < 0)
        fl_take_warn(t, "axis_inverted", "The vertical axis of the mouse is inverted.");
    if (axes_differ(s))
        fl_take_warn(t, "axes_differ",
                     "A count turns the camera %.2f times as far up and down as to the sides; "
                     "figures in degrees go by that.",
                     fl_take_vertical_ratio(t));
}
