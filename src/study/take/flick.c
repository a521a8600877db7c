/* Flicks: time above a floor that the take's own rest sets, merged across short pauses. */
#include "study/take/flick.h"

#include <stdlib.h>

#include "maths/robust.h"
#include "study/take/picture_scale.h"
#include "study/take/return_delay.h"

#define FLOOR_DEG_S 5.0
#define FLOOR_COUNTS_S 100.0 /* where degrees are unknown: 5 deg/s at 0.05 degrees a count */
#define FLOOR_FOV_DEG 90.0   /* where the field of view is unknown: of a shift of the picture */
#define MOTION_FACTOR 5.0    /* in motion from 25 deg/s: the floor is never above it */
#define GAP_S 0.08
#define FLOOR_STICK 0.05 /* of full deflection: noise of a stick that is let go */
#define MOST_FLOOR_STICK 0.5

/* An error of the stillest frames: speeds of a two-dimensional normal error are Rayleigh
 * distributed, 10 % lie below 0.459 σ and 99.9 % below 3.72 σ. */
#define STILL_QUANTILE 0.1
#define STILL_REACH (3.7169 / 0.4590)
#define REST_QUANTILE 0.95

/* Slow tracking between two flicks is rest: it must not join them. */
static double rest_reach(const struct fl_take *t, const float *speed, double motion)
{
    size_t n = 0;
    double *slow = FL_NEW(double, (size_t)t->frames + 1);
    for (long i = 0; i < t->frames; i++)
        if (speed[i] <= motion)
            slow[n++] = speed[i];
    double reach = fl_quantile(slow, n, REST_QUANTILE);
    free(slow);
    return reach;
}

/* Past the game's dead zone, where it is known, and the stick's own noise. */
static double stick_floor(const struct fl_turn_curve *c)
{
    return fl_clamp(fmax(fmax(c->rest, c->dead_zone), 0), FLOOR_STICK, MOST_FLOOR_STICK);
}

double fl_flick_floor(const struct fl_take *t, const struct fl_velocity *v)
{
    double least = FLOOR_DEG_S;
    if (v->quantity == FL_STICK_DEFLECTION)
        return stick_floor(&t->turn_curve);
    if (v->quantity == FL_COUNT_RATE)
        least = FLOOR_COUNTS_S;
    else if (v->quantity == FL_IMAGE_STEP) /* px in one base period */
        least = fl_degrees_shift(FLOOR_DEG_S * t->kernel_ms / 1000, t->width, FLOOR_FOV_DEG);
    double motion = MOTION_FACTOR * least;
    double still = STILL_REACH * fl_quantile_f(v->speed, (size_t)t->frames, STILL_QUANTILE);
    double rest = fmax(still, rest_reach(t, v->speed, motion)); /* fmax skips NaN */
    return fl_clamp(fl_known(rest) ? rest : 0, least, motion);
}

struct stretch {
    size_t from, to;
}; /* frames [from, to) */

static double frame_end(const struct fl_take *t, size_t i)
{
    size_t n = (size_t)t->frames;
    return i < n ? t->time_s[i] : t->duration_s;
}

/* Outside the take's `use` nothing is measured. */
static bool in_use(const struct fl_take_spec *spec, double t_s)
{
    for (size_t i = 0; i < spec->n_use; i++)
        if (t_s >= spec->use[i].start_s && t_s < spec->use[i].end_s)
            return true;
    return spec->n_use == 0;
}

static bool fast(const struct fl_take *t, const float *speed, double floor, size_t i)
{
    return speed[i] >= floor && in_use(&t->spec, t->time_s[i]); /* false for NaN */
}

/* Contiguous frames at or above the floor, merged across short gaps. */
static size_t find_stretches(const struct fl_take *t, const float *speed, double floor,
                             struct stretch **out)
{
    size_t n = 0, cap = 0, frames = (size_t)t->frames;
    *out = NULL;
    for (size_t i = 0; i < frames; i++) {
        if (!fast(t, speed, floor, i))
            continue;
        size_t end = i;
        while (end < frames && fast(t, speed, floor, end))
            end++;
        if (n && t->time_s[i] - frame_end(t, (*out)[n - 1].to) < GAP_S) {
            (*out)[n - 1].to = end;
        } else {
            struct stretch s = {i, end};
            FL_PUSH(*out, n, cap, s);
        }
        i = end;
    }
    return n;
}

