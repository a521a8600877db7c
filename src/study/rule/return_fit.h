/* The return rules of a setting that agree with what was seen: a set, as few returns are seen
 * tightly and many rules agree. */
#ifndef FL_STUDY_RULE_RETURN_FIT_H
#define FL_STUDY_RULE_RETURN_FIT_H

#include "study/rule/return_grid.h"

struct fl_return_fit {
    struct fl_return_rule *draw; /* n_draws, malloc'ed: each stands for as much of the weight */
    size_t n_draws;
    struct fl_return_rule *alike; /* n_alike, malloc'ed: the shortest and the longest delay at each
                                     threshold whose likelihood is no worse than the best's by more
                                     than 95 % of a likelihood ratio allow */
    size_t n_alike;
    double weight[FL_HARMLESS_QUANTITIES];  /* of each quantity, sum 1 */
    double d_on_s, d_on_low_s, d_on_high_s; /* median and 95 % */
};

/* What the delay of setting `own` is likely to be before its own returns speak: half of the weight
 * is that of any delay, half says that a hold belongs to the game, and is what the other settings
 * of the game say of it. n grids over the same delays; those without thresholds have no say. out:
 * one a delay, sum 1. */
void fl_return_prior(double *out, const struct fl_return_grid *g, size_t n, size_t own);

/* prior: one a delay of the grid. */
void fl_return_fit_make(struct fl_return_fit *f, const struct fl_return_grid *g,
                        const double *prior);
void fl_return_fit_finish(struct fl_return_fit *f);

/* The time of a return in its bracket: the law about r->at_s, cut off at the bracket's ends; u, 0
 * to 1, is the quantile. */
double fl_return_time(const struct fl_return *r, const struct fl_return_rule *rule, double u);

#endif
