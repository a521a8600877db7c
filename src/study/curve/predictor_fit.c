/* How well one quantity predicts trips: deviance and area under the ROC curve, and on takes left
 * out. */
#include "study/curve/predictor_fit.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/interval.h"
#include "maths/logistic.h"
#include "maths/robust.h"

void fl_predictor_fit(struct fl_predictor_fit *out, const double *x, const bool *y, size_t n)
{
    struct fl_logistic l;
    *out = (struct fl_predictor_fit){FL_UNKNOWN, fl_auc(x, y, n)};
    if (!fl_known(out->auc))
        return;
    if (!fl_logistic_fit(&l, x, y, n, false) || !fl_logistic_fit(&l, x, y, n, true))
        out->deviance_explained = 1 - l.deviance / l.null_deviance;
}

static double deviance_at(double logit, bool y)
{
    double z = y ? -logit : logit;
    return 2 * (z > 30 ? z : log1p(exp(z)));
}

/* Deviance of take k under the others; NaN when the fit fails. */
static double left_out(const double *x, const bool *y, const size_t *take, size_t n, size_t k)
{
    double *rest = FL_NEW(double, n), sum = 0;
    bool *outcome = FL_NEW(bool, n);
    size_t m = 0;
    for (size_t i = 0; i < n; i++)
        if (take[i] != k) {
            rest[m] = x[i];
            outcome[m++] = y[i];
        }
    struct fl_logistic l;
    bool failed = fl_logistic_fit(&l, rest, outcome, m, true);
    for (size_t i = 0; i < n && !failed; i++)
        if (take[i] == k)
            sum += deviance_at(l.alpha + l.beta * x[i], y[i]);
    free(rest);
    free(outcome);
    return failed ? FL_UNKNOWN : sum;
}

bool fl_predictor_cross_validate(double *deviance, const double *x, const bool *y,
                                 const size_t *take, size_t n, size_t takes)
{
    bool whole = n > 0;
    for (size_t k = 0; k < takes && whole; k++) {
        deviance[k] = left_out(x, y, take, n, k);
        whole = fl_known(deviance[k]);
    }
    return whole;
}

void fl_predictor_lead(struct fl_predictor_lead *out, const double *a, const double *b,
                       size_t takes)
{
    double *d = FL_NEW(double, takes + 1);
    for (size_t k = 0; k < takes; k++)
        d[k] = b[k] - a[k];
    out->mean = takes ? fl_mean(d, takes) : FL_UNKNOWN;
    out->se = takes < 3 ? FL_UNKNOWN : fl_sd(d, takes) / sqrt((double)takes);
    free(d);
}

bool fl_predictor_beats(const double *a, const double *b, size_t takes)
{
    struct fl_predictor_lead l;
    fl_predictor_lead(&l, a, b, takes);
    return fl_known(l.se) && l.mean > l.se;
}
