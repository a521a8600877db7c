/* How many output frames each rendered one has, along a take. */
#ifndef FL_STATE_FRAMES_H
#define FL_STATE_FRAMES_H

#include "state/rates.h"
#include "state/state.h"

/* Fills in N of the take and of its spans, whose states are known. Where N may fall within the
 * take, spans on are parted where it does; a part whose steps do not bear out what its flips' rate
 * says has N unknown, and is no reduction. */
void fl_frames_find(struct fl_states *s, const struct fl_rates_found *found,
                    const struct fl_renewal *r, const struct fl_evidence *e,
                    const struct fl_rows *rows);

#endif