static size_t frame_at(const struct fl_take *t, double time_s)
{
    size_t lo = 0, hi = (size_t)t->frames;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        if (t->time_s[mid] < time_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

/* Largest and mean of one quantity over frames [from, to). */
static void summarise(const float *x, size_t from, size_t to, double *peak, double *mean)
{
    double sum = 0;
    size_t n = 0;
    *peak = FL_UNKNOWN;
    for (size_t i = from; i < to; i++) {
        if (isnan(x[i]))
            continue;
        *peak = fmax(*peak, x[i]);
        sum += x[i];
        n++;
    }
    *mean = n ? sum / (double)n : FL_UNKNOWN;
}

static void set_path(struct fl_flick *f, const struct fl_take *t, const struct fl_velocity *v,
                     struct stretch s)
{
    double path = 0, x = 0, y = 0;
    for (size_t i = s.from; i < s.to; i++) {
        double dt = frame_end(t, i + 1) - t->time_s[i];
        if (isnan(v->x[i]) || isnan(v->y[i]))
            continue;
        path += hypot(v->x[i], v->y[i]) * dt;
        x += v->x[i] * dt;
        y += v->y[i] * dt;
    }
    f->path_deg = v->quantity == FL_CAMERA_SPEED ? path : FL_UNKNOWN;
    double angle = atan2(y, x) * 180 / FL_PI;
    f->direction_deg = x == 0 && y == 0 ? FL_UNKNOWN : angle < 0 ? angle + 360 : angle;
}

static void set_peak(struct fl_flick *f, const struct fl_take *t, const struct fl_velocity *v,
                     struct stretch s)
{
    size_t best = s.from;
    f->peak_acceleration_deg_s2 = FL_UNKNOWN;
    for (size_t i = s.from; i < s.to; i++) {
        if (v->speed[i] > v->speed[best])
            best = i;
        if (v->quantity == FL_CAMERA_SPEED && i > 0 && i + 1 < (size_t)t->frames) {
            double a =
                fabs(v->speed[i + 1] - v->speed[i - 1]) / (t->time_s[i + 1] - t->time_s[i - 1]);
            f->peak_acceleration_deg_s2 = fmax(f->peak_acceleration_deg_s2, a);
        }
    }
    f->peak_s = t->time_s[best];
}

static void describe(struct fl_flick *f, const struct fl_take *t, const struct fl_velocity *v,
                     struct stretch s)
{
    *f = (struct fl_flick){.start_s = t->time_s[s.from],
                           .end_s = frame_end(t, s.to),
                           .at_risk = FL_ANSWER_UNKNOWN,
                           .tripped = FL_ANSWER_UNKNOWN,
                           .trip_delay_s = FL_UNKNOWN};
    for (int q = 0; q < FL_QUANTITIES; q++) {
        f->peak[q] = f->mean[q] = f->peak_to_trip[q] = FL_UNKNOWN;
        if (v->flick[q])
            summarise(v->flick[q], s.from, s.to, &f->peak[q], &f->mean[q]);
    }
    set_path(f, t, v, s);
    set_peak(f, t, v, s);
}

/* Peak up to the trip, from the frames of the flick that begin by then. */
static void set_peak_to_trip(struct fl_flick *f, const struct fl_take *t,
                             const struct fl_velocity *v)
{
    if (f->tripped != FL_YES || !fl_known(f->trip_delay_s) || !t->time_s)
        return;
    double trip = f->start_s + f->trip_delay_s, unused;
    size_t from = frame_at(t, f->start_s), to = frame_at(t, fmin(trip, f->end_s));
    if (to <= from)
        to = from + 1;
    for (int q = 0; q < FL_QUANTITIES && from < (size_t)t->frames; q++)
        if (v->flick[q])
            summarise(v->flick[q], from, to, &f->peak_to_trip[q], &unused);
}

void fl_find_flicks(struct fl_take *t, const struct fl_velocity *v)
{
    struct stretch *s = NULL;
    t->n_flicks = 0;
    if (v->quantity == FL_QUANTITIES || !t->frames)
        return;
    double floor = fl_flick_floor(t, v);
    if (v->quantity == FL_CAMERA_SPEED)
        t->camera_floor_deg_s = floor;
    else
        fl_take_warn(t, "flicks_without_degrees",
                     "flicks are bursts of %s above %.3g %s, as degrees are unknown",
                     fl_quantity_info(v->quantity)->label, floor,
                     fl_quantity_info(v->quantity)->unit_label);
    size_t n = find_stretches(t, v->speed, floor, &s);
    t->flicks = FL_ARENA(t->arena, struct fl_flick, n + 1);
    for (size_t i = 0; i < n; i++)
        describe(&t->flicks[i], t, v, s[i]);
    t->n_flicks = n;
    free(s);
    t->return_delay_p95_s = fl_return_delay(t);
    fl_flick_outcomes(t);
    for (size_t i = 0; i < n; i++)
        set_peak_to_trip(&t->flicks[i], t, v);
}
