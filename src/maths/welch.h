/* Differences of two independent estimates whose variances are estimated too. */
#ifndef FL_MATHS_WELCH_H
#define FL_MATHS_WELCH_H

#include <stddef.h>

struct fl_difference {
    double difference, low, high, df, p;
}; /* p: two-sided, of no difference */

/* Student's t at Welch's and Satterthwaite's degrees of freedom (Welch 1947, Biometrika 34:28-35).
 * variance_*: of the two estimates, not of single observations. Interval, df and p are NaN when a
 * variance is unknown or below zero, a number of degrees of freedom is not above zero, or both
 * variances are zero. */
void fl_welch_satterthwaite(struct fl_difference *out, double difference, double variance_a,
                            double df_a, double variance_b, double df_b, double level);
/* Mean of a minus mean of b. NaN entries are left out; under two of either leave interval, df and p
 * NaN. */
void fl_welch(struct fl_difference *out, const double *a, size_t n_a, const double *b, size_t n_b,
              double level);

#endif
