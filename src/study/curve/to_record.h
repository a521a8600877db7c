/* What to record so that it can be told which quantity a cut-off watches (DESIGN: which quantity
 * drives it). */
#ifndef FL_STUDY_CURVE_TO_RECORD_H
#define FL_STUDY_CURVE_TO_RECORD_H

#include "study/curve/quantity_rank.h"
#include "study/curve/watch_setting.h"

/* In plain words, one or more sentences, in the arena. rank: FL_QUANTITIES long, of the game of
 * these settings, of which quantity, grade, stands and agreement are read. Names what still fits,
 * which setting to change and to what, and how many takes at each. */
const char *fl_to_record(const struct fl_watch_settings *s, const struct fl_quantity_rank *rank,
                         struct fl_arena *arena);

#endif
