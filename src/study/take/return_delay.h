/* How long after a flick synthesis comes back on. */
#ifndef FL_STUDY_TAKE_RETURN_DELAY_H
#define FL_STUDY_TAKE_RETURN_DELAY_H

#include "study/take/take.h"

/* 95th percentile of return after a flick's end, over the take's lapses; NaN under five, or when it
 * lies beyond all ends. */
double fl_return_delay(const struct fl_take *t);

#endif
