/* How often the game renders with synthesis on, where output runs above the capture rate.
 *
 * There every row of every frame is new, and stretches in which rows stand still tell nothing. But
 * at each tear the rows' shift since the frame before grows by one output step, and a frame later
 * it falls again: such steps show in motion far too slow for stillness to be told. They say nothing
 * of the state; where it is known to be on, they are counted. */
#ifndef FL_STATE_COUNT_ON_H
#define FL_STATE_COUNT_ON_H

#include "state/evidence.h"
#include "state/rates.h"

/* Sets the on period of the rates, `on_counted` and `rendered_on_s` where the steps tell them;
 * leaves them where they tell too little, or where tears stand still or nearly so: coding and
 * overlay make the like. rows: those that e was gathered from. */
void fl_count_on(struct fl_rates_found *f, const struct fl_evidence *e, const struct fl_rows *rows,
                 const struct fl_rates_given *given);

#endif
