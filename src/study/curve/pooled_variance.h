/* One spread between takes for all cells of a game. */
#ifndef FL_STUDY_CURVE_POOLED_VARIANCE_H
#define FL_STUDY_CURVE_POOLED_VARIANCE_H

#include "study/curve/curve.h"
#include "study/take/session.h"

/* Two takes a cell know next to nothing of how much takes differ (Student's t of one degree of
 * freedom), all cells of a game together know more. As in an analysis of variance, the variance
 * between takes on the octave scale is taken to be the same in all cells of a game, in each
 * quantity; intervals made by Student's t are set anew from it. Curves pooled over cells are left
 * alone. */
void fl_pool_variance(struct fl_curve *curves, size_t n);

#endif
