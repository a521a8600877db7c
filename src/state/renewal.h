/* Flips as a renewal process with hidden modes.
 *
 * Between two flips lies a gap. With synthesis on gaps go round in a cycle of N: φ1·P after the
 * rendered frame, φ2·P after the first synthesised one and so on; with synthesis off each is P. A
 * gap longer than the capture period leaves rows that stood still: that is the evidence. A mode
 * `rest` of any length explains stretches in which nothing moves. The chance to switch does not
 * know of motion. N may fall within a take where its rates say so (gaps.h).
 *
 * Sums run over gaps, not over frames, so a flip may lie anywhere along the scan. */
#ifndef FL_STATE_RENEWAL_H
#define FL_STATE_RENEWAL_H

#include <stdbool.h>
#include <stddef.h>

#include "state/evidence.h"
#include "state/gaps.h"

struct fl_renewal {
    double loglik;       /* over all segments */
    float *p_on, *p_off; /* a slot: posterior; both 0 outside the segments */
    struct fl_gap *gap;  /* best path, in time order; segments follow one another */
    size_t n_gaps;
};

/* A stretch of slots with evidence, padded; segments do not overlap. */
struct fl_segment {
    size_t from, to;
    double nats; /* total |evidence| */
};
size_t fl_segments(const struct fl_evidence *e, struct fl_segment **out);

/* Log-likelihood alone over the given segments. */
double fl_renewal_loglik(const struct fl_evidence *e, const struct fl_segment *segments, size_t n,
                         const struct fl_rates *rates);
/* Posterior and best path, segments side by side on up to `threads` threads (0: one a core). The
 * outcome does not depend on how many. */
void fl_renewal_solve(struct fl_renewal *out, const struct fl_evidence *e,
                      const struct fl_segment *segments, size_t n, const struct fl_rates *rates,
                      int threads);
void fl_renewal_finish(struct fl_renewal *r);

#endif
