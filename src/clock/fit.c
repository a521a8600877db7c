/* Robust non-linear regression: Gauss and Newton's steps, reweighted for errors of Student's t.
 *
 * Weights are those of maximum likelihood under t (Lange, Little and Taylor 1989). Standard errors
 * come from the curvature, and from a delete-one-block jackknife where that says more, as the
 * errors of neighbouring frames are alike. The evidence of a shape is Laplace's approximation. */
#include "clock/fit.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "clock/linear.h"

enum { U = FL_FIT_UNKNOWNS };

/* The errors of shifts. Choices. */
static const struct {
    double tails;        /* degrees of freedom of Student's t, 1 to 10: bad shifts are common */
    double alike;        /* neighbouring frames share their errors: one in so many is new */
    double spread;       /* of a shift, as a share: a wide view's edges move unlike its middle */
    double usual_scale;  /* of the errors against what is expected, ... */
    double usual_frames; /* ... believed until more than this many frames speak */
} errors = {.tails = 3, .alike = 4, .spread = 0.08, .usual_scale = 0.5, .usual_frames = 6};

/* What is expected of the unknowns beforehand, s.d. about none: wide, so that they only hold one of
 * which the take says nothing. Choices but for the drift: quartz clocks are good to 20 to 50 ppm
 * each (common practice, no source). */
static const double expected[U] = {
    [FL_FIT_LAG] = 0.05,   [FL_FIT_DRIFT] = 1e-4, [FL_FIT_EXTRA] = 0.015,
    [FL_FIT_GAIN_X] = 0.5, [FL_FIT_GAIN_Y] = 0.5, [FL_FIT_GAIN_OFF] = 0.2};

/* The search. */
static const struct {
    double longest_stride_s; /* of a delay in one round: half a base period, so that no flick is
                                jumped over */
    double settled_s;        /* a round that moves the delays by less ends it */
} search = {.longest_stride_s = 0.01, .settled_s = 1e-5};
enum { ROUNDS = 30, SCALE_ROUNDS = 5 };
enum { BLOCKS = 20 }; /* of the jackknife: refine_delay.c takes its quantile of t from it */

/* A sight under the unknowns as they stand. */
struct row {
    double residual[2], slope[U][2];
    double size; /* expected error, in units of the scale of its state */
    bool live, off;
};

struct work {
    const struct fl_fit_data *d;
    float *late; /* n × 2 × FL_EXPOSURE_ROWS: share of the passage to L(off), now and before */
    struct row *row;
    double value[U], scale[2];
};

/* ---- the passage between the delays ---- */

static double ramp(double t_s, double length_s)
{
    return t_s <= 0 ? 0 : t_s >= length_s ? 1 : t_s / length_s;
}

static double within(const struct fl_span *off, const struct fl_fit_shape *s, double t_s)
{
    return ramp(t_s - off->start_s - s->onset_s, s->length_s) -
           ramp(t_s - off->end_s - s->onset_s, s->length_s);
}

