/* Ratio of two trip speeds: estimate, interval, p. */
#ifndef FL_STUDY_CURVE_CONTRAST_H
#define FL_STUDY_CURVE_CONTRAST_H

#include "study/curve/curve.h"
#include "study/take/session.h"

struct fl_contrast {
    double ratio, low, high, p; /* V50 of a over b; NaN: null or open */
};

/* Both V50 known and both with a spread between takes, else low, high and p stay NaN. The
 * interval is the wider of two: square-and-add of the profile limits on log2 V50 (flicks),
 * and Student's t with the takes' variance pooled over the game or a and b (takes). p is the
 * larger. */
void fl_contrast_v50(struct fl_contrast *out, const struct fl_curve *a, const struct fl_curve *b);

/* What a bound on one side, or opposite bounds on both, leave of the ratio of V50 of a over b:
 * "above v" makes it at least so much. NaN: nothing. For curves whose ratio is not known. */
void fl_contrast_bounds(double *low, double *high, const struct fl_curve *a,
                        const struct fl_curve *b);

#endif
