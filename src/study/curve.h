/* Trip curve of one cell in one quantity (DESIGN: trip curve). */
#ifndef FL_STUDY_CURVE_H
#define FL_STUDY_CURVE_H

#include "study/session.h"
#include "study/stray.h"

/* Twice the log-likelihood that a stray rate must gain to be shown: 5 % of a likelihood ratio whose null
 * lies on the edge of the range (half χ²₀, half χ²₁: Self & Liang 1987, J Am Stat Assoc 82:605-610). */
#define FL_STRAY_SHOWN 2.705543454095404

/* Fits a curve of quantity q to the flicks of n takes, none of them a control. Game, condition,
 * counts_per_inch and degrees_per_count are left to the caller. Points go into the arena. The curve is
 * fitted without and, unless the flicks are separated, with a stray rate; the latter is shown when it
 * gains FL_STRAY_SHOWN. */
void fl_curve_fit(struct fl_curve *c, struct fl_take *const *takes, size_t n, enum fl_quantity q,
                  struct fl_arena *arena);
/* Profile interval of log2 V50 from the flicks alone, in the fit that is shown; ±INFINITY: open. */
void fl_curve_limits(const struct fl_curve *c, double level, double *low, double *high);
/* The stray fit behind the figures shown; rate 0 when it is not shown. */
struct fl_stray fl_curve_stray(const struct fl_curve *c);

#endif
