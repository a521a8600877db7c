/* What the picture alone says, beside what was seen with the trace's help.
 *
 * A trace tells when the scene moves, so that more can be seen; it must not change the answer. Both
 * labellings are kept and compared. */
#ifndef FL_STUDY_CURVE_WITHOUT_TRACE_H
#define FL_STUDY_CURVE_WITHOUT_TRACE_H

#include "study/take/take.h"

/* Keeps the figures of `alone`, the same take measured on states of the picture alone, in
 * t->without_trace. */
void fl_without_trace_keep(struct fl_take *t, struct fl_take *alone);
/* Marks lapses that the picture alone did not show: none of `before` shares half of their union. */
void fl_without_trace_mark(struct fl_states *now, const struct fl_states *before);
/* Once both are kept: warns where off share or V50 left the range that the picture
 * alone had given them. */
void fl_without_trace_compare(struct fl_take *t);

#endif
