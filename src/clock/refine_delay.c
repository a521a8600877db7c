/* The clock once states are known: two delays, and how the picture passes from one to the other.
 *
 * Where most fast motion is in state off, a delay that jumps and one that slides explain the take
 * with offsets many ms apart. So several shapes of the passage are fitted and weighed by how well
 * they explain the take (Bayesian model averaging); their disagreement is part of the error. */
#include "clock/refine_delay.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "clock/fit.h"

enum { ONSETS = 3, LENGTHS = 5, SHAPES = 1 + ONSETS * LENGTHS, STARTS = 3 };
enum { STRETCH = 32 }; /* pictures that leave or stay together: a quarter of a second at 120/s */

/* Choices, but for the last three. */
static const struct {
    double likeness;     /* correlation of picture and hand in a stretch that may stay */
    double moving_s;     /* s that each state must move for L(off) - L(on) to be given */
    double known_ms;     /* a wider half interval of it says nothing of use, ms (DESIGN: targets) */
    double most_moved_s; /* farther from the first clock lies another peak, not a delay, s */
    double margin_s;     /* of the path's table beyond the pictures, s: over all delays tried */
    double smooth_s;     /* on each side of a picture, s: frames that a flip may wait for */
    double usual_period_s; /* base period of state off where none is known: 60/s */
    double model_error_ms; /* what staged takes show beyond chance */
    double slide_ms;       /* of L(off) - L(on), half of 95 %: at an edge a game's delay slides to
                              the new state's over some frames, which counts to either state */
    double student_95;     /* 97.5 % of t with 19 degrees of freedom, as errors are by 20 blocks
                              (tables of Student's t) */
} model = {.likeness = 0.6,
           .moving_s = 1,
           .known_ms = 6,
           .most_moved_s = 0.05,
           .margin_s = 0.3,
           .smooth_s = 0.012,
           .usual_period_s = 1.0 / 60,
           .model_error_ms = 1,
           .slide_ms = 4.5,
           .student_95 = 2.093};
/* Where fits begin: L(off) - L(on) differs by up to about a base period. */
static const double start_s[STARTS] = {0, -0.008, 0.008};

/* All equally likely beforehand. A new delay first shows in the output frame that begins the bout
 * or, by half of a base period each, later; from there it comes within a base period or over up to
 * 0.1 s. */
static void list_shapes(struct fl_fit_shape shape[SHAPES], double period_s)
{
    const double length_s[LENGTHS] = {period_s, 0.035, 0.055, 0.075, 0.1};
    shape[0] = (struct fl_fit_shape){-period_s, period_s};
    for (int onset = 0; onset < ONSETS; onset++)
        for (int k = 0; k < LENGTHS; k++)
            shape[1 + onset * LENGTHS + k] =
                (struct fl_fit_shape){onset * period_s / 2, length_s[k]};
}

static double off_period_s(const struct fl_clock_screen *s)
{
    for (size_t k = 0; k < s->n_phases; k++)
        if (s->phase[k].off && s->phase[k].hold_s > 0)
            return 2 * s->phase[k].hold_s;
    return model.usual_period_s;
}

/* Cut scenes, menus, vehicles: stretches in which the picture goes its own way leave, before they
 * can pull. */
static void drop_strangers(struct fl_fit_data *d, struct fl_exposure_rows *sight)
{
    size_t kept = 0;
    for (size_t first = 0; first < d->n; first += STRETCH) {
        const size_t end = first + STRETCH < d->n ? first + STRETCH : d->n;
        double cross = 0, own = 0, other = 0;
        for (size_t k = first; k < end; k++) {
            double moved[2];
            fl_fit_expected(d, &sight[k], moved);
            cross += sight[k].x * moved[0] + sight[k].y * moved[1];
            own += sight[k].x * sight[k].x + sight[k].y * sight[k].y;
            other += moved[0] * moved[0] + moved[1] * moved[1];
        }
        if (cross > model.likeness * sqrt(own * other)) {
            memmove(sight + kept, sight + first, (end - first) * sizeof *sight);
            kept += end - first;
        }
    }
    d->n = kept;
}

/* ---- all shapes together ---- */

struct mixture {
    double lag_s, drift, extra_s;         /* means */
    double lag_var, drift_var, extra_var; /* within shapes and between them */
    double lag_drift_cov;
    int fitted;
};

static bool best_start(struct fl_fit *best, const struct fl_fit_data *d,
                       const struct fl_fit_shape *shape)
{
    bool any = false;
    const int starts = d->n_off ? STARTS : 1;
    for (int k = 0; k < starts; k++) {
        struct fl_fit fit;
        if (fl_fit_solve(&fit, d, shape, start_s[k]) &&
            (!any || fit.log_evidence > best->log_evidence)) {
            *best = fit;
            any = true;
        }
    }
    return any;
}

static void blend(struct mixture *m, const struct fl_fit *fit, int n)
{
    double top = -INFINITY, total = 0, weight[SHAPES];
    assert(n >= 1 && n <= SHAPES);
    for (int k = 0; k < n; k++)
        top = fmax(top, fit[k].log_evidence);
    for (int k = 0; k < n; k++)
        total += weight[k] = exp(fit[k].log_evidence - top);
    for (int k = 0; k < n; k++) {
        weight[k] /= total;
        m->lag_s += weight[k] * fit[k].value[FL_FIT_LAG];
        m->drift += weight[k] * fit[k].value[FL_FIT_DRIFT];
        m->extra_s += weight[k] * fit[k].value[FL_FIT_EXTRA];
    }
    for (int k = 0; k < n; k++) {
        const double lag = fit[k].value[FL_FIT_LAG] - m->lag_s,
                     extra = fit[k].value[FL_FIT_EXTRA] - m->extra_s;
        m->lag_var += weight[k] * (fit[k].se_lag * fit[k].se_lag + lag * lag);
        m->extra_var += weight[k] * (fit[k].se_extra * fit[k].se_extra + extra * extra);
        m->drift_var += weight[k] * fit[k].cov[FL_FIT_DRIFT][FL_FIT_DRIFT];
        m->lag_drift_cov += weight[k] * fit[k].cov[FL_FIT_LAG][FL_FIT_DRIFT];
    }
    m->fitted = n;
}

