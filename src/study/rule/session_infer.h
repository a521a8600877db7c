/* What the unseen time of a session's takes must have been (DESIGN: shares, lapse). */
#ifndef FL_STUDY_RULE_SESSION_INFER_H
#define FL_STUDY_RULE_SESSION_INFER_H

#include "study/rule/return_fit.h"
#include "study/take/session.h"

/* What one setting's returns and trips taught. Speeds in the unit of their quantity. */
struct fl_return_study {
    const char *game, *condition;
    double counts_per_inch, degrees_per_count;
    size_t takes, brackets;                       /* brackets: lapses that were seen to end */
    bool any;                                     /* off was seen: what follows is set */
    enum fl_quantity quantity;                    /* of the rules that agree best */
    double quantity_weight;                       /* 0..1: how much of what agrees uses it */
    double theta_on, theta_on_low, theta_on_high; /* in it: median and 95 % */
    double d_on_s, d_on_low_s, d_on_high_s;       /* of all that agree */
    double harmless_level[FL_HARMLESS_QUANTITIES];
    size_t trips, harmless_trips; /* harmless: began, or went on, where nothing can have tripped */
};

/* For every take: lapses, inferred, the off share of the take and what goes with it, smoothness.
 * One return rule a setting. Made from the spans, the quantities, kernel_ms, capture rate and
 * duration alone, and in place of what was there, so it may be run any number of times. Flicks stay
 * as measured: inference has no say in trip curves. Fills s->returns. Takes without spans are left
 * alone. */
void fl_session_infer(struct fl_session *s);

#endif
