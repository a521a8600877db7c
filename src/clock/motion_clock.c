/* Coarse lag, windows, a robust line through them, and whether to believe it.
 *
 * A wrong clock is worse than none, so each step may refuse: what is explained at the best lag, the
 * best rival, how many windows agree and how much of the motion is in them. */
#include "clock/motion_clock.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/lag.h"
#include "clock/speed_track.h"
#include "clock/window.h"
#include "maths/robust.h"

/* Limits of belief. Choices, none fitted to a take; the tests print how far real and false pairs
 * lie on either side. */
static const struct {
    double explained;   /* share of the motion that must fit, 0..1 */
    double confidence;  /* 0..1: a rival may be at most 60 % as good */
    double correlation; /* of a window that may vote */
    double agreement_s; /* a window agrees with the line within this, s: over a hold and an error */
    double agreement;   /* share of the windows' motion that must agree */
    double few;         /* confidence asked for where fewer than FEW_WINDOWS agree */
    double drift_ppm;   /* as in clock/lag.h: beyond it the frame rate is wrong */
} least = {.explained = 0.10,
           .confidence = 0.4,
           .correlation = 0.6,
           .agreement_s = 0.012,
           .agreement = 0.5,
           .few = 0.6,
           .drift_ppm = FL_LAG_DRIFT_PPM};
/* How a drift is drawn towards none. */
static const struct {
    double window_error_s;  /* of an offset, whatever few of them say: states differ in delay by
                               some ms */
    double drift_prior_ppm; /* spread of quartz clocks against each other: 20 to 50 ppm each, and
                               heat (common practice, no source) */
} prior = {.window_error_s = 0.004, .drift_prior_ppm = 100};
/* Of FL_SPEED_STEP_S each: the search takes memory by their sum. */
enum { LONGEST_HAND = 1 << 19, LONGEST_PICTURE = 1 << 21 };
enum { LEAST_WINDOWS = 4, FEW_WINDOWS = 5 };

/* ---- the line through the windows ---- */

/* Votes of the windows that lie on the line. */
static size_t mark_agreeing(struct fl_window *w, size_t n, double intercept, double slope)
{
    size_t agree = 0;
    for (size_t i = 0; i < n; i++) {
        const double r = w[i].offset_s - intercept - slope * w[i].time_s;
        w[i].agrees = w[i].correlation >= least.correlation && fabs(r) <= least.agreement_s;
        agree += w[i].agrees;
    }
    return agree;
}

struct votes {
    size_t n;
    double *time_s, *offset_s, *weight;
};

static struct votes collect_votes(const struct fl_window *w, size_t n, bool only_agreeing)
{
    struct votes v = {0, FL_NEW(double, n), FL_NEW(double, n), FL_NEW(double, n)};
    for (size_t i = 0; i < n; i++) {
        if (w[i].correlation < least.correlation || (only_agreeing && !w[i].agrees))
            continue;
        v.time_s[v.n] = w[i].time_s;
        v.offset_s[v.n] = w[i].offset_s;
        v.weight[v.n++] = w[i].weight;
    }
    return v;
}

static void votes_free(struct votes *v)
{
    free(v->time_s);
    free(v->offset_s);
    free(v->weight);
}

/* Error of a slope through offsets that scatter by the prior error, whatever few of them say. */
static double slope_error(const struct votes *v, double middle_s)
{
    double sum = 0, moment = 0;
    for (size_t i = 0; i < v->n; i++) {
        sum += v->weight[i] / (double)v->n;
        moment += v->weight[i] * (v->time_s[i] - middle_s) * (v->time_s[i] - middle_s);
    }
    return prior.window_error_s / sqrt(moment / sum);
}

/* Quartz clocks seldom differ by more than 100 ppm: a slope that the windows tell badly is drawn
 * towards none, about the middle of the windows. */
static void shrink(struct fl_line *line, const struct votes *v)
{
    double sum = 0, moment = 0;
    for (size_t i = 0; i < v->n; i++) {
        sum += v->weight[i];
        moment += v->weight[i] * v->time_s[i];
    }
    const double usual = 1e-6 * prior.drift_prior_ppm;
    const double se = hypot(line->slope_se, slope_error(v, moment / sum));
    const double kept = isfinite(se) ? usual * usual / (usual * usual + se * se) : 0;
    line->intercept += (1 - kept) * line->slope * moment / sum;
    line->slope *= kept;
}

