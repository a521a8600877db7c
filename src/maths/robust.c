/* Medians, quantiles and spreads that a few wild values cannot move. */
#include "maths/robust.h"

#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/mem.h"

/* ---- order statistics ---- */

/* Type 7 quantile of v, n > 0, no NaN; reorders v. */
static double quantile_in_place(double *v, size_t n, double p)
{
    double h = (double)(n - 1) * (p < 0 ? 0 : p > 1 ? 1 : p);
    size_t k = (size_t)h;
    double g = h - (double)k, below = gsl_stats_select(v, 1, n, k), above = INFINITY;
    if (g == 0)
        return below;
    for (size_t i = k + 1; i < n; i++) /* selection leaves the larger values behind k */
        above = v[i] < above ? v[i] : above;
    return below == above ? below : below + g * (above - below);
}

double fl_quantile(const double *x, size_t n, double p)
{
    double *v = FL_NEW(double, n), q;
    size_t m = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            v[m++] = x[i];
    q = m && !isnan(p) ? quantile_in_place(v, m, p) : NAN;
    free(v);
    return q;
}

double fl_quantile_f(const float *x, size_t n, double p)
{
    double *v = FL_NEW(double, n), q;
    for (size_t i = 0; i < n; i++)
        v[i] = x[i];
    q = fl_quantile(v, n, p);
    free(v);
    return q;
}

double fl_median(const double *x, size_t n)
{
    return fl_quantile(x, n, 0.5);
}

#define MAD_TO_SIGMA 1.4826 /* 1/Φ⁻¹(¾), for a normal distribution */

double fl_mad_sigma(const double *x, size_t n)
{
    double middle = fl_median(x, n), *away = FL_NEW(double, n), mad;
    for (size_t i = 0; i < n; i++)
        away[i] = fabs(x[i] - middle);
    mad = fl_median(away, n);
    free(away);
    return MAD_TO_SIGMA * mad;
}

/* ---- moments ---- */

/* Mean of the known values, with a second pass against rounding; *m: how many. */
static double mean_known(const double *x, size_t n, size_t *m)
{
    double sum = 0, rest = 0;
    *m = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i])) {
            sum += x[i];
            ++*m;
        }
    double mean = sum / (double)*m; /* NaN for none */
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            rest += x[i] - mean;
    return isfinite(rest) ? mean + rest / (double)*m : mean;
}

double fl_mean(const double *x, size_t n)
{
    size_t m;
    return mean_known(x, n, &m);
}

double fl_sd(const double *x, size_t n)
{
    size_t m;
    double mean = mean_known(x, n, &m), squares = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            squares += (x[i] - mean) * (x[i] - mean);
    return m < 2 ? NAN : sqrt(squares / (double)(m - 1));
}

/* ---- lines ---- */

/* Points with their weights, unknown and weightless ones left out. */
struct points {
    double *x, *y, *w;
    size_t n;
};

static struct points known_points(const double *x, const double *y, const double *w, size_t n)
{
    double *block = FL_NEW(double, 3 * n);
    struct points p = {block, block + n, block + 2 * n, 0};
    for (size_t i = 0; i < n; i++) {
        double weight = w ? w[i] : 1;
        if (!isfinite(x[i]) || !isfinite(y[i]) || !isfinite(weight) || weight <= 0)
            continue;
        p.x[p.n] = x[i];
        p.y[p.n] = y[i];
        p.w[p.n++] = weight;
    }
    return p;
}

static bool two_distinct(const double *x, size_t n)
{
    for (size_t i = 1; i < n; i++)
        if (x[i] != x[0])
            return true;
    return false;
}

/* Centred weighted sums. */
struct sums {
    double w, mean_x, mean_y, xx, xy, yy;
};

static struct sums centred_sums(const double *x, const double *y, const double *w, size_t n)
{
    struct sums s = {0};
    for (size_t i = 0; i < n; i++) {
        s.w += w[i];
        s.mean_x += w[i] * x[i];
        s.mean_y += w[i] * y[i];
    }
    s.mean_x /= s.w;
    s.mean_y /= s.w;
    double rest_x = 0, rest_y = 0; /* what rounding left in the means */
    for (size_t i = 0; i < n; i++) {
        rest_x += w[i] * (x[i] - s.mean_x);
        rest_y += w[i] * (y[i] - s.mean_y);
    }
    s.mean_x += rest_x / s.w;
    s.mean_y += rest_y / s.w;
    for (size_t i = 0; i < n; i++) {
        double dx = x[i] - s.mean_x, dy = y[i] - s.mean_y;
        s.xx += w[i] * dx * dx;
        s.xy += w[i] * dx * dy;
        s.yy += w[i] * dy * dy;
    }
    return s;
}

static double residual(const struct fl_line *line, const struct points *p, size_t i)
{
    return p->y[i] - line->intercept - line->slope * p->x[i];
}

/* Fills the standard errors from the sums of the full-weight design. */
static void line_errors(struct fl_line *line, const struct sums *s, double residual_sd)
{
    line->residual_sd = residual_sd;
    line->slope_se = residual_sd / sqrt(s->xx);
    line->intercept_se = residual_sd * sqrt(1 / s->w + s->mean_x * s->mean_x / s->xx);
}

static void line_from_sums(struct fl_line *line, const struct sums *s)
{
    line->slope = s->xy / s->xx;
    line->intercept = s->mean_y - line->slope * s->mean_x;
}

