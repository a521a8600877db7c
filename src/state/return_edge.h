/* When a return was: the last moment that shows off, the first that shows on. */
#ifndef FL_STATE_RETURN_EDGE_H
#define FL_STATE_RETURN_EDGE_H

#include "state/runs.h"

/* Where a run on follows a run off, lets the one end at the last slot, and the other begin at the
 * first, at which the flips themselves show it: 19 to one, if a return is as likely at one flip as
 * at another. Runs only shrink; an edge that two share and that is known to a gap stays theirs.
 * Rates: those that the runs were found with; threads as for fl_renewal_solve. */
void fl_return_edges(struct fl_runs *runs, const struct fl_evidence *e,
                     const struct fl_rates *rates, int threads);

#endif
