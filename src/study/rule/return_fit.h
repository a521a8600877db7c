/* The return rules that agree with what was seen of a setting's returns.
 *
 * Few returns are seen tightly: most fall into rest, and what is known is the last sure moment of
 * off and the first sure one of on. So each bracket is an interval-censored sighting of the rule's
 * return, and many rules agree: the outcome is a set of them, drawn by how well they do. */
#ifndef FL_STUDY_RULE_RETURN_FIT_H
#define FL_STUDY_RULE_RETURN_FIT_H

#include "maths/random.h"
#include "study/rule/returns.h"

/* On again once the quantity has been below theta_on for d_on, give or take a scatter. */
struct fl_return_rule {
    int quantity;    /* of fl_harmless_quantity */
    double theta_on; /* in its unit */
    double d_on_s;
    double scatter_s; /* of a logistic law, one return apart from the next */
};

struct fl_return_fit {
    struct fl_return_rule *draw; /* n_draws, malloc'ed: each stands for as much of the weight */
    size_t n_draws;
    struct fl_return_rule *alike; /* n_alike, malloc'ed: the shortest and the longest delay at each
                                     threshold whose likelihood is no worse than the best's by more
                                     than 95 % of a likelihood ratio allow */
    size_t n_alike;
    double weight[FL_HARMLESS_QUANTITIES];  /* of each quantity, sum 1 */
    double d_on_s, d_on_low_s, d_on_high_s; /* median and 95 % */
    size_t brackets;                        /* lapses that were seen to end */
};

/* False, and nothing to free, if off was never seen in the n takes of the setting. */
bool fl_return_fit_make(struct fl_return_fit *f, const struct fl_return_view *v, size_t n);
void fl_return_fit_finish(struct fl_return_fit *f);

/* The time of a return in its bracket: the law about r->at_s + shift_s, cut off at the bracket's
 * ends; u, 0 < u < 1, is the quantile. */
double fl_return_time(const struct fl_return *r, const struct fl_return_rule *rule, double shift_s,
                      double u);

#endif
