/* A plan as a list of steps to follow at the desk, for one sitting. */
#ifndef FL_STUDY_PLAN_RECORDING_SCHEDULE_H
#define FL_STUDY_PLAN_RECORDING_SCHEDULE_H

#include "study/plan/plan.h"

enum fl_step_kind {
    FL_STEP_CAUTION,
    FL_STEP_PREPARE,
    FL_STEP_CONTROL,
    FL_STEP_TAKE,
    FL_STEP_REST,
    FL_STEP_AFTER
};
const char *
fl_step_name(enum fl_step_kind k); /* "caution", "prepare", "control", "take", "rest", "after" */

struct fl_step {
    enum fl_step_kind kind;
    const struct fl_plan_setting *setting; /* of a take; of a control, one of its game; else NULL */
    int flicks;                            /* of a take or control, else 0 */
    unsigned char *order; /* of a take: flicks long, numbers of bands from 1; else NULL */
    double minutes;       /* a guess; 0: none */
    const char *text;
};

struct fl_schedule {
    struct fl_step *step;
    size_t n;
    int takes;      /* to record now, controls aside */
    int takes_left; /* for another sitting: to be planned anew then */
};

/* Everything in the arena. One sitting is at most an hour of flicks; games one after another, the
 * settings of a game in turn and back (A B B A), so that what drifts meanwhile falls on all of them
 * alike. */
void fl_schedule_make(struct fl_schedule *d, const struct fl_plan *plan, struct fl_arena *arena);
/* Order of n settings with so many takes each: settings in turn, every second round backwards,
 * settings of fewer takes in the middle rounds. With even numbers all have the same mean place.
 * order: indices; returns how many. */
size_t fl_schedule_order(const int *takes, size_t n, size_t *order);

#endif
