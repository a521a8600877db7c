/* Delay from the end of a flick to the return. */
#ifndef FL_STUDY_DELAY_H
#define FL_STUDY_DELAY_H

#include "study/take.h"

/* Quantile of delays known only to lie in [low, high] (high may be INFINITY), by the
 * self-consistent estimate of Turnbull 1976 (JRSS B 38:290-295). Mass inside an innermost
 * bracket is put at its far end. NaN for n = 0; INFINITY when it lies beyond all ends. */
double fl_bracket_quantile(const double *low, const double *high, size_t n, double p);

/* 95th percentile over the take's lapses; NaN under five, or when it lies beyond all ends. */
double fl_return_delay(const struct fl_take *t);

#endif
