/* Fitting the cut-off rule to the states of several takes. */
#ifndef FL_STUDY_RULE_RULE_FIT_H
#define FL_STUDY_RULE_RULE_FIT_H

#include <stdint.h>

#include "study/rule/rule_track.h"

/* What the rule is searched within. Speeds reach from the slowest to the fastest at which a state
 * was seen; theta_on may be as low as 1/32 of theta_off. */
#define FL_RULE_D_OFF_S 0.4
#define FL_RULE_D_ON_S 1.2

struct fl_rule_fit {
    struct fl_track *track; /* n; weights are changed while fitting and left at 1 */
    size_t n;
    double low, high; /* range of theta_off */
    struct fl_span_list buffer;
    struct fl_cutoff *start;
    size_t n_starts; /* the best of a coarse grid, one a speed and one a return delay */
};

/* The uncertainty of a fitted rule. */
enum { FL_RULE_ALIKE = 8 };
struct fl_rule_band {
    struct fl_cutoff low, high; /* ends of the intervals; NaN: open */
    /* rules that agree as well, each the furthest in one parameter: least and most theta_off,
     * theta_on, d_off, d_on */
    struct fl_cutoff alike[FL_RULE_ALIKE];
};

/* Prepares the search: range, coarse grid. False if no state was seen at any known speed. */
bool fl_rule_fit_begin(struct fl_rule_fit *f, struct fl_track *track, size_t n);
void fl_rule_fit_end(struct fl_rule_fit *f);

/* The rule with the least time of disagreement by the present weights: a search by pattern from the
 * best starts, to half a per cent and 1 ms; of rules that agree equally well a middle one. */
struct fl_cutoff fl_rule_fit_best(struct fl_rule_fit *f);
/* The same from the best start alone, to about 1 % and 2 ms, any one of equals. */
struct fl_cutoff fl_rule_fit_quick(struct fl_rule_fit *f);
/* The furthest rules along each parameter that disagree for at most slack_s longer than c. */
void fl_rule_fit_alike(struct fl_rule_fit *f, const struct fl_cutoff *c, double slack_s,
                       struct fl_cutoff alike[FL_RULE_ALIKE]);
/* Total disagreement by the present weights. */
struct fl_disagreement fl_rule_fit_judge(struct fl_rule_fit *f, const struct fl_cutoff *c);

/* Refits to resampled takes or events. draws: n_draws long, NaN where a sample had no on or no off.
 * The interval holds the draws' 95 % and the rules that disagree for at most slack_s longer than
 * best. An end is open where it reaches the edge of what is searched. Returns the method:
 * "takes_bootstrap" from six takes, "takes_events_bootstrap" from two, "events_bootstrap" of one.
 * Deterministic. */
const char *fl_rule_fit_interval(struct fl_rule_fit *f, const struct fl_cutoff *best,
                                 double slack_s, struct fl_cutoff *draws, size_t n_draws,
                                 struct fl_rule_band *out);

#endif
