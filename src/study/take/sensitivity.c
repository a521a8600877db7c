/* Robust mean (Tukey's bisquare about the median) of turn over counts, stroke by stroke.
 *
 * The tilt needs the vertical sensitivity, and the horizontal one needs the tilt: a few rounds
 * settle both. What is refused: few strokes, strokes that do not agree, an interval too wide to be
 * of use. */
#include "study/take/sensitivity.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/interval.h"
#include "maths/robust.h"
#include "study/take/camera_tilt.h"
#include "study/take/strokes.h"

#define RADIANS (FL_PI / 180)
/* Choices, but for the first. */
static const struct {
    double bisquare; /* 95 % efficient where errors are normal */
    double
        least_spread;   /* of strokes, as a share: so that a few that agree by chance keep others */
    double small_rad;   /* a stroke of so much has half the say of a long one */
    double doubt;       /* share of a stroke that could not be followed, for half the say */
    double near;        /* of the result: a stroke agrees */
    double agree;       /* share that must */
    double most_wide;   /* half of the interval, as a share: wider says nothing of use */
    double model_error; /* share, 95 %: views that are not quite a pinhole's, strips' own middle */
    double octaves;     /* of speed that a growth needs */
    double growth;      /* a doubling of speed: less is none; takes without it stay within 0.015 */
} model = {.bisquare = 4.685,
           .least_spread = 0.01,
           .small_rad = 0.15,
           .doubt = 0.02,
           .near = 0.1,
           .agree = 0.7,
           .most_wide = 0.1,
           .model_error = 0.015,
           .octaves = 1.5,
           .growth = 0.04};
enum { ROUNDS = 4, REWEIGHTED = 20, LEAST_STROKES = 6, GROWTH_STROKES = 12 };

static double ratio_of(const struct fl_stroke *s)
{
    return s->turn_rad / s->counts;
}

/* Long strokes are told better: their ends are as uncertain as those of short ones. Motion that
 * could not be followed is short rather than long. */
static double say_of(const struct fl_stroke *s)
{
    const double small = model.small_rad / s->turn_rad, doubt = s->doubt / model.doubt;
    return 1 / ((1 + small * small) * (1 + doubt * doubt));
}

static double *ratios(const struct fl_strokes *s)
{
    double *r = FL_NEW(double, s->n + 1);
    for (size_t i = 0; i < s->n; i++)
        r[i] = ratio_of(&s->v[i]);
    return r;
}

/* The robust mean, rad a count; *error: its standard error. */
static double mean_of(const struct fl_strokes *s, double *error)
{
    double *r = ratios(s), mean = fl_median(r, s->n);
    const double width =
        model.bisquare * fmax(fl_mad_sigma(r, s->n), model.least_spread * fabs(mean));
    for (int round = 0; round < REWEIGHTED; round++) {
        double sum = 0, weights = 0, square = 0;
        for (size_t i = 0; i < s->n; i++) {
            const double u = (r[i] - mean) / width, kept = fabs(u) < 1 ? 1 - u * u : 0,
                         w = kept * kept * say_of(&s->v[i]);
            sum += w * (r[i] - mean);
            weights += w;
            square += w * w * (r[i] - mean) * (r[i] - mean);
        }
        *error = sqrt(square) / weights;
        mean += sum / weights;
    }
    free(r);
    return mean;
}

/* Share of the counts in strokes that fit mean · 2^(growth in octaves of speed). */
static double agreeing(const struct fl_strokes *s, double mean, const struct fl_line *growth)
{
    double all = 0, near = 0;
    for (size_t i = 0; i < s->n; i++) {
        const struct fl_stroke *k = &s->v[i];
        const double counts = fabs(k->counts),
                     expected = mean * exp(growth->intercept + growth->slope * log2(k->speed));
        all += counts;
        near += fabs(ratio_of(k) - expected) <= model.near * fabs(expected) ? counts : 0;
    }
    return all > 0 ? near / all : 0;
}

/* ln of the gain over its mean against log2 of speed, by strokes that agree within a factor of two.
 * False where too little is seen to say. */
static bool find_line(struct fl_line *line, const struct fl_strokes *s, double mean)
{
    double *x = FL_NEW(double, s->n + 1), *y = FL_NEW(double, s->n + 1),
           *w = FL_NEW(double, s->n + 1);
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++) {
        const double part = ratio_of(&s->v[i]) / mean;
        if (!(part > 0.5 && part < 2))
            continue;
        x[n] = log2(s->v[i].speed);
        y[n] = log(part);
        w[n++] = say_of(&s->v[i]);
    }
    const bool told = n >= GROWTH_STROKES &&
                      fl_quantile(x, n, 0.9) - fl_quantile(x, n, 0.1) >= model.octaves &&
                      fl_line_fit_robust(line, x, y, w, n) == 0;
    free(x);
    free(y);
    free(w);
    return told;
}

/* Where the gain grows with speed, strokes agree if they agree with that. */
static void find_growth(struct fl_axis_gain *g, const struct fl_strokes *s, double mean)
{
    static const struct fl_line level;
    struct fl_line line;
    g->agree = agreeing(s, mean, &level);
    if (!find_line(&line, s, mean))
        return;
    const double half = fl_t_quantile(0.975, (double)line.used - 2) * line.slope_se;
    g->growth = expm1(line.slope);
    g->growth_low = expm1(line.slope - half);
    g->growth_high = expm1(line.slope + half);
    if (fl_axis_grows(g))
        g->agree = agreeing(s, mean, &line);
}

