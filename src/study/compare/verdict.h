/* A comparison in plain words. */
#ifndef FL_STUDY_COMPARE_VERDICT_H
#define FL_STUDY_COMPARE_VERDICT_H

#include "study/compare/comparison.h"
#include "study/curve/curve.h"
#include "study/take/session.h"

/* Adjusted p below which a difference is claimed. */
#define FL_CLAIM 0.05
/* A ratio whose interval lies within these is called the same. */
#define FL_EQUAL_LOW 0.9
#define FL_EQUAL_HIGH 1.11

/* "at 400 counts per inch it trips at 0.71 times the hand speed of 1600 (95 % interval 0.64 to
 * 0.79; degrees per centimetre held)", or "cannot tell: " and why. Needs p_adjusted. In the arena.
 */
const char *fl_verdict(struct fl_arena *arena, const struct fl_comparison *c);
/* Where a side was measured: "at 400 counts per inch", "with 'driver 2'". In the arena. */
const char *fl_verdict_at(struct fl_arena *arena, enum fl_pair pair, const struct fl_curve *c);

/* Why the V50 of a side cannot be tested at all, "no flick tripped at 400 counts per inch"; NULL
 * when it can. at: where the side was measured. In the arena. */
const char *fl_verdict_untested(struct fl_arena *arena, const struct fl_curve *c, const char *at);

/* A ratio in the digits that its interval supports. In the arena. */
const char *fl_verdict_ratio(struct fl_arena *arena, double ratio, double low, double high);
/* "95 % interval 0.64 to 0.79", or which end is open (NaN). In the arena. */
const char *fl_verdict_limits(struct fl_arena *arena, double ratio, double low, double high);
/* "; the ratio is at least 1.3" where just one end is known, else "". In the arena. */
const char *fl_verdict_bound(struct fl_arena *arena, double low, double high);

#endif
