/* Figures as files hold them. */
#ifndef FL_SHOW_STORE_OUTPUT_ROUNDING_H
#define FL_SHOW_STORE_OUTPUT_ROUNDING_H

#include "study/take/take.h"

/* Rounds every figure of t to what its files hold. Call it on a freshly measured take: then the
 * study of this session and of one that is read back agree to the letter. Idempotent. */
void fl_take_round(struct fl_take *t);

#endif
