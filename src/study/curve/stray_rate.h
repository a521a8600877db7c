/* Trip curve with a stray rate: a share of flicks whose outcome goes against the curve (a lapse
 * read wrongly, a load on the machine, a hitch), at any speed. */
#ifndef FL_STUDY_CURVE_STRAY_RATE_H
#define FL_STUDY_CURVE_STRAY_RATE_H

#include <stdbool.h>
#include <stddef.h>

#define FL_STRAY_MOST 0.1 /* largest stray rate; a larger one is no stray rate but another law */

/* P(tripped) = rate + (1 - 2·rate)·logistic(beta·(x - theta)). */
struct fl_stray {
    double theta, beta; /* octaves, logit per octave */
    double rate;        /* 0..FL_STRAY_MOST */
    double gain; /* twice the log-likelihood that a rate above 0 gains, unpenalised; at least 0 */
};

/* Maximises the likelihood times the square root of the information on (alpha, beta) (Firth 1993;
 * the same penalty as fl_logistic_fit, of which it is the limit at rate 0) times (1 - rate)^10, as
 * if ten flicks more had been seen and none had strayed. x: log2 peak, finite. 0 on success; -1 and
 * NaN when the plain fit fails or its slope is not above 0. Under a gain of 1 the plain fit stands,
 * rate 0. Some ms for 100 flicks. */
int fl_stray_fit(struct fl_stray *out, const double *x, const bool *y, size_t n);
/* Profile interval of theta; ±INFINITY where open. fit: from fl_stray_fit of the same flicks. */
void fl_stray_limits(const struct fl_stray *fit, const double *x, const bool *y, size_t n,
                     double level, double *low, double *high);
/* guess + (1 - guess - lapse)·p (Wichmann & Hill 2001). */
double fl_stray_p(double guess, double lapse, double p);
/* Chance that the flick went against the curve, given what it did. */
double fl_stray_chance(const struct fl_stray *fit, double x, bool y);

#endif
