/* The trip curves of a session. */
#ifndef FL_STUDY_CURVE_CURVES_H
#define FL_STUDY_CURVE_CURVES_H

#include "study/curve/curve.h"
#include "study/take/session.h"

/* Fills s->curves: one a game × condition × counts per inch × degrees per count and measured
 * quantity, all of a quantity fitted together; then one a game × condition and quantity, pooled. */
void fl_study_curves(struct fl_session *s);
/* The same with another prior of the spread between takes, to see what it does. */
void fl_study_curves_with(struct fl_session *s, const struct fl_hierarchy_prior *prior);

#endif
