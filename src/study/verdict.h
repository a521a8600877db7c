/* A comparison in plain words. */
#ifndef FL_STUDY_VERDICT_H
#define FL_STUDY_VERDICT_H

#include "study/session.h"

/* Adjusted p below which a difference is claimed. */
#define FL_CLAIM 0.05

/* "at 400 counts per inch it trips at 0.71 times the hand speed of 1600 (95 % interval 0.64 to 0.79; degrees
 * per centimetre held)", or "cannot tell: " and why. Needs p_adjusted. In the arena. */
const char *fl_verdict(struct fl_arena *arena, const struct fl_comparison *c);
/* Where a side was measured: "at 400 counts per inch", "with 'driver 2'". In the arena. */
const char *fl_verdict_at(struct fl_arena *arena, enum fl_pair pair, const struct fl_curve *c);

#endif
