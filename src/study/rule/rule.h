/* The cut-off rule of each game and condition, in each motion quantity (DESIGN: cut-off rule). */
#ifndef FL_STUDY_RULE_RULE_H
#define FL_STUDY_RULE_RULE_H

#include "study/rule/cutoff.h"
#include "study/take/session.h"

/* A place where rule and states disagree. */
struct fl_rule_miss {
    const struct fl_take *take;
    double start_s, end_s; /* of the lapse, or of the lapse that the rule expected */
    double flick_start_s;  /* of the flick that it belongs to; NaN if there is none */
    double peak; /* most of the quantity from 0.4 s before start_s (the longest d_off) to end_s */
};

struct fl_rule {
    const char *game, *condition;
    enum fl_quantity quantity;
    double kernel_ms;    /* of the quantity */
    const char *refused; /* why there is no rule: one line; else NULL and what follows is set */
    struct fl_cutoff fit, low,
        high;                    /* ends that are NaN are open; of the lead and its rivals only */
    const char *interval_method; /* "takes_bootstrap", "takes_events_bootstrap", "events_bootstrap";
                                    NULL: no interval */
    int takes, lapses;           /* lapses: with some of their off time outside brackets */
    double seen_on_s, seen_off_s; /* counted time */
    double agreement;           /* on takes left out, balanced over on and off; NaN with one take */
    double agreement_fitted;    /* on the takes it was fitted to */
    double agreement_always_on; /* of "always on": 0.5 */
    double explained_off_share; /* of counted off time; the rule says off too */
    double false_off_share;     /* of counted on time; the rule says off */
    struct fl_rule_miss *unexplained;
    size_t n_unexplained; /* lapses off for most of which the rule is on */
    struct fl_rule_miss *held;
    size_t n_held; /* lapses that the rule expects, and most of which was on */
    struct fl_cutoff *draws;
    size_t n_draws; /* refits to resampled data, for predictions; NaN: none */
    struct fl_cutoff *alike;
    size_t n_alike; /* further rules that agree with the states as well */
    /* of the seen time of each take of the cell when left out; NaN; for rivals */
    double *wrong_share;
    size_t n_wrong_share;
    bool lead;  /* the quantity that was named, else camera speed if as good as the best, else the
                   best */
    bool rival; /* no quantity is named, and on takes left out this one is no worse than the
                   lead by more than the standard error of the difference, or half a
                   rendered frame a lapse */
};

#endif
