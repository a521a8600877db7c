/* Does one of a few values stand out? Each against the rest, by Student's t of its externally
 * studentised residual. */
#include "maths/outlier.h"

#include <math.h>

#include "maths/interval.h"

struct sums {
    double n, mean, scatter, errors;
};

static bool counts(const struct fl_member *m, size_t i, size_t group, size_t without)
{
    return m[i].group == group && m[i].reference && i != without;
}

static struct sums sums_of(const struct fl_member *m, size_t n, size_t group, size_t without)
{
    struct sums s = {0, 0, 0, 0};
    for (size_t i = 0; i < n; i++)
        if (counts(m, i, group, without)) {
            s.n++;
            s.mean += m[i].value;
            s.errors += (m[i].down * m[i].down + m[i].up * m[i].up) / 2;
        }
    s.mean /= s.n;
    for (size_t i = 0; i < n; i++)
        if (counts(m, i, group, without))
            s.scatter += (m[i].value - s.mean) * (m[i].value - s.mean);
    return s;
}

static bool first_of_group(const struct fl_member *m, size_t i)
{
    for (size_t j = 0; j < i; j++)
        if (m[j].group == m[i].group)
            return false;
    return true;
}

/* Variance of one value, and what of it the errors would make. */
static double pooled(const struct fl_member *m, size_t n, size_t without, double *errors,
                     double *df)
{
    double scatter = 0, all = 0;
    *df = *errors = 0;
    for (size_t i = 0; i < n; i++) {
        if (!first_of_group(m, i))
            continue;
        struct sums s = sums_of(m, n, m[i].group, without);
        if (s.n < 2)
            continue;
        scatter += s.scatter;
        *df += s.n - 1;
        *errors += s.errors;
        all += s.n;
    }
    *errors /= all;
    return scatter / *df;
}

static double p_of(const struct fl_left_out *o)
{
    double d = fabs(o->difference);
    if (d == 0)
        return 1;
    double t = o->sd > 0 ? fl_t_upper2(d / o->sd, o->df) : 0;
    double z = o->error > 0 ? 2 * fl_normal_cdf(-d / o->error) : 0;
    return fmax(t, z);
}

struct fl_left_out fl_leave_out(const struct fl_member *m, size_t n, size_t k)
{
    struct fl_left_out out = {NAN, NAN, NAN, NAN, NAN};
    struct sums others = sums_of(m, n, m[k].group, k);
    double d = m[k].value - others.mean, own = d > 0 ? m[k].down : m[k].up, errors;
    if (others.n < 2 || isnan(d) || isnan(own))
        return out;
    double variance = pooled(m, n, k, &errors, &out.df);
    out.difference = d;
    out.sd = sqrt(variance * (1 + 1 / others.n) + fmax(0, own * own - errors));
    out.error = sqrt(own * own + others.errors / (others.n * others.n));
    out.p = p_of(&out);
    return out;
}

double fl_left_out_needs(const struct fl_left_out *o, double p)
{
    return fmax(o->sd * fl_t_quantile(1 - p / 2, o->df), o->error * fl_normal_quantile(1 - p / 2));
}

void fl_sd_limits(double sd, double df, double level, double *low, double *high)
{
    bool usable = df > 0 && level > 0 && level < 1;
    *low = usable ? sd * sqrt(df / fl_chi2_quantile(0.5 + level / 2, df)) : NAN;
    *high = usable ? sd * sqrt(df / fl_chi2_quantile(0.5 - level / 2, df)) : NAN;
}
