/* How long gaps between flips last, by mode: tables of log densities over whole slots. */
#ifndef FL_STATE_GAPS_H
#define FL_STATE_GAPS_H

#include <stddef.h>

enum fl_gap_mode {
    FL_GAP_AFTER_RENDERED,    /* on: a rendered frame shows */
    FL_GAP_AFTER_SYNTHESISED, /* on: a synthesised frame shows */
    FL_GAP_MISSED,            /* on: a rendered frame shows for a whole base period, once */
    FL_GAP_OFF,
    FL_GAP_REST,
    FL_GAP_MODES
};

struct fl_rates {
    double on_period_s, off_period_s; /* base periods */
    double share;                     /* φ: the rendered frame's share of the pair, 0..1 */
    double quantum_s;                 /* flips wait for a clock of this period; 0: they do not */
    double missed;                    /* chance that a synthesised frame is missing, 0..1 */
};

struct fl_gap {
    size_t from, to; /* slots of the flips at its ends */
    enum fl_gap_mode mode;
};

struct fl_gap_density {
    size_t least, most; /* slots; longer and shorter are impossible */
    float *forward;     /* ln P of least, least + 1, … most */
    float *backward;    /* the same from most down to least */
};

struct fl_gap_table {
    struct fl_gap_density mode[FL_GAP_MODES]; /* rest: unused */
    size_t longest;                           /* of all but rest, slots */
    size_t rest_least;                        /* shortest rest, slots */
    float rest_stay, rest_leave;              /* ln P a slot */
};

void fl_gap_table_init(struct fl_gap_table *t, const struct fl_rates *rates, double slot_s);
void fl_gap_table_finish(struct fl_gap_table *t);

#endif
