/* All steps of a session's study, in order. */
#ifndef FL_STUDY_COMPARE_SESSION_STUDY_H
#define FL_STUDY_COMPARE_SESSION_STUDY_H

#include "study/take/session.h"

/* Fits curves, comparisons, quantities, ranks, rules, delays, repeatability and the check by eye
 * from the takes added so far; what an earlier study found is forgotten first. */
void fl_session_study(struct fl_session *s);

#endif
