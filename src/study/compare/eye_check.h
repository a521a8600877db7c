/* What people saw at the moments of an audit, against what was measured there.
 *
 * Each stratum's agreement has Wilson's interval (Wilson 1927). Over all strata it is weighted by
 * how much of the seen time each is; that interval is the square-and-add of the strata's own, as
 * Newcombe's for a difference (1998, method 10) with these weights in place of 1 and -1. Answers
 * that could not tell are counted apart and in no share. */
#ifndef FL_STUDY_COMPARE_EYE_CHECK_H
#define FL_STUDY_COMPARE_EYE_CHECK_H

#include "study/compare/audit_ground.h"

enum fl_eye { FL_EYE_ON, FL_EYE_OFF, FL_EYE_UNTOLD };
const char *fl_eye_name(enum fl_eye e); /* "on", "off", "cannot tell" */

struct fl_eye_answer {
    size_t take; /* in the session */
    long frame;
    enum fl_eye eye;
};
/* Of one session's measurements, as a file of answers gives them. */
struct fl_eye_answers {
    struct fl_eye_answer *v;
    size_t n;
};

struct fl_agreement {
    long agree, differ, untold;
    double share, low, high; /* of those told, 95 %; NaN: none was told */
    double seen_share;       /* how much of the seen time this is */
};

/* A moment at which the two say different things. */
struct fl_eye_difference {
    size_t take; /* in the session */
    const char *id;
    long frame;
    double time_s;
    enum fl_state state; /* as measured */
    enum fl_eye eye;
    enum fl_stratum stratum;
};

struct fl_eye_check {
    struct fl_agreement stratum[FL_STRATA];
    struct fl_agreement all;              /* seen_share: of the strata that were told about */
    struct fl_eye_difference *difference; /* in order of takes and time */
    size_t n_differences;
    const char *text; /* "57 of 60 agree, 2 could not be seen" */
};

/* In the arena. Answers must lie in the ground. */
struct fl_eye_check *fl_eye_check_make(const struct fl_session *s, const struct fl_audit_ground *g,
                                       const struct fl_eye_answers *answers,
                                       struct fl_arena *arena);
/* Fills s->eye_check from s->eye_answers; NULL where there are none. */
void fl_study_eye_check(struct fl_session *s);

#endif
