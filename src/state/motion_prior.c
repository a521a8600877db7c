/* The trace's motion in the picture's unit, with its doubts, where the two go together.
 *
 * The clock's gain turns counts into pixels, a scale fitted to the rows' own moves corrects it.
 * Where the clock may lie within its error, the slowest and the fastest motion bound what the rows
 * may have seen. */
#include "state/motion_prior.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/parting.h"
#include "maths/robust.h"

/* How far the clock is believed, s, and when a scale is. Choices. */
static const struct {
    double delay_spread_s; /* L(off) - L(on) is up to about half a base period (common practice, no
                              source), and which of the two holds is what is asked */
    double usual_error_s;  /* of a clock that does not know its own: about a picture's hold */
    double most_error_s;   /* beyond it every flick would be bounded by rest */
    double moving_px;      /* working px a frame at which both sides' ratio counts */
} model = {.delay_spread_s = 0.008, .usual_error_s = 0.005, .most_error_s = 0.015, .moving_px = 1};
enum { ENOUGH_RATIOS = 20 };
enum { SHIFTS = 5 }; /* places that the clock may be at, over its error both ways; odd */

/* The trace's motion of one frame, working px by the clock's gain. */
struct expected {
    double x, y; /* as the clock lies */
    double least, most;
    bool known;
};

static double error_s(const struct fl_clock *c)
{
    const double own = fl_known(c->error_ms) ? 1e-3 * c->error_ms : model.usual_error_s;
    return fmin(own + model.delay_spread_s, model.most_error_s);
}

static void expect(struct expected *e, double t_s, double reach_s, const struct fl_motion *m,
                   double length_s, const double gain[2])
{
    double x[SHIFTS], y[SHIFTS], along = INFINITY;
    e->least = INFINITY;
    e->most = 0;
    for (int k = 0; k < SHIFTS; k++) {
        fl_motion_rate(m, t_s + reach_s * (k - SHIFTS / 2) / (SHIFTS / 2), length_s, &x[k], &y[k]);
        x[k] *= gain[0];
        y[k] *= gain[1];
        e->least = fmin(e->least, hypot(x[k], y[k]));
        e->most = fmax(e->most, hypot(x[k], y[k]));
        along = fmin(along, x[0] * x[k] + y[0] * y[k]);
    }
    e->x = x[SHIFTS / 2];
    e->y = y[SHIFTS / 2];
    if (along <= 0)
        e->least = 0; /* it turns back: rows may stand with no flip missing */
}

static void expect_all(struct expected *e, const struct fl_rows *r, const struct fl_scan *scan,
                       const struct fl_clock *c, const struct fl_motion *m,
                       const struct fl_motion_prior_settings *set)
{
    const double gain[2] = {c->gain_x / set->factor * scan->period_s,
                            c->gain_y / set->factor * scan->period_s};
    const double length_s = fmax(set->base_period_s, scan->period_s);
    const bool across = fl_known(gain[0]), down = fl_known(gain[1]);
    const double use[2] = {across ? gain[0] : 0, down ? gain[1] : 0};
    for (size_t i = 0; i < r->frames; i++) {
        /* What changed since the frame before was shown between the two scans. */
        const double t = fl_clock_trace_time(c, scan->time_s[i] - scan->period_s * scan->blank / 2);
        e[i].known = (across || down) && t - length_s > set->trace_start_s &&
                     t + length_s < set->trace_end_s;
        expect(&e[i], t, error_s(c), m, length_s, use);
    }
}

/* Counts turn into px at another rate than the clock's gain says where the picture's own shift is
 * measured short or long: the middle ratio over frames in which both move. */
static double scale_of(const struct expected *e, const struct fl_rows *r)
{
    double *ratio = FL_NEW(double, r->frames);
    size_t n = 0;
    for (size_t i = 1; i < r->frames; i++) {
        const double own = hypot(e[i].x, e[i].y);
        const double along = (e[i].x * (double)r->move_x[i] + e[i].y * (double)r->move_y[i]) / own;
        if (e[i].known && own > model.moving_px && along > model.moving_px)
            ratio[n++] = along / own;
    }
    const double scale = n >= ENOUGH_RATIOS ? fl_median(ratio, n) : FL_UNKNOWN;
    free(ratio);
    return scale;
}

/* Both motions of a frame, for fl_parting_find. */
struct pairs {
    const struct expected *e;
    const struct fl_rows *r;
    double scale;
};

static bool pair_at(const void *ctx, size_t i, struct fl_motion_pair *out)
{
    const struct pairs *p = ctx;
    if (!p->e[i].known || isnan(p->r->move_x[i]))
        return false;
    *out = (struct fl_motion_pair){{p->scale * p->e[i].x, p->scale * p->e[i].y},
                                   {(double)p->r->move_x[i], (double)p->r->move_y[i]}};
    return true;
}

/* A picture in which slow motion is not seen rests; that is no disagreement. */
static size_t fill(struct fl_motion_prior *k, const struct expected *e, const struct fl_rows *r,
                   const double *time_s, double scale)
{
    enum fl_parting *parting = FL_NEW(enum fl_parting, k->frames);
    size_t n = 0;
    fl_parting_find(parting, time_s, k->frames, &fl_parting_for_seeing, pair_at,
                    &(struct pairs){e, r, scale});
    for (size_t i = 0; i < k->frames; i++) {
        const bool good = e[i].known && parting[i] == FL_TOGETHER;
        k->least[i] = good ? (float)(scale * e[i].least) : NAN;
        k->usual[i] = good ? (float)(scale * hypot(e[i].x, e[i].y)) : NAN;
        k->most[i] = good ? (float)(scale * e[i].most) : NAN;
        n += good;
    }
    free(parting);
    return n;
}

bool fl_motion_prior_find(struct fl_motion_prior *out, const struct fl_rows *rows,
                          const struct fl_scan *scan, const struct fl_clock *clock,
                          const struct fl_motion *motion,
                          const struct fl_motion_prior_settings *set)
{
    assert(scan->n == rows->frames);
    *out = (struct fl_motion_prior){rows->frames, FL_NEW(float, rows->frames),
                                    FL_NEW(float, rows->frames), FL_NEW(float, rows->frames)};
    size_t n = 0;
    if (clock->known) {
        struct expected *e = FL_NEW(struct expected, rows->frames);
        expect_all(e, rows, scan, clock, motion, set);
        const double scale = scale_of(e, rows);
        if (fl_known(scale))
            n = fill(out, e, rows, scan->time_s, scale);
        free(e);
    }
    if (!n)
        fl_motion_prior_finish(out);
    return n > 0;
}

void fl_motion_prior_bound(struct fl_scene_speed *out, const struct fl_motion_prior *k,
                           const struct fl_scene_speed *seen)
{
    assert(seen->frames == k->frames);
    *out = (struct fl_scene_speed){k->frames, FL_NEW(float, k->frames), FL_NEW(float, k->frames)};
    for (size_t i = 0; i < k->frames; i++) {
        bool told = !isnan(k->least[i]);
        float across = seen->across[i], beside = seen->beside[i];
        out->across[i] = told ? fminf(fmaxf(across, k->least[i]), k->most[i]) : across;
        out->beside[i] = told ? fminf(fmaxf(beside, k->usual[i]), k->most[i]) : beside;
    }
}

void fl_motion_prior_finish(struct fl_motion_prior *k)
{
    free(k->least);
    free(k->usual);
    free(k->most);
    *k = (struct fl_motion_prior){0};
}
