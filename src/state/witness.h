/* The second witness: what steps and detail say of runs that the rate alone has labelled. */
#ifndef FL_STATE_WITNESS_H
#define FL_STATE_WITNESS_H

#include "state/flips.h"
#include "state/rates.h"
#include "state/runs.h"

/* One rate of flips may be on at half of it or off: settles what the rates leave open, or finds
 * them anew where they contradict the steps. given: what fl_rates_find was given. */
void fl_witness_resolve(struct fl_rates_found *f, const struct fl_evidence *e,
                        const struct fl_rows *rows, const struct fl_rates_given *given);

/* Parts runs that are off by their rate where synthesis is on at half the base rate, marks those
 * that are off by both witnesses, and names kinds (one a gap of the best path) where they are
 * clear. */
void fl_witness_heed(struct fl_runs *runs, enum fl_kind *kind, const struct fl_renewal *r,
                     const struct fl_evidence *e, const struct fl_rows *rows,
                     const struct fl_rates *rates);

#endif
