/* How likely evidence is at given rates, asked of many rates in turn. */
#ifndef FL_STATE_RATES_LIKELIHOOD_H
#define FL_STATE_RATES_LIKELIHOOD_H

#include "state/renewal.h"

struct fl_rates_likelihood {
    struct fl_heard *heard; /* n_heard segments with evidence, prepared; malloc'ed */
    size_t n_heard;
    const struct fl_evidence *e;
    const struct fl_segment *segments;
};

/* Evidence and segments must outlive it. */
void fl_rates_likelihood_open(struct fl_rates_likelihood *out, const struct fl_evidence *e,
                              const struct fl_segment *segments, size_t n);
/* Log-likelihood over all segments: that of fl_renewal_loglik to 1e-4 of a nat a flip, some twenty
 * times as fast. Any number of threads may ask at once. */
double fl_rates_likelihood_at(const struct fl_rates_likelihood *l, const struct fl_rates *rates);
void fl_rates_likelihood_close(struct fl_rates_likelihood *l);

#endif
