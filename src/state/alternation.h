/* The second witness: synthesised frames are softer than rendered ones, so with synthesis on the
 * detail of output frames alternates, whatever their rate. */
#ifndef FL_STATE_ALTERNATION_H
#define FL_STATE_ALTERNATION_H

#include <stdbool.h>

#include "state/evidence.h"
#include "state/renewal.h"

struct fl_alternation {
    size_t flips;  /* at which detail could be compared across the tear */
    double mean;   /* ln contrast, rendered over synthesised; its sign is that of the first kind */
    double spread; /* standard deviation of the contrasts about the mean */
};

/* What alternation looks like in a take, from the runs in which synthesis is surely on. */
struct fl_softness {
    bool seen;       /* enough of them alternate clearly */
    double contrast; /* usual |mean| */
    double spread;   /* usual spread */
};

/* ln detail that shows below the tear that starts *gap, less what shows above it, within the tear's
 * own capture frame and between the flips before and after. gap[-1] must exist. NaN where too few
 * rows tell. */
double fl_alternation_contrast(const struct fl_evidence *e, const struct fl_rows *r,
                               const struct fl_gap *gap);

/* Over the gaps [first, last): detail is compared across each tear inside one capture frame, never
 * between frames, whose coding differs. */
void fl_alternation_measure(struct fl_alternation *out, const struct fl_evidence *e,
                            const struct fl_rows *r, const struct fl_gap *gap, size_t first,
                            size_t last);

/* From the measured runs of state on. */
void fl_softness_learn(struct fl_softness *out, const struct fl_alternation *on, size_t n);
/* ln odds that a run alternates, from its contrasts alone; 0 with under five flips. */
double fl_alternation_log_odds(const struct fl_alternation *a, const struct fl_softness *softness);

#endif
