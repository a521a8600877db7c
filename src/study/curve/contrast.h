/* Ratio of two trip speeds: estimate, interval, p. */
#ifndef FL_STUDY_CURVE_CONTRAST_H
#define FL_STUDY_CURVE_CONTRAST_H

#include "study/curve/curve.h"
#include "study/take/session.h"

/* Of each setting: one take tells nothing of how takes differ, and a claim would rest on the prior
 * alone. */
#define FL_CONTRAST_TAKES 2

struct fl_contrast {
    double ratio, low, high, p; /* V50 of a over b; NaN: null or open */
};

/* From what the curves' sessions know of both (study/curve/trip_density.h). Both V50 known and
 * FL_CONTRAST_TAKES on both sides, else low, high and p stay NaN. */
void fl_contrast_v50(struct fl_contrast *out, const struct fl_curve *a, const struct fl_curve *b);

/* What a bound on one side, or opposite bounds on both, leave of the ratio of V50 of a over b:
 * "above v" makes it at least so much. NaN: nothing. For curves whose ratio is not known. */
void fl_contrast_bounds(double *low, double *high, const struct fl_curve *a,
                        const struct fl_curve *b);

#endif
