/* Frames and reports → speeds on one grid; squeezing; taking off slow motion.
 *
 * Squeezing v/sqrt(1 + (v/scale)^2) bounds the say of the fastest flick, as a robust estimator's
 * influence is bounded; taking off a running mean leaves what differs from a steady pan. */
#include "clock/speed_track.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

/* Choices. */
static const struct {
    double longest_step_s; /* a frame later than this after the one before tells nothing about where
                              its shift fell, s */
    double covered;        /* share of the window that frames must cover for a speed to be known */
    double rest;           /* times the median speed, up to which it is rest, noise or tracking */
} model = {.longest_step_s = 0.1, .covered = 0.6, .rest = 2};

static void pace_new(struct fl_speed_track *t, double start_s, double step_s, double end_s)
{
    memset(t, 0, sizeof *t);
    t->start_s = start_s;
    t->step_s = step_s;
    t->n = end_s > start_s ? (size_t)((end_s - start_s) / step_s) + 1 : 0;
    t->x = FL_NEW(float, t->n);
    t->y = FL_NEW(float, t->n);
    t->known = FL_NEW(unsigned char, t->n);
}

void fl_speed_track_finish(struct fl_speed_track *t)
{
    free(t->x);
    free(t->y);
    free(t->known);
    memset(t, 0, sizeof *t);
}

static int by_size(const void *a, const void *b)
{
    const float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

/* Half of the path beyond this floor is run slower than the result. */
static double path_median(const float *sorted, size_t n, double floor)
{
    double total = 0, sum = 0;
    for (size_t k = 0; k < n; k++)
        total += fmax(0, (double)sorted[k] - floor);
    size_t k = 0;
    while (k + 1 < n && sum + fmax(0, (double)sorted[k] - floor) < total / 2) {
        sum += fmax(0, (double)sorted[k] - floor);
        k++;
    }
    return total > 0 ? (double)sorted[k] : 0;
}

/* Rest, noise and slow tracking are most of the time: they must not set the scale of the flicks. */
static double typical_speed(const struct fl_speed_track *t)
{
    float *speed = FL_NEW(float, t->n);
    size_t n = 0;
    for (size_t k = 0; k < t->n; k++)
        if (t->known[k])
            speed[n++] = hypotf(t->x[k], t->y[k]);
    qsort(speed, n, sizeof *speed, by_size);
    double scale = n ? path_median(speed, n, model.rest * (double)speed[n / 2]) : 0;
    if (n && !(scale > 0))
        scale = path_median(speed, n, 0);
    free(speed);
    return scale;
}

static void squeeze(struct fl_speed_track *t, double softness)
{
    t->scale = softness * typical_speed(t);
    for (size_t k = 0; k < t->n && t->scale > 0; k++) {
        const double v = hypot((double)t->x[k], (double)t->y[k]) / t->scale;
        const double f = 1 / (t->scale * sqrt(1 + v * v));
        t->x[k] = (float)((double)t->x[k] * f);
        t->y[k] = (float)((double)t->y[k] * f);
    }
}

/* Shift and time covered in each cell of the grid. */
struct cells {
    size_t n;
    double *x, *y, *covered;
};

/* Spreads a frame's shift evenly over the time since the frame before. */
static void deposit(struct cells *c, double origin_s, double from_s, double to_s, double x,
                    double y)
{
    const double a = (from_s - origin_s) / FL_SPEED_STEP_S, b = (to_s - origin_s) / FL_SPEED_STEP_S;
    for (double k = floor(a); k < b; k++) {
        const double part = fmin(b, k + 1) - fmax(a, k);
        if (k < 0 || k >= (double)c->n || part <= 0)
            continue;
        const size_t i = (size_t)k;
        c->x[i] += x * part / (b - a);
        c->y[i] += y * part / (b - a);
        c->covered[i] += part * FL_SPEED_STEP_S;
    }
}

static void mean_speed(struct fl_speed_track *t, const struct cells *c)
{
    for (size_t k = 1; k + 1 < t->n; k++) {
        const double covered = c->covered[k - 1] + c->covered[k] + c->covered[k + 1];
        if (covered < model.covered * FL_SPEED_WINDOW_S)
            continue;
        t->x[k] = (float)((c->x[k - 1] + c->x[k] + c->x[k + 1]) / covered);
        t->y[k] = (float)((c->y[k - 1] + c->y[k] + c->y[k + 1]) / covered);
        t->known[k] = 1;
    }
}

void fl_speed_track_of_picture(struct fl_speed_track *out, const struct fl_shift_series *p,
                               double softness)
{
    const double first = p->n ? p->time_s[0] : 0, last = p->n ? p->time_s[p->n - 1] : 0;
    pace_new(out, first + FL_SPEED_STEP_S / 2, FL_SPEED_STEP_S, last);
    struct cells c = {out->n, FL_NEW(double, out->n), FL_NEW(double, out->n),
                      FL_NEW(double, out->n)};
    for (size_t i = 1; i < p->n; i++) {
        const double step = p->time_s[i] - p->time_s[i - 1];
        if (isfinite(p->x[i]) && isfinite(p->y[i]) && step > 0 && step <= model.longest_step_s)
            deposit(&c, first, p->time_s[i - 1], p->time_s[i], p->x[i], p->y[i]);
    }
    mean_speed(out, &c);
    squeeze(out, softness);
    free(c.x);
    free(c.y);
    free(c.covered);
}

void fl_speed_track_of_motion(struct fl_speed_track *out, const struct fl_motion *motion,
                              double start_s, double end_s)
{
    pace_new(out, start_s, FL_SPEED_FINE_S, end_s);
    for (size_t k = 0; k < out->n; k++) {
        double x, y;
        fl_motion_rate(motion, start_s + (double)k * FL_SPEED_FINE_S, FL_SPEED_WINDOW_S, &x, &y);
        out->x[k] = (float)x;
        out->y[k] = (float)y;
        out->known[k] = 1;
    }
    squeeze(out, 1);
}

/* Sum of the first k values. */
static double *running_sums(const float *v, size_t n)
{
    double *sum = FL_NEW(double, n + 1);
    for (size_t k = 0; k < n; k++)
        sum[k + 1] = sum[k] + (double)v[k];
    return sum;
}

static double *running_known(const struct fl_speed_track *t)
{
    double *sum = FL_NEW(double, t->n + 1);
    for (size_t k = 0; k < t->n; k++)
        sum[k + 1] = sum[k] + t->known[k];
    return sum;
}

void fl_speed_track_sharpen(struct fl_speed_track *t)
{
    const size_t half = (size_t)lround(FL_SPEED_SLOW_S / 2 / t->step_s);
    double *x = running_sums(t->x, t->n), *y = running_sums(t->y, t->n), *known = running_known(t);
    for (size_t k = 0; k < t->n; k++) {
        const size_t a = k < half ? 0 : k - half, b = k + half + 1 < t->n ? k + half + 1 : t->n;
        const double count = known[b] - known[a];
        if (!t->known[k] || count < 1)
            continue;
        t->x[k] -= (float)((x[b] - x[a]) / count);
        t->y[k] -= (float)((y[b] - y[a]) / count);
    }
    free(x);
    free(y);
    free(known);
}