/* The windows' line, twice: over all that may vote, then over those that agree. */
static bool fit_line(struct fl_line *line, struct fl_window *w, size_t n, size_t *agree)
{
    for (int pass = 0; pass < 2; pass++) {
        struct votes v = collect_votes(w, n, pass > 0);
        const bool fitted = v.n >= LEAST_WINDOWS &&
                            fl_line_fit_robust(line, v.time_s, v.offset_s, v.weight, v.n) == 0;
        if (fitted)
            shrink(line, &v);
        votes_free(&v);
        if (!fitted)
            return false;
        *agree = mark_agreeing(w, n, line->intercept, line->slope);
    }
    return *agree >= LEAST_WINDOWS;
}

/* By motion: a few flicks say more than many stretches of near rest. */
static double agreeing_share(const struct fl_window *w, size_t n)
{
    double all = 0, agreeing = 0;
    for (size_t i = 0; i < n; i++) {
        all += w[i].motion;
        agreeing += w[i].agrees ? w[i].motion : 0;
    }
    return all > 0 ? agreeing / all : 0;
}

static double spread_ms(const struct fl_window *w, size_t n, const struct fl_line *line)
{
    double *r = FL_NEW(double, n);
    for (size_t i = 0; i < n; i++)
        r[i] =
            w[i].agrees ? w[i].offset_s - line->intercept - line->slope * w[i].time_s : FL_UNKNOWN;
    const double spread = 1e3 * fl_mad_sigma(r, n);
    free(r);
    return spread;
}

/* Picture shift per count: ratio of paths, the hand's sign deciding the picture's. */
static void find_gains(struct fl_clock *c, const struct fl_shift_series *p,
                       const struct fl_motion *motion)
{
    double shift[2] = {0}, count[2] = {0};
    for (size_t i = 1; i < p->n; i++) {
        double x[2], y[2];
        if (!isfinite(p->x[i]) || !isfinite(p->y[i]))
            continue;
        fl_motion_path(motion, fl_clock_trace_time(c, p->time_s[i - 1]), &x[0], &y[0]);
        fl_motion_path(motion, fl_clock_trace_time(c, p->time_s[i]), &x[1], &y[1]);
        const double step[2] = {x[1] - x[0], y[1] - y[0]}, moved[2] = {p->x[i], p->y[i]};
        for (int axis = 0; axis < 2; axis++) {
            shift[axis] += step[axis] == 0 ? 0 : copysign(1, step[axis]) * moved[axis];
            count[axis] += fabs(step[axis]);
        }
    }
    c->gain_x = count[0] > 0 ? shift[0] / count[0] : FL_UNKNOWN;
    c->gain_y = count[1] > 0 ? shift[1] / count[1] : FL_UNKNOWN;
}

/* ---- the fit ---- */

static void judge_lag(struct fl_clock *c, const struct fl_lag *lag)
{
    char why[sizeof c->refused];
    c->confidence = lag->score > 0 ? fl_clamp(1 - lag->rival / lag->score, 0, 1) : 0;
    if (lag->explained < least.explained) {
        snprintf(
            why, sizeof why,
            "trace and picture move differently: %.0f %% fits at best; is it this take's trace?",
            100 * lag->explained);
        fl_clock_refuse(c, why);
    } else if (c->confidence < least.confidence) {
        snprintf(why, sizeof why,
                 "another lag fits nearly as well (%.0f %%): not this take's trace, or motion that "
                 "repeats itself",
                 100 * (1 - c->confidence));
        fl_clock_refuse(c, why);
    }
}

static void refuse_windows(struct fl_clock *c, size_t agree, size_t n, bool few)
{
    char why[sizeof c->refused];
    if (few)
        snprintf(why, sizeof why,
                 "only %zu stretches of motion agree, too few to be sure; record more flicks",
                 agree);
    else
        snprintf(
            why, sizeof why,
            "only %zu of %zu stretches of motion agree on the best lag; is it this take's trace?",
            agree, n);
    fl_clock_refuse(c, why);
}