static void fit_shapes(struct mixture *m, const struct fl_fit_data *d, double period_s)
{
    struct fl_fit_shape shape[SHAPES];
    struct fl_fit fit[SHAPES];
    int n = 0;
    list_shapes(shape, period_s);
    for (int k = 0; k < (d->n_off ? SHAPES : 1); k++)
        n += best_start(&fit[n], d, &shape[k]);
    if (n)
        blend(m, fit, n);
}

/* ---- the result ---- */

static double error_ms_at(const struct mixture *m, double from_middle_s)
{
    const double var = m->lag_var + m->drift_var * from_middle_s * from_middle_s +
                       2 * m->lag_drift_cov * from_middle_s;
    return 1e3 * model.student_95 * sqrt(fmax(var, 0));
}

static void note_clock(struct fl_clock *c, const struct fl_fit_data *d, const struct mixture *m)
{
    c->offset_s += m->lag_s - m->drift * d->middle_s;
    c->drift_ppm += 1e6 * m->drift;
    const double first = d->sight[0].time_s - d->middle_s,
                 last = d->sight[d->n - 1].time_s - d->middle_s;
    c->error_ms = hypot(fmax(error_ms_at(m, first), error_ms_at(m, last)), model.model_error_ms);
}

/* Of the hand, in the picture's unit a frame, smooth over the frames that a flip may wait for. */
static double usual_shift(const struct fl_fit_data *d, const struct fl_exposure_rows *s)
{
    const double t = fl_clock_trace_time(&d->clock, s->time_s), half = model.smooth_s;
    double before[2], after[2];
    fl_trace_path_at(d->path, t - half, before);
    fl_trace_path_at(d->path, t + half, after);
    return hypot(d->clock.gain_x * (after[0] - before[0]),
                 d->clock.gain_y * (after[1] - before[1])) *
           s->step_s / (2 * half);
}

static void moving_time(const struct fl_fit_data *d, double *on_s, double *off_s)
{
    *on_s = *off_s = 0;
    for (size_t k = 0; k < d->n; k++) {
        if (usual_shift(d, &d->sight[k]) <= d->grain)
            continue;
        *off_s += d->sight[k].off * d->sight[k].step_s;
        *on_s += (1 - d->sight[k].off) * d->sight[k].step_s;
    }
}

static void note_extra(struct fl_clock *c, const struct fl_fit_data *d, const struct mixture *m)
{
    double on_s, off_s;
    moving_time(d, &on_s, &off_s);
    if (!d->n_off || on_s < model.moving_s || off_s < model.moving_s)
        return;
    const double half_ms = hypot(1e3 * model.student_95 * sqrt(m->extra_var), model.slide_ms);
    if (half_ms > model.known_ms)
        return;
    c->off_minus_on_ms = 1e3 * m->extra_s;
    c->off_minus_on_low_ms = c->off_minus_on_ms - half_ms;
    c->off_minus_on_high_ms = c->off_minus_on_ms + half_ms;
}

static double middle_of(const struct fl_exposure_rows *s, size_t n)
{
    double sum = 0;
    for (size_t k = 0; k < n; k++)
        sum += s[k].time_s / (double)n;
    return sum;
}

static void path_of(struct fl_trace_path *path, const struct fl_clock *c,
                    const struct fl_motion *motion, const struct fl_exposure_rows *s, size_t n)
{
    const double from = n ? fl_clock_trace_time(c, s[0].time_s) - model.margin_s : 0;
    fl_trace_path_init(path, motion, from,
                       n ? fl_clock_trace_time(c, s[n - 1].time_s) + model.margin_s : from);
}

static bool settle(struct fl_clock *c, const struct fl_fit_data *d, double period_s)
{
    struct mixture m = {0};
    fit_shapes(&m, d, period_s);
    if (!m.fitted || fabs(m.lag_s) > model.most_moved_s)
        return false;
    note_clock(c, d, &m);
    note_extra(c, d, &m);
    return true;
}

bool fl_clock_refine(struct fl_clock *c, const struct fl_shift_series *picture,
                     const struct fl_motion *motion, const struct fl_clock_screen *screen)
{
    if (!c->known)
        return false;
    struct fl_trace_path path;
    size_t n;
    struct fl_exposure_rows *sight = fl_exposure_rows_find(picture, screen, &n);
    path_of(&path, c, motion, sight, n);
    struct fl_fit_data d = {.sight = sight,
                            .n = n,
                            .path = &path,
                            .off = screen->off,
                            .n_off = screen->n_off,
                            .clock = *c,
                            .report_s = fl_motion_report_s(motion),
                            .grain = picture->grain};
    d.clock.gain_x = fl_known(c->gain_x) ? c->gain_x : 0;
    d.clock.gain_y = fl_known(c->gain_y) ? c->gain_y : 0;
    drop_strangers(&d, sight);
    d.middle_s = middle_of(sight, d.n);
    const bool good = settle(c, &d, off_period_s(screen));
    fl_trace_path_finish(&path);
    free(sight);
    return good;
}
