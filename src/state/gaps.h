/* How long gaps between flips last, by mode: tables of log densities over whole slots. */
#ifndef FL_STATE_GAPS_H
#define FL_STATE_GAPS_H

#include "state/renewal.h"

struct fl_gap_density {
    size_t least, most; /* slots; longer and shorter are impossible */
    float *forward;     /* ln P of least, least + 1, … most */
    float *backward;    /* the same from most down to least */
};

struct fl_gap_table {
    struct fl_gap_density mode[FL_GAP_MODES]; /* rest: unused */
    size_t longest;    /* of all but rest, slots */
    size_t rest_least; /* shortest rest, slots */
    float rest_stay, rest_leave; /* ln P a slot */
};

void fl_gap_table_init(struct fl_gap_table *t, const struct fl_rates *rates, double slot_s);
void fl_gap_table_finish(struct fl_gap_table *t);

#endif