bool fl_axis_grows(const struct fl_axis_gain *g)
{
    return fabs(g->growth) >= model.growth && g->growth_low * g->growth_high > 0;
}

static struct fl_axis_gain no_gain(void)
{
    return (struct fl_axis_gain){FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN,
                                 FL_UNKNOWN, FL_UNKNOWN, 0,          0};
}

/* tilt_share: what the tilt's error makes of the gain, 95 %. */
static void find_gain(struct fl_axis_gain *g, const struct fl_strokes *s, double tilt_share)
{
    double error;
    *g = no_gain();
    g->strokes = s->n;
    if (s->n < LEAST_STROKES)
        return;
    const double mean = mean_of(s, &error),
                 half = hypot(fl_t_quantile(0.975, (double)s->n - 1) * error,
                              fabs(mean) * hypot(tilt_share, model.model_error));
    g->degrees = mean / RADIANS;
    g->low = (mean - half) / RADIANS;
    g->high = (mean + half) / RADIANS;
    find_growth(g, s, mean);
}

static bool stands(const struct fl_axis_gain *g)
{
    return fl_known(g->degrees) && g->agree >= model.agree &&
           (g->high - g->low) / 2 <= model.most_wide * fabs(g->degrees);
}

static void forget(struct fl_axis_gain *g)
{
    const double agree = g->agree;
    const size_t strokes = g->strokes;
    *g = no_gain();
    g->agree = agree;
    g->strokes = strokes;
}

/* ---- both axes ---- */

static double right_per_count(const struct fl_sensitivity *s)
{
    return fl_known(s->right.degrees) ? s->right.degrees * RADIANS : 0;
}

/* Over the frames that turn. */
static double mean_tilt(const struct fl_turning *m, const double *tilt)
{
    double sum = 0, turns = 0;
    for (size_t i = 0; i < m->n; i++)
        if (fl_known(m->turn[i].right) && fl_known(tilt[i])) {
            sum += fabs(m->turn[i].right) * tilt[i];
            turns += fabs(m->turn[i].right);
        }
    return turns > 0 ? sum / turns : 0;
}

/* Games turn both axes alike but for its sign, unless seen otherwise. */
static double down_per_count(const struct fl_sensitivity *s)
{
    return stands(&s->down)             ? s->down.degrees * RADIANS
           : fl_known(s->right.degrees) ? copysign(s->right.degrees * RADIANS,
                                                   fl_known(s->down.degrees) ? s->down.degrees : 1)
                                        : 0;
}

static double slow_counts(double slow_rad, double rad_per_count)
{
    return rad_per_count != 0 ? slow_rad / fabs(rad_per_count) : 0;
}

static void find_once(struct fl_sensitivity *out, const struct fl_turning *m, double slow_rad,
                      double *tilt)
{
    struct fl_strokes right, down;
    const double error = 1.96 * fl_camera_tilt(tilt, m, down_per_count(out), right_per_count(out));
    const double mean = mean_tilt(m, tilt);
    fl_strokes_find(&right, m, tilt, true, slow_counts(slow_rad, right_per_count(out)));
    fl_strokes_find(&down, m, tilt, false, slow_counts(slow_rad, down_per_count(out)));
    find_gain(&out->right, &right, fabs(tan(mean)) * error + error * error / 2);
    find_gain(&out->down, &down, 0);
    out->tilt_deg = mean / RADIANS;
    free(right.v);
    free(down.v);
}

static void judge(struct fl_sensitivity *out)
{
    const struct fl_axis_gain *g = &out->right;
    if (g->strokes < LEAST_STROKES)
        snprintf(out->refused, sizeof out->refused,
                 "only %zu turns are seen well enough to measure; record more flicks", g->strokes);
    else if (g->agree < model.agree)
        snprintf(out->refused, sizeof out->refused,
                 "turn and counts agree in %.0f %% of the mouse's way only: the picture is zoomed, "
                 "carried or cut, or the mouse is sped up",
                 100 * g->agree);
    else if (!stands(g))
        snprintf(out->refused, sizeof out->refused,
                 "too uneven to be found within %.0f %%; record more flicks, with the camera level",
                 100 * model.most_wide);
    if (!stands(&out->down))
        forget(&out->down);
    if (out->refused[0])
        forget(&out->right);
}

void fl_sensitivity_none(struct fl_sensitivity *out, const char *why)
{
    *out = (struct fl_sensitivity){no_gain(),  no_gain(),  FL_UNKNOWN, FL_UNKNOWN,
                                   FL_UNKNOWN, FL_UNKNOWN, ""};
    snprintf(out->refused, sizeof out->refused, "%s", why);
}

void fl_sensitivity_find(struct fl_sensitivity *out, const struct fl_turning *m, double slow_rad)
{
    double *tilt = FL_NEW(double, m->n + 1);
    fl_sensitivity_none(out, "");
    for (int round = 0; round < ROUNDS; round++)
        find_once(out, m, slow_rad, tilt);
    judge(out);
    free(tilt);
}
