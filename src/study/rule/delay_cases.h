/* The crossings of one take as delays. */
#ifndef FL_STUDY_RULE_DELAY_CASES_H
#define FL_STUDY_RULE_DELAY_CASES_H

#include "study/rule/rule_track.h"

enum fl_delay_outcome {
    FL_DELAY_CENSORED, /* the take or the knowledge ended first */
    FL_DELAY_SWITCHED, /* it tripped, or returned */
    FL_DELAY_LEFT,     /* the hand crossed back first: it slowed, or moved again */
};

/* One crossing: the delay lies in [low_s, high_s]; of other outcomes both are when it came. */
struct fl_delay_case {
    double low_s, high_s;
    enum fl_delay_outcome outcome;
    const struct fl_take *take;
};

struct fl_delay_list {
    struct fl_delay_case *v; /* malloc'ed */
    size_t n, cap;
    int unmatched;
};

/* frame_s: one base period, by which edges and crossings may miss each other. */
void fl_trip_cases(const struct fl_track *k, double theta_off, double frame_s,
                   struct fl_delay_list *out);
void fl_return_cases(const struct fl_track *k, double theta_on, double frame_s,
                     struct fl_delay_list *out);

#endif
