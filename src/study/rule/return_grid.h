/* How well each return rule of a grid agrees with what was seen of a setting's returns.
 *
 * Few returns are seen tightly: most fall into rest, and what is known is the last sure moment of
 * off and the first sure one of on. So each bracket is an interval-censored sighting of the rule's
 * return. */
#ifndef FL_STUDY_RULE_RETURN_GRID_H
#define FL_STUDY_RULE_RETURN_GRID_H

#include "study/rule/returns.h"

/* On again once the quantity has been below theta_on for d_on, give or take a scatter. */
struct fl_return_rule {
    int quantity;    /* of fl_harmless_quantity */
    double theta_on; /* in its unit; NaN: nothing is known of the motion */
    double d_on_s;
    double scatter_s; /* of a logistic law, one return apart from the next */
};

enum { FL_RETURN_SCATTERS = 4 };

struct fl_return_grid {
    struct fl_return_rule *threshold; /* n_thresholds, malloc'ed: delay and scatter unset */
    size_t n_thresholds, cap_thresholds;
    double stands_for[FL_HARMLESS_QUANTITIES]; /* quantities that say the same, itself included */
    double *delay_s;                           /* n_delays, malloc'ed, from 0 up */
    double *prior;                             /* of each delay, sum 1, malloc'ed */
    size_t n_delays;
    float *log_likelihood; /* threshold by delay by scatter, malloc'ed */
    float *log_trips;      /* threshold by delay, malloc'ed: of the trips that a rule must have gone
                              unseen, as its lapses end before they were seen off again */
};

/* frame_s: a rendered frame; half of it is the step of the delays. False, and nothing to free, if
 * off was never seen in the n takes of the setting. */
bool fl_return_grid_make(struct fl_return_grid *g, const struct fl_return_view *v, size_t n,
                         double frame_s);
void fl_return_grid_finish(struct fl_return_grid *g);

size_t fl_return_grid_size(const struct fl_return_grid *g);
struct fl_return_rule fl_return_grid_rule(const struct fl_return_grid *g, size_t index);

#endif
