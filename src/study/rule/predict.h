/* What a fitted rule would do to somebody's own motion, at their own and at other settings of the
 * mouse. Prediction, not measurement: it holds as far as the rule does, and for a hand that would
 * move as it did. */
#ifndef FL_STUDY_RULE_PREDICT_H
#define FL_STUDY_RULE_PREDICT_H

#include "study/rule/rule.h"
#include "trace/motion.h"

struct fl_mouse_setting {
    double counts_per_inch, degrees_per_count; /* NaN: unknown */
};

/* What stays the same when the setting changes: the hand moves as recorded, or the hand makes the
 * camera turn as recorded. The two agree where degrees per inch stay the same. */
enum fl_kept { FL_KEPT_HAND, FL_KEPT_TURNS };

/* A recorded trace. motion and all else must outlive its use. */
struct fl_hand {
    const struct fl_motion *motion;
    double start_s, end_s;
    struct fl_mouse_setting recorded;
};

struct fl_prediction {
    const char *refused; /* why nothing can be predicted: a fixed line; else NULL */
    double seconds, off_s;
    double off_share, off_share_low, off_share_high; /* of all of the trace, rests included */
    double lapses_per_min, lapses_per_min_low, lapses_per_min_high;
    double longest_s;
    size_t lapses;
};

/* The rule's quantity must be count rate, hand speed, camera speed or image step; for the last, t
 * gives width, field of view and base rate. The interval holds 95 % of the rule's draws and every
 * rule alike. All unknown numbers are NaN. */
void fl_predict(struct fl_prediction *out, const struct fl_rule *r, const struct fl_take *t,
                const struct fl_hand *hand, const struct fl_mouse_setting *wanted,
                enum fl_kept kept);

#endif
