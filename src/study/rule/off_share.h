/* The off share of one take under every return rule that agrees (DESIGN: shares). */
#ifndef FL_STUDY_RULE_OFF_SHARE_H
#define FL_STUDY_RULE_OFF_SHARE_H

#include "study/rule/off_time.h"

struct fl_off_share {
    /* By the rule whose share is in the middle: */
    struct fl_returns returns;
    double *end_s;                  /* of each return, malloc'ed: its best time, by all rules */
    struct fl_off_time time;        /* with its parts */
    double start_s, start_return_s; /* where the take's sightings begin to be looked for, and when a
                                       lapse from before it would have returned; INFINITY */
    /* By all of them, 95 %: */
    double low, high;
    size_t lapses_low, lapses_high;
};

/* f NULL: off was never seen. */
void fl_off_share_find(struct fl_off_share *out, const struct fl_return_view *v,
                       const struct fl_return_fit *f);
void fl_off_share_finish(struct fl_off_share *o);

#endif
