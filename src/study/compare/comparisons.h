/* The comparisons of a session. */
#ifndef FL_STUDY_COMPARE_COMPARISONS_H
#define FL_STUDY_COMPARE_COMPARISONS_H

#include "study/compare/comparison.h"
#include "study/take/session.h"

/* Fills s->comparisons from s->curves. */
void fl_study_comparisons(struct fl_session *s);

#endif
