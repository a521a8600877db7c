/* Trip curve of one cell in one quantity (DESIGN: trip curve). */
#ifndef FL_STUDY_CURVE_H
#define FL_STUDY_CURVE_H

#include "study/session.h"

/* Fits a curve of quantity q to the flicks of n takes, none of them a control. Game, condition,
 * counts_per_inch and degrees_per_count are left to the caller. Points go into the arena. */
void fl_curve_fit(struct fl_curve *c, struct fl_take *const *takes, size_t n, enum fl_quantity q,
                  struct fl_arena *arena);

#endif
