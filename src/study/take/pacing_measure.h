/* Flips with kinds → how long each kind of picture is on screen, and how evenly pictures come. */
#ifndef FL_STUDY_TAKE_PACING_MEASURE_H
#define FL_STUDY_TAKE_PACING_MEASURE_H

#include "study/take/take.h"

/* From states and flips; spans outside the take's `use` do not count. A picture is on screen from
 * its flip to the next one. An interval longer than its neighbours allow holds a flip that was not
 * seen: it counts as time of unknown kind, and not for evenness. In state off every picture is
 * rendered, so there the shares need no kinds. */
void fl_pacing_measure(struct fl_take *t);
/* The intervals of one state themselves, in s and in time order: from a flip to the next, nothing
 * missed between, in spans whose flips can be counted (their unique rate is known). out: room for
 * t->flips.n. Returns how many. */
size_t fl_pacing_intervals(const struct fl_take *t, enum fl_state state, double *out);

#endif
