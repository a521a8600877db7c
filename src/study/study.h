/* Inside the study room: the steps of a session's study, in order. */
#ifndef FL_STUDY_STUDY_H
#define FL_STUDY_STUDY_H

#include "study/session.h"

/* Fills s->curves: one a game × condition × counts per inch × degrees per count and measured
 * quantity, then one a game × condition and quantity, pooled. */
void fl_study_curves(struct fl_session *s);
/* Fills s->comparisons from s->curves. */
void fl_study_comparisons(struct fl_session *s);
/* Fills s->quantities from takes and comparisons. */
void fl_study_quantities(struct fl_session *s);
/* Fills s->ranks from takes and curves. */
void fl_study_ranks(struct fl_session *s);

/* 2^octaves; NaN where the end is open or leaves the range of numbers. */
static inline double fl_from_octaves(double octaves)
{
    double v = exp2(octaves);
    return isfinite(v) && v > 0 ? v : FL_UNKNOWN;
}

#endif
