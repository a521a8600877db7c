/* Quantiles and distribution functions by GSL, Wilson's score interval (Wilson 1927), the area
 * under an ROC curve and Holm's adjustment. */
#include "maths/interval.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>

#include "base/mem.h"

/* By default the library ends the process when an iteration fails, instead of returning NaN. */
static void handler_off(void)
{
    gsl_set_error_handler_off();
}

static void keep_going(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, handler_off);
}

/* ---- distributions ---- */

double fl_normal_quantile(double p)
{
    return p >= 0 && p <= 1 ? gsl_cdf_ugaussian_Pinv(p) : NAN;
}

double fl_normal_cdf(double z)
{
    return isnan(z) ? NAN : gsl_cdf_ugaussian_P(z);
}

double fl_chi2_quantile(double p, double df)
{
    keep_going();
    if (!(p >= 0 && p <= 1 && df > 0))
        return NAN;
    return p == 1 ? INFINITY : gsl_cdf_chisq_Pinv(p, df);
}

double fl_chi2_upper(double x, double df)
{
    keep_going();
    return isnan(x) || !(df > 0) ? NAN : x <= 0 ? 1 : gsl_cdf_chisq_Q(x, df);
}

double fl_t_quantile(double p, double df)
{
    keep_going();
    if (!(p >= 0 && p <= 1 && df > 0))
        return NAN;
    return p == 0 ? -INFINITY : p == 1 ? INFINITY : gsl_cdf_tdist_Pinv(p, df);
}

double fl_t_upper2(double t, double df)
{
    keep_going();
    return isnan(t) || !(df > 0) ? NAN : 2 * gsl_cdf_tdist_Q(fabs(t), df);
}

/* ---- proportions ---- */

static bool is_proportion(double successes, double n, double level)
{
    return successes >= 0 && successes <= n && n > 0 && level > 0 && level < 1;
}

void fl_wilson(double successes, double n, double level, double *low, double *high)
{
    *low = n == 0 ? 0 : NAN;
    *high = n == 0 ? 1 : NAN;
    if (!is_proportion(successes, n, level))
        return;
    double z = fl_normal_quantile(0.5 + level / 2), z2 = z * z, p = successes / n;
    double middle = (successes + z2 / 2) / (n + z2);
    double half = z / (n + z2) * sqrt(p * (n - successes) + z2 / 4);
    *low = successes == 0 ? 0 : fmax(middle - half, 0); /* exact ends, whatever rounding says */
    *high = successes == n ? 1 : fmin(middle + half, 1);
}

/* ---- many tests ---- */

struct entry {
    double value;
    size_t at;
};

static int by_value(const void *a, const void *b)
{
    double x = ((const struct entry *)a)->value, y = ((const struct entry *)b)->value;
    return (x > y) - (x < y);
}

/* The known values, smallest first; free the result. */
static struct entry *sorted(const double *x, size_t n, size_t *m)
{
    struct entry *e = FL_NEW(struct entry, n);
    *m = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            e[(*m)++] = (struct entry){x[i], i};
    qsort(e, *m, sizeof *e, by_value);
    return e;
}

void fl_holm(double *p, size_t n)
{
    size_t m;
    struct entry *e = sorted(p, n, &m);
    double last = 0;
    for (size_t i = 0; i < m; i++) {
        last = fmax(last, fmin((double)(m - i) * e[i].value, 1));
        p[e[i].at] = last;
    }
    free(e);
}

double fl_auc(const double *x, const bool *y, size_t n)
{
    size_t m, ones = 0;
    struct entry *e = sorted(x, n, &m);
    double won = 0, zeros_below = 0;
    for (size_t i = 0, end; i < m; i = end) { /* one group of equal values at a time */
        double group_ones = 0, group_zeros = 0;
        for (end = i; end < m && e[end].value == e[i].value; end++)
            *(y[e[end].at] ? &group_ones : &group_zeros) += 1;
        won += group_ones * (zeros_below + group_zeros / 2);
        zeros_below += group_zeros;
        ones += (size_t)group_ones;
    }
    free(e);
    return ones && zeros_below > 0 ? won / ((double)ones * zeros_below) : NAN;
}
