/* Logistic regression of one predictor by Firth's penalised likelihood (Firth 1993),
 * with profile penalised-likelihood intervals (Heinze & Schemper 2002). */
#ifndef FL_MATHS_LOGISTIC_H
#define FL_MATHS_LOGISTIC_H

#include <stdbool.h>
#include <stddef.h>

struct fl_logistic {
    double alpha, beta;       /* P(y) = logistic(α + β·x) */
    double alpha_se, beta_se; /* inverse information at the estimate */
    double loglik;            /* penalised */
    double deviance, null_deviance; /* unpenalised, at these estimates / at the common rate */
    bool separated;           /* the x of y=0 and of y=1 do not overlap */
};

/* firth false: plain maximum likelihood (fails on separated data).
 * 0 on success; -1 when there is nothing to fit (n < 2, one x, no convergence). */
int fl_logistic_fit(struct fl_logistic *out, const double *x, const bool *y, size_t n, bool firth);

/* Profile interval, level e.g. 0.95, of the x at which P = p (0.5: V50), of β, of α.
 * An open end is ±INFINITY. */
int fl_logistic_profile_x(const double *x, const bool *y, size_t n, double p, double level, double *low, double *high);
int fl_logistic_profile_beta(const double *x, const bool *y, size_t n, double level, double *low, double *high);
int fl_logistic_profile_alpha(const double *x, const bool *y, size_t n, double level, double *low, double *high);
/* Penalised log-likelihood maximised with the x of P=½ fixed at x0; NaN if it fails. */
double fl_logistic_profile_loglik(const double *x, const bool *y, size_t n, double x0);
double fl_logistic_p(double alpha, double beta, double x); /* overflow-safe */

#endif
