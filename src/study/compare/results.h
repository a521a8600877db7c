/* A row for each setting of a session. */
#ifndef FL_STUDY_COMPARE_RESULTS_H
#define FL_STUDY_COMPARE_RESULTS_H

#include "study/compare/result.h"

/* Fills s->results from takes, curves and quantities: hair trigger (lowest V50) first, rows without
 * V50 after them, controls last. */
void fl_study_results(struct fl_session *s);

#endif
