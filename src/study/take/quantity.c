/* Motion quantities at every frame, from trace or picture: box means over one base period, and over
 * a fixed time for flicks, which are compared between games. */
#include "study/take/quantity.h"

#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"
#include "study/take/aiming.h"
#include "study/take/carriage.h"
#include "study/take/motion_integral.h"
#include "study/take/picture_scale.h"
#include "study/take/sensitivity_measure.h"
#include "study/take/trace_mismatch.h"

#define TRUSTED_SHIFT 0.25 /* quality from which a shift is a number */
#define STILL_FACTOR 2.0   /* times the picture's own rest change: still */

/* Work of one take while its quantities are made. */
struct work {
    struct fl_take *t;
    struct fl_arena *arena;
    size_t n;
    double kernel_s;          /* of the box mean */
    double base_s;            /* of a step: one base period */
    const enum fl_word *word; /* whose word is taken for the turn; NULL: not known */
    const bool *carried;      /* frames in which the picture's own shift is the step; NULL: none */
    const bool *lost;         /* and those without a camera speed */
    struct fl_pair_series counts, turn_trace, turn_picture,
        shift;                   /* rates; NULL x if not measured */
    struct fl_pair_series stick; /* deflection */
};

static double base_period_s(const struct fl_take *t)
{
    double hz = t->states.base_rate_on_hz;
    if (!(hz > 0))
        hz = t->states.base_rate_off_hz;
    if (!(hz > 0))
        hz = t->spec.base_rate_hz;
    if (!(hz > 0))
        hz = t->capture_rate_hz;
    return hz > 0 ? 1 / hz : 1.0 / 60;
}

static struct fl_pair_series series(const struct work *w)
{
    return (struct fl_pair_series){FL_ARENA(w->arena, float, w->n + 1),
                                   FL_ARENA(w->arena, float, w->n + 1), w->n};
}

static float *length(const struct work *w, const struct fl_pair_series *s, double factor)
{
    if (!s->x)
        return NULL;
    float *out = FL_ARENA(w->arena, float, w->n + 1);
    for (size_t i = 0; i < w->n; i++)
        out[i] = (float)(hypot(s->x[i], s->y[i]) * factor);
    return out;
}

static enum fl_state frame_state(const struct fl_take *t, size_t i)
{
    return i < t->states.n_frames ? t->states.frame_state[i] : FL_STATE_UNSEEN;
}

/* Synthesis delays the picture: in state off the same hand motion shows at another time. */
static double trace_time(const struct fl_take *t, size_t i)
{
    double at = fl_clock_trace_time(&t->clock, t->time_s[i]);
    if (frame_state(t, i) == FL_STATE_OFF && fl_known(t->clock.off_minus_on_ms))
        at -= t->clock.off_minus_on_ms / 1000;
    return at;
}

static double sign(double gain)
{
    return gain > 0 ? -1 : 1; /* the picture goes against the hand, unless an axis is inverted */
}

/* Count rates as the camera sees them: +x right, +y down also with an inverted axis. Unknown where
 * the trace has not begun yet, or has ended. */
static void counts_from_trace(struct work *w, const struct fl_motion *motion)
{
    const struct fl_clock *c = &w->t->clock;
    double total = 0;
    w->counts = series(w);
    for (size_t i = 0; i < w->n; i++) {
        double x, y, at = trace_time(w->t, i);
        fl_motion_rate(motion, at, w->kernel_s, &x, &y);
        bool covered = fl_motion_covers(motion, at);
        w->counts.x[i] = covered ? (float)(x * sign(c->gain_x)) : NAN;
        w->counts.y[i] = covered ? (float)(y * sign(c->gain_y)) : NAN;
        total += hypot(x, y);
    }
    if (!(total > 0))
        w->counts.x = NULL;
}

static void stick_from_trace(struct work *w, const struct fl_motion *motion, float **out)
{
    float *deflection = FL_ARENA(w->arena, float, w->n + 1),
          *rate = FL_ARENA(w->arena, float, w->n + 1);
    bool any = false;
    for (size_t i = 0; i < w->n; i++) {
        double d, r;
        fl_motion_stick(motion, trace_time(w->t, i), w->kernel_s, &d, &r);
        deflection[i] = (float)d;
        rate[i] = (float)r;
        any = any || fl_known(d);
    }
    if (any) {
        w->stick = series(w);
        for (size_t i = 0; i < w->n; i++) {
            double mean[2] = {FL_UNKNOWN, FL_UNKNOWN};
            fl_motion_stick_mean(motion, trace_time(w->t, i), w->kernel_s, mean);
            w->stick.x[i] = (float)mean[0];
            w->stick.y[i] = (float)mean[1];
        }
        out[FL_STICK_DEFLECTION] = deflection;
        out[FL_STICK_RATE] = rate;
    }
}

