/* What a curve rests on, in words. */
#ifndef FL_STUDY_CURVE_CURVE_WORDS_H
#define FL_STUDY_CURVE_CURVE_WORDS_H

#include "study/curve/curve.h"
#include "study/take/session.h"

/* "37 flicks in 3 takes; V50 known within ±6 %": the farther end of the 95 % interval. Of one take:
 * its own threshold, and where another take's may lie. In the arena. */
const char *fl_curve_evidence(const struct fl_curve *c, struct fl_arena *arena);
/* Which flicks went against the curve, and what the second opinion says where it differs; NULL when
 * there is neither. */
const char *fl_stray_note(const struct fl_curve *c, struct fl_arena *arena);

#endif
