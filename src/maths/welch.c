/* Two means with unequal variances (Welch 1947). */
#include "maths/welch.h"

#include <math.h>

#include "base/units.h"
#include "maths/interval.h"
#include "maths/robust.h"

void fl_welch_satterthwaite(struct fl_difference *out, double difference, double variance_a,
                            double df_a, double variance_b, double df_b, double level)
{
    double variance = variance_a + variance_b;
    *out = (struct fl_difference){difference, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    if (!(variance_a >= 0 && variance_b >= 0 && variance > 0 && df_a > 0 && df_b > 0))
        return;
    out->df =
        variance * variance / (variance_a * variance_a / df_a + variance_b * variance_b / df_b);
    double half = fl_t_quantile((1 + level) / 2, out->df) * sqrt(variance);
    out->low = difference - half;
    out->high = difference + half;
    out->p = fl_t_upper2(difference / sqrt(variance), out->df);
}

struct sample {
    double mean, variance, df;
}; /* variance of the mean */

static struct sample summary(const double *x, size_t n)
{
    size_t known = 0;
    for (size_t i = 0; i < n; i++)
        known += fl_known(x[i]);
    double sd = fl_sd(x, n), m = (double)known;
    return (struct sample){fl_mean(x, n), known > 1 ? sd * sd / m : FL_UNKNOWN, m - 1};
}

void fl_welch(struct fl_difference *out, const double *a, size_t n_a, const double *b, size_t n_b,
              double level)
{
    struct sample s = summary(a, n_a), t = summary(b, n_b);
    fl_welch_satterthwaite(out, s.mean - t.mean, s.variance, s.df, t.variance, t.df, level);
}
