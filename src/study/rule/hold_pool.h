/* What the games of a session say of each other's holds. */
#ifndef FL_STUDY_RULE_HOLD_POOL_H
#define FL_STUDY_RULE_HOLD_POOL_H

#include "study/rule/return_grid.h"

/* The prior of each grid's delays, before its own returns speak: that of any delay, and what the
 * other games' returns say, each game a vote and "any delay" one as well. A game that says nothing
 * changes nothing. game: of each of the n grids, an index below n; its settings have one hold, and
 * together one vote. Writes g[k].prior; grids without thresholds are left alone and have no say. */
void fl_hold_pool(struct fl_return_grid *g, const size_t *game, size_t n);

#endif
