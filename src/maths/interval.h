/* Intervals for proportions, distribution quantiles, multiple testing, ROC. */
#ifndef FL_MATHS_INTERVAL_H
#define FL_MATHS_INTERVAL_H

#include <stdbool.h>
#include <stddef.h>

/* A proportion's interval by the score (Wilson 1927). Limits stay in 0..1; n = 0 gives 0..1; counts
 * outside 0..n or a level outside (0, 1) give NaN. Counts need not be whole. */
void fl_wilson(double successes, double n, double level, double *low, double *high);
/* Distributions: NaN for arguments outside their range. */
double fl_normal_quantile(double p);
double fl_normal_cdf(double z);
double fl_chi2_quantile(double p, double df);
double fl_chi2_upper(double x, double df); /* P(χ² > x) */
double fl_t_quantile(double p, double df);
double fl_t_upper2(double t, double df); /* two-sided p */
/* Holm's step-down adjustment in place of p (n); NaN entries stay and do not count. */
void fl_holm(double *p, size_t n);
/* Area under the ROC curve, ties count ½; NaN when one class is absent. NaN x are left out. */
double fl_auc(const double *x, const bool *y, size_t n);

#endif
