/* Two settings of one game beside each other: the ratio of their trip speeds. */
#ifndef FL_STUDY_COMPARE_COMPARISON_H
#define FL_STUDY_COMPARE_COMPARISON_H

#include "study/curve/curve.h"

/* In what the two sides of a comparison differ. */
enum fl_pair {
    FL_PAIR_NONE,
    FL_PAIR_RESOLUTION,
    FL_PAIR_SENSITIVITY /* at one resolution */,
    FL_PAIR_CONDITION
};
const char *fl_pair_name(enum fl_pair p); /* "none", "resolution", "sensitivity", "condition" */

struct fl_comparison {
    const char *game;
    enum fl_pair pair;
    const struct fl_curve *a, *b;
    enum fl_quantity quantity;
    double ratio, low, high; /* V50 of a over b; NaN = null or open */
    double p, p_adjusted;    /* Holm within the session */
    const char *held;        /* "degrees_per_count", "degrees_per_cm", NULL neither or unknown */
    double off_share_a, off_share_b; /* standardised; NaN when refused */
    const char *off_share_refused;   /* why, or NULL */
    const char *verdict;             /* one sentence in plain words */
};

#endif