/* Grey levels up to which the whole picture counts as still. */
static double still_change(const struct fl_take *t, const float *image_change)
{
    double rest = image_change ? fl_quantile_f(image_change, (size_t)t->frames, 0.1) : FL_UNKNOWN;
    return STILL_FACTOR * fmax(rest, t->noise);
}

/* Shift of frame i in native px, against the camera's turn; a shift that nobody vouches for is
 * rest when the picture does not change, else unknown. */
static bool trusted_shift(const struct fl_take *t, size_t i, const float *change, double still,
                          double *x, double *y)
{
    struct fl_take_shift shift = fl_take_shift(t);
    *x = -shift.x_px[i];
    *y = -shift.y_px[i];
    if (fl_known(*x) && fl_known(*y) && (!shift.quality || shift.quality[i] >= TRUSTED_SHIFT))
        return true;
    bool at_rest = change && change[i] <= still;
    *x = *y = at_rest ? 0 : FL_UNKNOWN;
    return at_rest;
}

static double degrees_per_px(const struct fl_take *t)
{
    const struct fl_clock *c = &t->clock;
    bool counted = c->known && fl_known(c->gain_x) && c->gain_x != 0;
    return counted ? fl_take_degrees_per_count(t) / fabs(c->gain_x) : FL_UNKNOWN;
}

static double to_degrees(const struct fl_take *t, double px)
{
    if (fl_known(t->spec.horizontal_fov_deg))
        return fl_picture_degrees(t, px);
    return px * degrees_per_px(t);
}

/* Over which a mean at frame i is taken. Off, the picture goes by rendered frames: over whole ones,
 * else one flip more or less in it would make a fifth more or less of a speed. A mouse's counts
 * need none of this. */
static double window_s(const struct work *w, size_t i)
{
    const struct fl_states *s = &w->t->states;
    const double frames = w->kernel_s * s->base_rate_off_hz;
    const bool off = i < s->n_frames && s->frame_state[i] == FL_STATE_OFF;
    return off && !w->counts.x && frames > 0 ? ceil(frames - 0.1) / s->base_rate_off_hz
                                             : w->kernel_s;
}

/* Mean rates at the frames' times of motion made from one scan centre to the next. */
static void rates(const struct work *w, const double *x, const double *y,
                  struct fl_pair_series *out)
{
    const struct fl_take *t = w->t;
    double centre = t->torn && t->capture_rate_hz > 0 ? (1 - t->blank) / 2 / t->capture_rate_hz : 0;
    double *time = FL_NEW(double, w->n + 1);
    for (size_t i = 0; i < w->n; i++)
        time[i] = t->time_s[i] + centre;
    struct fl_motion_integral *path = fl_motion_integral_new(time, x, y, w->n);
    *out = series(w);
    for (size_t i = 0; i < w->n; i++) {
        double vx, vy;
        fl_motion_integral_rate(path, t->time_s[i], window_s(w, i), &vx, &vy);
        out->x[i] = (float)vx;
        out->y[i] = (float)vy;
    }
    fl_motion_integral_free(&path);
    free(time);
}

static bool any_known(const double *x, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (fl_known(x[i]))
            return true;
    return false;
}

/* The picture's own motion, in px/s and where the geometry is known in deg/s: without a mouse's
 * counts by the picture's middle. The shift of a frame that a tear crosses is that of its larger
 * part, so two of them may tell one step twice; and of a frame in which nothing is new none may be
 * told, which would leave its time out and make the others' motion faster. */
static void motion_from_picture(struct work *w, const float *change)
{
    const struct fl_take *t = w->t;
    if (!fl_take_shift(t).x_px || !fl_take_shift(t).y_px)
        return;
    double *px[2] = {FL_NEW(double, w->n + 1), FL_NEW(double, w->n + 1)};
    double *deg[2] = {FL_NEW(double, w->n + 1), FL_NEW(double, w->n + 1)};
    double still = still_change(t, change);
    for (size_t i = 0; i < w->n; i++) {
        const bool trusted = trusted_shift(t, i, change, still, &px[0][i], &px[1][i]);
        if (!w->counts.x && fl_picture_turn(t, i, &deg[0][i], &deg[1][i])) {
            for (int k = 0; k < 2 && !trusted; k++)
                px[k][i] = fl_picture_shift(t, deg[k][i]);
            continue;
        }
        deg[0][i] = to_degrees(t, px[0][i]);
        deg[1][i] = to_degrees(t, px[1][i]);
    }
    if (any_known(px[0], w->n))
        rates(w, px[0], px[1], &w->shift);
    if (any_known(deg[0], w->n))
        rates(w, deg[0], deg[1], &w->turn_picture);
    for (int k = 0; k < 2; k++) {
        free(px[k]);
        free(deg[k]);
    }
}

