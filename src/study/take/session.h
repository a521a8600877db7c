/* The takes of a session, and beside them what a study of them found.
 *
 * Each step of the study fills one list; its type belongs to the room that fills it. */
#ifndef FL_STUDY_TAKE_SESSION_H
#define FL_STUDY_TAKE_SESSION_H

#include "study/take/take.h"

struct fl_curve;         /* study/curve/curve.h */
struct fl_quantity_rank; /* study/curve/watched.h */
struct fl_rule;          /* study/rule/rule.h */
struct fl_return_study;  /* study/rule/session_infer.h */
struct fl_delay;         /* study/rule/delay.h */
struct fl_delay_comparison;
struct fl_comparison;  /* study/compare/comparison.h */
struct fl_result;      /* study/compare/result.h */
struct fl_repeat;      /* study/compare/repeat.h */
struct fl_eye_answers; /* study/compare/eye_check.h */
struct fl_eye_check;

struct fl_failed_take {
    const char *id, *text; /* text: why, one line */
};

struct fl_session {
    const char *name;
    struct fl_arena *names; /* owns name and failed */
    struct fl_arena *arena; /* of the study: emptied by the next one */
    struct fl_take **takes;
    size_t n_takes; /* measured takes, session order; owned */
    struct fl_return_study *returns;
    size_t n_returns; /* one a setting */
    struct fl_curve *curves;
    size_t n_curves;
    struct fl_comparison *comparisons;
    size_t n_comparisons;
    struct fl_quantity_rank *quantities;
    size_t n_quantities;
    struct fl_result *results;
    size_t n_results; /* one a setting, hair trigger (lowest V50) first */
    struct fl_rule *rules;
    size_t n_rules;
    struct fl_delay *delays;
    size_t n_delays;
    struct fl_delay_comparison *delay_comparisons;
    size_t n_delay_comparisons;
    struct fl_repeat *repeats;
    size_t n_repeats;
    const struct fl_eye_answers *eye_answers; /* in the arena of names; NULL: nobody has looked */
    struct fl_eye_check *eye_check;           /* in the arena; NULL likewise */
    struct fl_failed_take *failed;
    size_t n_failed; /* takes that could not be measured */
};

struct fl_session *fl_session_new(const char *name);
/* Takes ownership of t. */
void fl_session_add(struct fl_session *s, struct fl_take *t);
void fl_session_add_failed(struct fl_session *s, const char *id, const char *text);
/* Empties the lists of a study, their text and the study's arena with them. */
void fl_session_forget_study(struct fl_session *s);
void fl_session_free(struct fl_session **s);

#endif
