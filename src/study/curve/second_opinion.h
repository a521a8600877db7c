/* A second opinion on a setting's trip speed: all flicks alike, by Firth's penalised likelihood
 * (maths/logistic.h). It knows no takes, no strays and no other setting. */
#ifndef FL_STUDY_CURVE_SECOND_OPINION_H
#define FL_STUDY_CURVE_SECOND_OPINION_H

#include "study/curve/curve.h"

/* Slope in logits an octave; NaN when there is nothing to fit (one speed). */
double fl_second_slope(const struct fl_curve *c);
/* Sets other_v50 and its limits where the two differ: one's V50 lies outside the 95 % interval of
 * the other. */
void fl_second_opinion(struct fl_curve *c);

#endif
