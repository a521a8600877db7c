/* How detail alternates from flip to flip, inside one capture frame.
 *
 * A video codec codes neighbouring frames with different care, and its rhythm beats with the flips;
 * rows of one frame share their coding, so detail is compared only across the tears in it. Evidence
 * is the ratio of two normal densities of the alternating mean: about what the take's own runs on
 * show, against about nothing. */
#include "state/alternation.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "maths/interval.h"
#include "maths/robust.h"

/* Choices, but for the law of t. */
static const struct {
    double
        clear;   /* usual |mean| over its error of runs on that alternate: chance alone gives 0.7 */
    double rare; /* chance under which an alternation counts in a take that has none to compare
                    with: the two-sided t test of the mean */
    double varies; /* sd of a take's contrast from scene to scene, as a share of it */
} model = {.clear = 2.5, .rare = 5e-4, .varies = 0.5};
enum { LEAST_BANDS = 4, LEAST_FLIPS = 5, LEAST_RUNS = 3 };

/* Mean detail of the bands of a frame from one slot up to another; NaN with fewer than four. */
static double mean_detail(const struct fl_evidence *e, const struct fl_rows *r, size_t from,
                          size_t to)
{
    double sum = 0;
    int n = 0;
    size_t per = (size_t)e->slots_a_frame;
    for (size_t k = from; k < to; k++) {
        size_t band = k % per;
        float v = band ? r->detail[(size_t)e->slot[k].frame * (size_t)r->bands + band - 1] : NAN;
        if (!isnan(v)) {
            sum += v;
            n++;
        }
    }
    return n >= LEAST_BANDS ? sum / n : NAN;
}

/* The row that holds the tear itself is a blend. */
double fl_alternation_contrast(const struct fl_evidence *e, const struct fl_rows *r,
                               const struct fl_gap *gap)
{
    if (e->local || gap[-1].to != gap->from) /* a local recording has no tears */
        return NAN;
    size_t before = gap[-1].from, flip = gap->from, after = gap->to;
    size_t per = (size_t)e->slots_a_frame, top = flip / per * per, bottom = top + per;
    size_t from = before > top ? before : top, to = after < bottom ? after : bottom;
    if (flip <= from + 1 || to <= flip + 1)
        return NAN;
    return mean_detail(e, r, flip + 1, to) - mean_detail(e, r, from, flip - 1);
}

void fl_alternation_measure(struct fl_alternation *out, const struct fl_evidence *e,
                            const struct fl_rows *r, const struct fl_gap *gap, size_t first,
                            size_t last)
{
    *out = (struct fl_alternation){0};
    double *v = FL_NEW(double, last - first + 1);
    size_t n = 0;
    for (size_t i = first + 1; i < last; i++) {
        double c = fl_alternation_contrast(e, r, &gap[i]);
        if (!isnan(c))
            v[n++] = (i - first) % 2 ? c : -c;
    }
    out->flips = n;
    out->mean = n ? fl_mean(v, n) : 0;
    out->spread = n > 1 ? fl_sd(v, n) : 0;
    free(v);
}

/* Neighbouring contrasts share a frame with opposite signs, which doubles the variance of their
 * alternating mean. */
static double mean_error(double spread, size_t flips)
{
    return spread * sqrt(2.0 / (double)flips);
}

void fl_softness_learn(struct fl_softness *out, const struct fl_alternation *on, size_t n)
{
    double *contrast = FL_NEW(double, n), *spread = FL_NEW(double, n), *z = FL_NEW(double, n);
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        if (on[i].flips < LEAST_FLIPS || on[i].spread <= 0)
            continue;
        contrast[k] = fabs(on[i].mean);
        spread[k] = on[i].spread;
        z[k++] = fabs(on[i].mean) / mean_error(on[i].spread, on[i].flips);
    }
    *out = (struct fl_softness){.contrast = fl_median(contrast, k), .spread = fl_median(spread, k)};
    out->seen = k >= LEAST_RUNS && fl_median(z, k) > model.clear;
    free(contrast);
    free(spread);
    free(z);
}

static double log_normal_density(double x, double mean, double sd)
{
    double z = (x - mean) / sd;
    return -0.5 * z * z - log(sd);
}

double fl_alternation_log_odds(const struct fl_alternation *a, const struct fl_softness *s)
{
    if (a->flips < LEAST_FLIPS || a->spread <= 0)
        return 0;
    if (!s->seen) {
        /* Nothing to compare with: only a clear alternation of its own speaks. */
        double p =
            fl_t_upper2(fabs(a->mean) / mean_error(a->spread, a->flips), (double)a->flips - 1);
        return p < model.rare ? -log(p) : 0;
    }
    double error = mean_error(fmax(s->spread, a->spread), a->flips);
    double varies = hypot(error, model.varies * s->contrast);
    return log_normal_density(fabs(a->mean), s->contrast, varies) -
           log_normal_density(fabs(a->mean), 0, error) -
           log(2); /* |mean| folds both signs of chance */
}