static void fit_windows(struct fl_clock *c, struct fl_window *w, size_t n)
{
    struct fl_line line;
    size_t agree = 0;
    const bool fitted = fit_line(&line, w, n, &agree);
    const double share = agreeing_share(w, n);
    c->confidence *= share;
    const bool few = fitted && agree < FEW_WINDOWS && c->confidence < least.few;
    if (!fitted || share < least.agreement || few) {
        refuse_windows(c, agree, n, few);
        return;
    }
    c->offset_s = line.intercept;
    c->drift_ppm = 1e6 * line.slope;
    c->residual_ms = spread_ms(w, n, &line);
    if (fabs(c->drift_ppm) > least.drift_ppm) {
        char why[sizeof c->refused];
        snprintf(why, sizeof why,
                 "the clocks run %.0f ppm apart: is the footage's frame rate right?", c->drift_ppm);
        fl_clock_refuse(c, why);
    }
}

static void fit_tracks(struct fl_clock *c, const struct fl_speed_track *picture,
                       const struct fl_speed_track *hand, const struct fl_lag_band *band)
{
    struct fl_lag lag;
    size_t n;
    fl_lag_search(&lag, picture, hand, band);
    judge_lag(c, &lag);
    if (!c->known)
        return;
    struct fl_window *w = fl_windows(picture, hand, &lag, &n);
    fit_windows(c, w, n);
    free(w);
}

/* Why no search is made at all; NULL if one is. */
static const char *hopeless(const struct fl_shift_series *p, double trace_start_s,
                            double trace_end_s)
{
    const double picture_s = p->n ? p->time_s[p->n - 1] - p->time_s[0] : 0;
    if (!(trace_end_s > trace_start_s))
        return "the trace holds a single moment";
    if ((trace_end_s - trace_start_s) / FL_SPEED_STEP_S > LONGEST_HAND)
        return "the trace is longer than an hour; cut it to the take";
    if (picture_s / FL_SPEED_STEP_S > LONGEST_PICTURE)
        return "the footage's times span over four hours; cut it, or write its times anew";
    return NULL;
}

static void find_clock(struct fl_clock *c, const struct fl_shift_series *picture,
                       const struct fl_motion *motion, double trace_start_s, double trace_end_s,
                       const struct fl_lag_band *band)
{
    struct fl_speed_track hand, seen;
    fl_speed_track_of_picture(&seen, picture, 1);
    fl_speed_track_of_motion(&hand, motion, trace_start_s, trace_end_s);
    if (!(hand.scale > 0)) {
        fl_clock_refuse(c, "the trace holds no motion");
    } else if (!(seen.scale > 0)) {
        fl_clock_refuse(c, "the picture does not move");
    } else {
        fl_speed_track_sharpen(&seen);
        fl_speed_track_sharpen(&hand);
        fit_tracks(c, &seen, &hand, band);
    }
    fl_speed_track_finish(&hand);
    fl_speed_track_finish(&seen);
}

static void from_motion(struct fl_clock *c, const struct fl_shift_series *picture,
                        const struct fl_motion *motion, double trace_start_s, double trace_end_s,
                        const struct fl_lag_band *band)
{
    const char *why = hopeless(picture, trace_start_s, trace_end_s);
    memset(c, 0, sizeof *c);
    c->known = true;
    c->off_minus_on_ms = c->off_minus_on_low_ms = c->off_minus_on_high_ms = FL_UNKNOWN;
    c->error_ms = FL_UNKNOWN;
    snprintf(c->method, sizeof c->method, band ? "motion+sound" : "motion");
    if (why)
        fl_clock_refuse(c, why);
    else
        find_clock(c, picture, motion, trace_start_s, trace_end_s, band);
    if (c->known)
        find_gains(c, picture, motion);
}

void fl_clock_from_motion(struct fl_clock *c, const struct fl_shift_series *picture,
                          const struct fl_motion *motion, double trace_start_s, double trace_end_s)
{
    from_motion(c, picture, motion, trace_start_s, trace_end_s, NULL);
}

void fl_clock_from_motion_near(struct fl_clock *c, const struct fl_shift_series *picture,
                               const struct fl_motion *motion, double trace_start_s,
                               double trace_end_s, const struct fl_lag_band *band)
{
    from_motion(c, picture, motion, trace_start_s, trace_end_s, band);
}
