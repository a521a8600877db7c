/* Logistic regression of one predictor by Firth's penalised likelihood (Firth 1993),
 * with profile penalised-likelihood intervals (Heinze & Schemper 2002). */
#ifndef FL_MATHS_LOGISTIC_H
#define FL_MATHS_LOGISTIC_H

#include <stdbool.h>
#include <stddef.h>

struct fl_logistic {
    double alpha, beta;       /* P(y) = logistic(α + β·x) */
    double alpha_se, beta_se; /* inverse information at the estimate (not the augmented one) */
    double loglik;            /* penalised; plain for a plain fit */
    double deviance, null_deviance; /* unpenalised, at these estimates / at the common rate */
    bool separated;                 /* both y occur and their x touch at most in one value */
};

/* Points whose x is not finite are left out everywhere here.
 * firth false: plain maximum likelihood (fails on separated data and on one y alone).
 * 0 on success; -1 with NaN figures when there is nothing to fit (n < 2, one x, no convergence).
 * About 25 µs for 100 points. */
int fl_logistic_fit(struct fl_logistic *out, const double *x, const bool *y, size_t n, bool firth);

/* Interval, level e.g. 0.95, of the x at which P = p (0.5: V50): the connected part about the
 * estimate that the penalised likelihood ratio does not reject. An open end is ±INFINITY; both are
 * when the slope tells nothing. -1 and NaN as for the fit or for a p or level outside (0, 1). */
int fl_logistic_profile_x(const double *x, const bool *y, size_t n, double p, double level,
                          double *low, double *high);
double fl_logistic_p(double alpha, double beta, double x); /* overflow-safe */

#endif
