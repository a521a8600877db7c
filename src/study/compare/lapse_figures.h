/* How many lapses some takes show, and how long they last. */
#ifndef FL_STUDY_COMPARE_LAPSE_FIGURES_H
#define FL_STUDY_COMPARE_LAPSE_FIGURES_H

#include "study/take/take.h"

struct fl_lapse_figures {
    size_t n, low, high; /* lapses; fewest and most, where the state between two was never seen */
    double per_min, per_min_low, per_min_high; /* a minute of what was measured; NaN: nothing was */
    /* Best lengths; of an open-ended one it is only known that it lasts longer (Kaplan–Meier). NaN:
     * no lapse, or so many are open-ended that half of all may be longer than any that ended. */
    double median_s;
    double longest_s; /* 0: none */
};

struct fl_lapse_figures fl_lapse_figures_of(const struct fl_take *const *takes, size_t n);
/* The lapse was on its way as footage or a span of it began, or still is at the end. */
bool fl_lapse_open_ended(const struct fl_lapse *l);

#endif
