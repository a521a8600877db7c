/* Logistic regression on one predictor: plain, and with Firth's penalty (Firth 1993), by Newton
 * steps with step halving. */
#include "maths/logistic.h"

#include <math.h>

#include "maths/logistic_likelihood.h"

double fl_logistic_p(double alpha, double beta, double x)
{
    double eta = alpha + beta * x, t = exp(-fabs(eta));
    return eta >= 0 ? 1 / (1 + t) : t / (1 + t);
}

/* x log x, 0 at 0. */
static double x_log_x(double x)
{
    return x > 0 ? x * log(x) : 0;
}

static double null_deviance(const struct fl_likelihood *l)
{
    double n = (double)l->n, ones = (double)l->ones;
    return 2 * (x_log_x(n) - x_log_x(ones) - x_log_x(n - ones));
}

static bool is_separated(const struct fl_likelihood *l)
{
    return l->ones > 0 && l->ones < l->n && (l->high[0] <= l->low[1] || l->high[1] <= l->low[0]);
}

static void to_data_units(struct fl_logistic *out, const struct fl_likelihood *l,
                          const struct fl_summit *s)
{
    double origin = -l->mean / l->scale; /* z of x = 0 */
    out->beta = s->b / l->scale;
    out->alpha = s->a + s->b * origin;
    out->beta_se = 1 / (sqrt(s->info_slope) * l->scale);
    out->alpha_se =
        sqrt(1 / s->info_level + (origin - s->centre) * (origin - s->centre) / s->info_slope);
    out->loglik = s->value + (l->firth ? log(l->scale) : 0); /* |information| in units of x */
    out->deviance = -2 * s->plain;
    out->null_deviance = null_deviance(l);
    out->separated = is_separated(l);
}

int fl_logistic_fit(struct fl_logistic *out, const double *x, const bool *y, size_t n, bool firth)
{
    struct fl_likelihood l;
    *out = (struct fl_logistic){NAN, NAN, NAN, NAN, NAN, NAN, NAN, false};
    if (fl_likelihood_init(&l, x, y, n, firth) != 0)
        return -1;
    /* without overlap the plain likelihood grows for ever */
    int rc = firth || (l.ones > 0 && l.ones < l.n && !is_separated(&l)) ? 0 : -1;
    if (rc == 0) {
        struct fl_summit s;
        rc = fl_likelihood_top(&l, &s);
        if (rc == 0)
            to_data_units(out, &l, &s);
    }
    out->separated = is_separated(&l);
    fl_likelihood_finish(&l);
    return rc;
}