static void turn_from_trace(struct work *w)
{
    const double factor = fl_take_degrees_per_count(w->t),
                 vertical = factor * fl_take_vertical_ratio(w->t);
    if (!w->counts.x || !(factor > 0))
        return;
    w->turn_trace = series(w);
    for (size_t i = 0; i < w->n; i++) {
        w->turn_trace.x[i] = (float)(w->counts.x[i] * factor);
        w->turn_trace.y[i] = (float)(w->counts.y[i] * vertical);
    }
}

static double seconds_of(const struct work *w, enum fl_word word)
{
    double s = 0;
    for (size_t i = 0; i + 1 < w->n; i++)
        s += w->word[i] == word ? w->t->time_s[i + 1] - w->t->time_s[i] : 0;
    return s;
}

/* Where picture and trace disagree for long, the trace does not speak of this camera. */
static void find_word(struct work *w)
{
    if (!w->turn_trace.x || !w->turn_picture.x)
        return;
    enum fl_word *word = FL_ARENA(w->arena, enum fl_word, w->n + 1);
    fl_trace_mismatch(word, w->t->time_s, &w->turn_trace, &w->turn_picture, w->t->view);
    w->word = word;
    double s = seconds_of(w, FL_WORD_PICTURE);
    if (s > 0)
        fl_take_warn(w->t, "trace_overruled",
                     "for %.1f s trace and picture disagree (aiming zoom, menu, cut scene, lost "
                     "reports) and the picture turns or rests as one; camera speed is the "
                     "picture's there",
                     s);
}

/* Frames whose camera speed is null: the camera was carried, or its zoom makes turns of another
 * scale. */
static void find_carriage(struct work *w)
{
    bool *carried = FL_ARENA(w->arena, bool, w->n + 1), *aiming = FL_NEW(bool, w->n + 1),
         *lost = FL_ARENA(w->arena, bool, w->n + 1);
    fl_carriage_find(carried, w->t);
    fl_aiming_find(aiming, w->t);
    for (size_t i = 0; i < w->n; i++) {
        bool nobody = w->word ? w->word[i] == FL_WORD_NOBODY : carried[i] && !w->turn_trace.x;
        lost[i] = nobody || aiming[i];
        carried[i] |= lost[i];
    }
    w->carried = carried;
    w->lost = lost;
    fl_carriage_keep(w->t, lost);
    free(aiming);
}

static struct fl_pair_series settle_camera(struct work *w)
{
    struct fl_pair_series *turn = w->turn_trace.x ? &w->turn_trace : &w->turn_picture;
    for (size_t i = 0; turn->x && i < w->n; i++) {
        bool picture = w->word && w->word[i] == FL_WORD_PICTURE, nobody = w->lost && w->lost[i];
        if (picture && !nobody) {
            turn->x[i] = w->turn_picture.x[i];
            turn->y[i] = w->turn_picture.y[i];
        } else if (nobody) {
            turn->x[i] = turn->y[i] = NAN;
        }
        /* An aiming zoom does not belie the hand. */
        if (w->counts.x && w->word && w->word[i] != FL_WORD_TRACE)
            w->counts.x[i] = w->counts.y[i] = NAN;
    }
    return *turn;
}

/* Outside the trace the camera's turn is what the picture shows. */
static void fill_from_picture(const struct work *w, struct fl_pair_series *turn,
                              const struct fl_pair_series *picture)
{
    for (size_t i = 0; picture->x && i < turn->n; i++)
        if ((isnan(turn->x[i]) || isnan(turn->y[i])) && !(w->carried && w->carried[i])) {
            turn->x[i] = picture->x[i];
            turn->y[i] = picture->y[i];
        }
}

/* The camera's turn through the geometry; NULL where it is not known. */
static float *step_of_turn(const struct work *w, const struct fl_pair_series *turn)
{
    const struct fl_take *t = w->t;
    const double px_per_degree = 1 / degrees_per_px(t);
    if (!w->turn_trace.x)
        return NULL;
    if (!fl_known(t->spec.horizontal_fov_deg))
        return fl_known(px_per_degree) ? length(w, turn, w->base_s * px_per_degree) : NULL;
    float *out = length(w, turn, w->base_s);
    for (size_t i = 0; i < w->n; i++)
        out[i] = (float)fl_degrees_shift(fmin(out[i], 80), t->width, t->spec.horizontal_fov_deg);
    return out;
}

/* px per base period: what the camera's turn makes, and where the camera is carried the picture's
 * own shift, as nothing else knows of that. */
static float *image_step(const struct work *w, const struct fl_pair_series *turn)
{
    float *out = step_of_turn(w, turn), *shift = length(w, &w->shift, w->base_s);
    if (!out || !shift)
        return out ? out : shift;
    for (size_t i = 0; i < w->n; i++)
        if (isnan(out[i]) || (w->carried && w->carried[i]))
            out[i] = shift[i];
    return out;
}