/* The bout that began last may start while the one before still fades. */
static double late_at(const struct fl_fit_data *d, const struct fl_fit_shape *s, double t_s)
{
    size_t lo = 0, hi = d->n_off;
    while (lo < hi) {
        const size_t mid = (lo + hi) / 2;
        if (d->off[mid].start_s + s->onset_s < t_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    const double last = lo > 0 ? within(&d->off[lo - 1], s, t_s) : 0;
    const double other = lo > 1 ? within(&d->off[lo - 2], s, t_s) : 0;
    return fmax(last, other);
}

static void find_lateness(struct work *w, const struct fl_fit_shape *shape)
{
    for (size_t i = 0; i < w->d->n; i++) {
        const struct fl_exposure_rows *s = &w->d->sight[i];
        float *now = w->late + i * 2 * FL_EXPOSURE_ROWS;
        for (int k = 0; k < s->now.n; k++)
            now[k] = (float)late_at(w->d, shape, s->now.flip_s[k]);
        for (int k = 0; k < s->before.n; k++)
            now[k + FL_EXPOSURE_ROWS] = (float)late_at(w->d, shape, s->before.flip_s[k]);
    }
}

/* ---- one sight ---- */

/* Mean over rows of what they show, counts, and its slopes by lag, drift and extra. */
struct mean {
    double at[2], slope[3][2];
};

static void show(const struct work *w, const struct fl_shown *v, const float *late, struct mean *m)
{
    const struct fl_fit_data *d = w->d;
    memset(m, 0, sizeof *m);
    for (int k = 0; k < v->n; k++) {
        const double from_s = v->flip_s[k] - d->middle_s, z = (double)late[k], share = v->share[k];
        const double t = fl_clock_trace_time(&d->clock, v->flip_s[k]) - d->report_s / 2 +
                         w->value[FL_FIT_LAG] + w->value[FL_FIT_DRIFT] * from_s -
                         w->value[FL_FIT_EXTRA] * z;
        double at[2], speed[2];
        fl_trace_path_at(d->path, t, at);
        fl_trace_path_speed(d->path, t, speed);
        for (int axis = 0; axis < 2; axis++) {
            m->at[axis] += share * at[axis];
            m->slope[FL_FIT_LAG][axis] += share * speed[axis];
            m->slope[FL_FIT_DRIFT][axis] += share * speed[axis] * from_s;
            m->slope[FL_FIT_EXTRA][axis] -= share * speed[axis] * z;
        }
    }
}

static void fill_row(const struct work *w, size_t i, struct row *r)
{
    const struct fl_exposure_rows *s = &w->d->sight[i];
    const float *late = w->late + i * 2 * FL_EXPOSURE_ROWS;
    const double *v = w->value, seen[2] = {s->x, s->y};
    const double gain[2] = {w->d->clock.gain_x, w->d->clock.gain_y},
                 of_off = 1 + s->off * v[FL_FIT_GAIN_OFF];
    struct mean now, before;
    double length = 0;
    show(w, &s->now, late, &now);
    show(w, &s->before, late + FL_EXPOSURE_ROWS, &before);
    memset(r, 0, sizeof *r);
    for (int axis = 0; axis < 2; axis++) {
        const double own = 1 + v[FL_FIT_GAIN_X + axis], step = now.at[axis] - before.at[axis];
        const double shift = gain[axis] * own * of_off * step;
        r->residual[axis] = seen[axis] - shift;
        for (int u = FL_FIT_LAG; u <= FL_FIT_EXTRA; u++)
            r->slope[u][axis] =
                gain[axis] * own * of_off * (now.slope[u][axis] - before.slope[u][axis]);
        r->slope[FL_FIT_GAIN_X + axis][axis] = gain[axis] * of_off * step;
        r->slope[FL_FIT_GAIN_OFF][axis] = gain[axis] * own * s->off * step;
        length = hypot(length, shift);
    }
    r->size = w->d->grain + errors.spread * length;
    r->live = length > w->d->grain;
    r->off = s->off >= 0.5;
}

/* ---- weights ---- */

static double surprise(const struct row *r, const double scale[2])
{
    const double u = hypot(r->residual[0], r->residual[1]) / (r->size * scale[r->off]);
    return u * u;
}

static double trust(const struct row *r, const double scale[2])
{
    return (errors.tails + 2) / (errors.tails + surprise(r, scale));
}

/* Still frames of state off are predicted exactly: they must not make the moving ones look sure. */
static void find_scales(struct work *w)
{
    double sum[2], count[2];
    for (int round = 0; round < SCALE_ROUNDS; round++) {
        sum[0] = sum[1] = errors.usual_frames * errors.usual_scale * errors.usual_scale;
        count[0] = count[1] = errors.usual_frames;
        for (size_t i = 0; i < w->d->n; i++) {
            const struct row *r = &w->row[i];
            if (!r->live)
                continue;
            const double u = w->scale[r->off] * w->scale[r->off] * surprise(r, w->scale);
            sum[r->off] += trust(r, w->scale) * u / 2;
            count[r->off]++;
        }
        for (int off = 0; off < 2; off++)
            w->scale[off] = sqrt(sum[off] / count[off]);
    }
}

/* ---- equations ---- */

struct equations {
    double a[U][U], b[U];
};

static void add_row(struct equations *e, const struct row *r, double weight)
{
    for (int i = 0; i < U; i++) {
        e->b[i] += weight * (r->slope[i][0] * r->residual[0] + r->slope[i][1] * r->residual[1]);
        for (int j = 0; j < U; j++)
            e->a[i][j] +=
                weight * (r->slope[i][0] * r->slope[j][0] + r->slope[i][1] * r->slope[j][1]);
    }
}

static void build(struct work *w, struct equations block[BLOCKS])
{
    memset(block, 0, BLOCKS * sizeof *block);
    for (size_t i = 0; i < w->d->n; i++)
        fill_row(w, i, &w->row[i]);
    find_scales(w);
    for (size_t i = 0; i < w->d->n; i++) {
        const struct row *r = &w->row[i];
        const double error = r->size * w->scale[r->off];
        assert(error > 0);
        add_row(&block[i * BLOCKS / w->d->n], r,
                trust(r, w->scale) / (errors.alike * error * error));
    }
}

/* Distance from what is expected, in s.d.; the drift's is of all of it, not of the change. */
static double strain(const struct work *w, int unknown)
{
    const double had = unknown == FL_FIT_DRIFT ? 1e-6 * w->d->clock.drift_ppm : 0;
    return (w->value[unknown] + had) / expected[unknown];
}

/* Step and covariance from all blocks but one (skip < 0: from all). */
static bool step_without(const struct work *w, const struct equations *block, int skip,
                         double step[U], double cov[U][U], double *log_det)
{
    struct equations sum = {0};
    for (int k = 0; k < BLOCKS; k++)
        for (int i = 0; i < U && k != skip; i++) {
            sum.b[i] += block[k].b[i];
            for (int j = 0; j < U; j++)
                sum.a[i][j] += block[k].a[i][j];
        }
    for (int i = 0; i < U; i++) {
        sum.a[i][i] += 1 / (expected[i] * expected[i]);
        sum.b[i] -= strain(w, i) / expected[i];
    }
    if (!fl_linear_invert(&sum.a[0][0], U, &cov[0][0], log_det))
        return false;
    for (int i = 0; i < U; i++) {
        step[i] = 0;
        for (int j = 0; j < U; j++)
            step[i] += cov[i][j] * sum.b[j];
    }
    return true;
}

/* ---- the solution ---- */

/* Delete-one-block jackknife: neighbouring frames are alike, blocks are not. */
static double block_error(const struct work *w, const struct equations *block, int unknown)
{
    double value[BLOCKS], step[U], cov[U][U], unused, mean = 0, sum = 0;
    for (int k = 0; k < BLOCKS; k++) {
        if (!step_without(w, block, k, step, cov, &unused))
            return INFINITY;
        value[k] = step[unknown];
        mean += value[k] / BLOCKS;
    }
    for (int k = 0; k < BLOCKS; k++)
        sum += (value[k] - mean) * (value[k] - mean);
    return sqrt(sum * (BLOCKS - 1) / BLOCKS);
}

static double log_posterior(const struct work *w)
{
    double sum = 0;
    for (size_t i = 0; i < w->d->n; i++) {
        const struct row *r = &w->row[i];
        sum -= (errors.tails + 2) / 2 * log1p(surprise(r, w->scale) / errors.tails) +
               2 * log(r->size * w->scale[r->off]);
    }
    sum /= errors.alike;
    for (int i = 0; i < U; i++)
        sum -= strain(w, i) * strain(w, i) / 2;
    return sum;
}

static bool descend(struct work *w, struct equations block[BLOCKS], struct fl_fit *out)
{
    double step[U], log_det = 0;
    for (int round = 0; round < ROUNDS; round++) {
        build(w, block);
        if (!step_without(w, block, -1, step, out->cov, &log_det))
            return false;
        out->log_evidence = log_posterior(w) - log_det / 2;
        const bool settled = fabs(step[FL_FIT_LAG]) < search.settled_s &&
                             fabs(step[FL_FIT_EXTRA]) < search.settled_s;
        if (settled || round + 1 == ROUNDS)
            break;
        for (int i = 0; i < U; i++)
            w->value[i] +=
                i == FL_FIT_LAG || i == FL_FIT_EXTRA
                    ? fl_clamp(step[i], -search.longest_stride_s, search.longest_stride_s)
                    : step[i];
    }
    return true;
}

bool fl_fit_solve(struct fl_fit *out, const struct fl_fit_data *d, const struct fl_fit_shape *shape,
                  double extra_s)
{
    struct work w = {.d = d,
                     .late = FL_NEW(float, d->n * 2 * FL_EXPOSURE_ROWS),
                     .row = FL_NEW(struct row, d->n),
                     .scale = {1, 1}};
    struct equations *block = FL_NEW(struct equations, BLOCKS);
    memset(out, 0, sizeof *out);
    find_lateness(&w, shape);
    /* What the clock has taken for one delay is mostly that of fast motion, which is off. */
    w.value[FL_FIT_LAG] = w.value[FL_FIT_EXTRA] = extra_s;
    const bool solved = d->n >= 2 * BLOCKS && descend(&w, block, out);
    if (solved) {
        memcpy(out->value, w.value, sizeof out->value);
        out->se_lag =
            fmax(sqrt(out->cov[FL_FIT_LAG][FL_FIT_LAG]), block_error(&w, block, FL_FIT_LAG));
        out->se_extra =
            fmax(sqrt(out->cov[FL_FIT_EXTRA][FL_FIT_EXTRA]), block_error(&w, block, FL_FIT_EXTRA));
    }
    free(w.late);
    free(w.row);
    free(block);
    return solved;
}

void fl_fit_expected(const struct fl_fit_data *d, const struct fl_exposure_rows *s, double shift[2])
{
    const float never[FL_EXPOSURE_ROWS] = {0};
    const struct work w = {.d = d};
    struct mean now, before;
    show(&w, &s->now, never, &now);
    show(&w, &s->before, never, &before);
    shift[0] = d->clock.gain_x * (now.at[0] - before.at[0]);
    shift[1] = d->clock.gain_y * (now.at[1] - before.at[1]);
}