int fl_line_fit(struct fl_line *out, const double *x, const double *y, size_t n)
{
    struct points p = known_points(x, y, NULL, n);
    *out = (struct fl_line){NAN, NAN, NAN, NAN, NAN, NAN, 0};
    int rc = two_distinct(p.x, p.n) ? 0 : -1;
    if (rc == 0) {
        struct sums s = centred_sums(p.x, p.y, p.w, p.n);
        double squares = 0;
        line_from_sums(out, &s);
        for (size_t i = 0; i < p.n; i++) {
            double r = (p.y[i] - s.mean_y) - out->slope * (p.x[i] - s.mean_x);
            squares += r * r;
        }
        line_errors(out, &s, p.n > 2 ? sqrt(squares / (double)(p.n - 2)) : NAN);
        out->r2 = s.yy > 0 ? 1 - squares / s.yy : NAN;
        out->used = p.n;
    }
    free(p.x);
    return rc;
}

/* Siegel's repeated median, on at most this many points, evenly taken: the cost is quadratic. */
enum { START_POINTS = 400 };

static void repeated_median(struct fl_line *line, const struct points *p)
{
    size_t step = (p->n + START_POINTS - 1) / START_POINTS, m = (p->n + step - 1) / step;
    double *outer = FL_NEW(double, 2 * m), *inner = outer + m;
    size_t slopes = 0;
    for (size_t i = 0; i < p->n; i += step) {
        size_t k = 0;
        for (size_t j = 0; j < p->n; j += step)
            if (p->x[j] != p->x[i])
                inner[k++] = (p->y[j] - p->y[i]) / (p->x[j] - p->x[i]);
        if (k)
            outer[slopes++] = quantile_in_place(inner, k, 0.5);
    }
    line->slope = slopes ? quantile_in_place(outer, slopes, 0.5) : 0;
    free(outer);
    double *level = FL_NEW(double, p->n);
    for (size_t i = 0; i < p->n; i++)
        level[i] = p->y[i] - line->slope * p->x[i];
    line->intercept = quantile_in_place(level, p->n, 0.5);
    free(level);
}

/* Scale of the weighted residuals about the line; never 0, so that exact data pass. */
static double residual_scale(const struct fl_line *line, const struct points *p)
{
    double *away = FL_NEW(double, p->n), largest = 0, scale;
    for (size_t i = 0; i < p->n; i++) {
        away[i] = fabs(residual(line, p, i)) * sqrt(p->w[i]);
        double size = (fabs(p->y[i]) + fabs(line->slope * p->x[i])) * sqrt(p->w[i]);
        largest = size > largest ? size : largest;
    }
    scale = MAD_TO_SIGMA * quantile_in_place(away, p->n, 0.5);
    free(away);
    return fmax(scale, 1e-13 * largest + 1e-300);
}

#define BISQUARE 4.685 /* 95 % efficient for normal errors */

/* One reweighting about the line; false when fewer than two x keep weight. */
static bool reweight(struct fl_line *line, const struct points *p, double scale, double *w)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->n; i++) {
        double u = residual(line, p, i) * sqrt(p->w[i]) / (BISQUARE * scale);
        w[i] = fabs(u) < 1 ? p->w[i] * (1 - u * u) * (1 - u * u) : 0;
        if (w[i] > 0) {
            low = fmin(low, p->x[i]);
            high = fmax(high, p->x[i]);
        }
    }
    if (!(high > low))
        return false;
    struct sums s = centred_sums(p->x, p->y, w, p->n);
    line_from_sums(line, &s);
    line->r2 = s.yy > 0 ? s.xy * s.xy / (s.xx * s.yy) : NAN;
    return true;
}

static void bisquare(struct fl_line *line, const struct points *p, double scale)
{
    double *w = FL_NEW(double, p->n);
    struct fl_line last;
    int turn = 0;
    do
        last = *line;
    while (reweight(line, p, scale, w) && ++turn < 100 &&
           (fabs(line->slope - last.slope) > 1e-14 * fabs(line->slope) ||
            fabs(line->intercept - last.intercept) > 1e-12 * scale));
    free(w);
}

/* Huber's asymptotic variance of an M-estimate: s²·mean ψ² / (mean ψ')². */
static void robust_errors(struct fl_line *line, const struct points *p, double scale, double origin)
{
    double psi2 = 0, slope = 0;
    struct sums s = centred_sums(p->x, p->y, p->w, p->n);
    line->used = 0;
    for (size_t i = 0; i < p->n; i++) {
        double u = residual(line, p, i) * sqrt(p->w[i]) / scale, v = u / BISQUARE, q = 1 - v * v;
        if (fabs(v) >= 1)
            continue;
        psi2 += u * u * q * q * q * q;
        slope += q * (q - 4 * v * v);
        line->used++;
    }
    slope /= (double)p->n;
    double sd = p->n > 2 && slope > 0 ? scale * sqrt(psi2 / (double)(p->n - 2)) / slope : NAN;
    s.mean_x += origin;
    line_errors(line, &s, sd);
}

int fl_line_fit_robust(struct fl_line *out, const double *x, const double *y, const double *w,
                       size_t n)
{
    struct points p = known_points(x, y, w, n);
    *out = (struct fl_line){NAN, NAN, NAN, NAN, NAN, NAN, 0};
    int rc = two_distinct(p.x, p.n) ? 0 : -1;
    if (rc == 0) {
        double origin = p.x[0];
        for (size_t i = 0; i < p.n; i++) /* large times keep their digits */
            p.x[i] -= origin;
        repeated_median(out, &p);
        double scale = residual_scale(out, &p);
        bisquare(out, &p, scale);
        robust_errors(out, &p, scale, origin);
        out->intercept -= out->slope * origin;
    }
    free(p.x);
    return rc;
}
