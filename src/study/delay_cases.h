/* Inside the study room: the crossings of one take as delays. */
#ifndef FL_STUDY_DELAY_CASES_H
#define FL_STUDY_DELAY_CASES_H

#include "study/delay.h"
#include "study/track.h"

struct fl_delay_list {
    struct fl_delay_case *v; /* malloc'ed */
    size_t n, cap;
    int unmatched;
};

/* frame_s: one base period, by which edges and crossings may miss each other. */
void fl_trip_cases(const struct fl_track *k, double theta_off, double frame_s, struct fl_delay_list *out);
void fl_return_cases(const struct fl_track *k, double theta_on, double frame_s, struct fl_delay_list *out);

#endif
