/* How long after a flick synthesis comes back on. */
#ifndef FL_STUDY_TAKE_RETURN_DELAY_H
#define FL_STUDY_TAKE_RETURN_DELAY_H

#include "study/take/take.h"

/* 95th percentile of return after a flick's end, over the take's lapses; NaN under five, or when it
 * lies beyond all ends. */
double fl_return_delay(const struct fl_take *t);
/* The same of n brackets of a return after a flick's end, s; high may be INFINITY. */
double fl_return_delay_of(const double *low_s, const double *high_s, size_t n);
/* The bracket of one lapse of t; false when no flick made it. */
bool fl_return_bracket(const struct fl_take *t, const struct fl_lapse *l, double *low,
                       double *high);

#endif
