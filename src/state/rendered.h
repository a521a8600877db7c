/* How often the game renders in state off, which is not how often pictures are shown there.
 *
 * Without synthesis there is less delay from hand to picture, or more, and after a switch it slides
 * from one to the other: meanwhile pictures are shown closer together, or farther apart, than they
 * are rendered. Short lapses are little else. */
#ifndef FL_STATE_RENDERED_H
#define FL_STATE_RENDERED_H

#include "state/evidence.h"
#include "state/renewal.h"
#include "state/rhythm.h"

/* Of state off, from the flips of the best path that the rows hold in place, long enough after the
 * state was first sure that the delay has settled. */
void fl_rendered_off(struct fl_rhythm *out, const struct fl_renewal *r, const struct fl_evidence *e,
                     const struct fl_rates *rates);

#endif