static double nominal_range(const struct fl_take *t)
{
    bool full = t->pixel_format &&
                (!strncmp(t->pixel_format, "yuvj", 4) || strstr(t->pixel_format, "rgb") ||
                 !strncmp(t->pixel_format, "gbr", 3) || !strncmp(t->pixel_format, "gray", 4));
    return full ? 255 : 219; /* ITU-R BT.601: 16..235 */
}

/* Mean rate of change over the window, times the base period. */
static float *image_change(const struct work *w, const float *change)
{
    double *levels = FL_NEW(double, w->n + 1);
    struct fl_pair_series rate;
    for (size_t i = 0; i < w->n; i++)
        levels[i] = change[i];
    rates(w, levels, NULL, &rate);
    for (size_t i = 0; i < w->n; i++)
        rate.x[i] = (float)fmin(1, rate.x[i] * w->base_s / nominal_range(w->t));
    free(levels);
    return rate.x;
}

static void warn_missing(const struct fl_take *t, struct fl_take *to, bool traced)
{
    if (!t->quantity[FL_CAMERA_SPEED])
        fl_take_warn(to, "no_camera_speed", "camera speed in deg/s needs %s",
                     traced ? "degrees_per_count or horizontal_fov_deg"
                            : "horizontal_fov_deg, or a trace with degrees_per_count");
    if (traced && !(t->spec.counts_per_inch > 0))
        fl_take_warn(to, "no_hand_speed", "hand speed needs counts_per_inch");
    if (!(t->states.base_rate_on_hz > 0) && !t->spec.synthesis_disabled)
        fl_take_warn(
            to, "kernel_without_base_rate",
            "base rate with synthesis on is unknown; motion is averaged over %.1f ms instead",
            t->kernel_ms);
}

static void choose(struct fl_velocity *v, const struct work *w, const struct fl_pair_series *turn)
{
    const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_COUNT_RATE, FL_STICK_DEFLECTION,
                                      FL_IMAGE_STEP};
    const struct fl_pair_series *from[] = {turn, &w->counts, &w->stick, &w->shift};
    *v = (struct fl_velocity){FL_QUANTITIES};
    for (size_t k = 0; k < sizeof order / sizeof *order; k++)
        if (w->t->quantity[order[k]] && from[k]->x) {
            *v = (struct fl_velocity){
                order[k], from[k]->x, from[k]->y, w->t->quantity[order[k]], {0}};
            return;
        }
}

/* All rates that trace and picture give. */
static void gather(struct work *w, const struct fl_motion *motion, const float *change, float **out)
{
    if (motion) {
        if (!fl_motion_of_stick(motion))
            counts_from_trace(w, motion);
        stick_from_trace(w, motion, out);
    }
    motion_from_picture(w, change);
    turn_from_trace(w);
}

/* And the quantities from them. */
static void settle(struct work *w, const float *change, struct fl_pair_series *turn, float **out)
{
    const struct fl_take_spec *spec = &w->t->spec;
    *turn = settle_camera(w);
    fill_from_picture(w, turn, &w->turn_picture);
    out[FL_COUNT_RATE] = length(w, &w->counts, 1);
    if (spec->counts_per_inch > 0)
        out[FL_HAND_SPEED] = length(w, &w->counts, FL_CM_PER_INCH / spec->counts_per_inch);
    out[FL_CAMERA_SPEED] = length(w, turn, 1);
    out[FL_IMAGE_STEP] = image_step(w, turn);
    if (change)
        out[FL_IMAGE_CHANGE] = image_change(w, change);
}

void fl_quantities(struct fl_take *t, const struct fl_motion *motion, const float *change,
                   struct fl_velocity *v, struct fl_arena *scratch)
{
    const double base_s = base_period_s(t);
    struct work w = {t, t->arena, (size_t)t->frames, base_s, base_s};
    struct work flicks = {t, scratch, (size_t)t->frames, FL_FLICK_KERNEL_MS / 1000, base_s};
    struct fl_pair_series turn, unused;
    bool traced = motion && t->clock.known;
    t->kernel_ms = 1000 * base_s;
    gather(&w, traced ? motion : NULL, change, t->quantity);
    find_word(&w);
    find_carriage(&w);
    settle(&w, change, &turn, t->quantity);
    warn_missing(t, t, traced && !fl_motion_of_stick(motion));
    choose(v, &w, &turn);
    gather(&flicks, traced ? motion : NULL, change, v->flick);
    flicks.word = w.word;
    flicks.carried = w.carried;
    flicks.lost = w.lost;
    settle(&flicks, change, &unused, v->flick);
}
