/* Which motion quantity each game's cut-off watches (DESIGN: which quantity drives it). */
#ifndef FL_STUDY_CURVE_WATCHED_H
#define FL_STUDY_CURVE_WATCHED_H

#include "study/curve/quantity_rank.h"
#include "study/take/session.h"

/* Fills s->quantities from the takes. */
void fl_study_quantities(struct fl_session *s);

#endif
