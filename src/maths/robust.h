/* Order statistics and robust fits. Arrays are not changed. NaN entries are ignored everywhere
 * here (in fits: points with a NaN), results are NaN if too few remain. */
#ifndef FL_MATHS_ROBUST_H
#define FL_MATHS_ROBUST_H

#include <stddef.h>

/* Hyndman & Fan type 7 quantile, p in 0..1. */
double fl_quantile(const double *x, size_t n, double p);
double fl_quantile_f(const float *x, size_t n, double p);
double fl_median(const double *x, size_t n);
double fl_mad_sigma(const double *x, size_t n); /* 1.4826 × median absolute deviation */
double fl_mean(const double *x, size_t n);
double fl_sd(const double *x, size_t n); /* two-pass, n-1 */

struct fl_line {
    double intercept, slope, intercept_se, slope_se, residual_sd, r2;
    size_t used; /* points kept */
};
/* Ordinary least squares of y on x (centred, twice, against rounding). 0, or -1 under 2 distinct x.
 * Standard errors and residual_sd are NaN for 2 points. */
int fl_line_fit(struct fl_line *out, const double *x, const double *y, size_t n);
/* Repeated-median start (breakdown 50 %; on at most 400 points, evenly taken), its residual scale
 * kept, then Tukey bisquare reweighting; errors by Huber's asymptotic variance. w: weights
 * (1/variance up to a factor) or NULL; residual_sd is for weight 1. r2 of the points kept. */
int fl_line_fit_robust(struct fl_line *out, const double *x, const double *y, const double *w,
                       size_t n);

#endif
