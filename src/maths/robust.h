/* Order statistics and robust fits. Arrays are not changed unless said. */
#ifndef FL_MATHS_ROBUST_H
#define FL_MATHS_ROBUST_H

#include <stddef.h>

/* Hyndman & Fan type 7 quantile, p in 0..1; NaN entries are ignored; NaN if none remain. */
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
/* Ordinary least squares of y on x (centred, QR-stable for one predictor). */
int fl_line_fit(struct fl_line *out, const double *x, const double *y, size_t n); /* 0, or -1 under 2 distinct x */
/* Repeated-median start, then Tukey bisquare reweighting; weights may be NULL. */
int fl_line_fit_robust(struct fl_line *out, const double *x, const double *y, const double *w, size_t n);

#endif
