/* How long gaps between flips last, by mode: tables of log densities over whole slots. */
#ifndef FL_STATE_GAPS_H
#define FL_STATE_GAPS_H

#include <stdbool.h>
#include <stddef.h>

/* Output frames for each rendered one with synthesis on (N): the most that are told. */
enum { FL_FRAMES_LEAST = 2, FL_FRAMES_MOST = 4 };

/* On, each of the N frames of a base period has a mode of its own, the rendered one first. */
enum fl_gap_mode {
    FL_GAP_AFTER_RENDERED, /* N = 2 */
    FL_GAP_AFTER_SYNTHESISED,
    FL_GAP_OF_THREE,                      /* N = 3, the first of three */
    FL_GAP_OF_FOUR = FL_GAP_OF_THREE + 3, /* N = 4, the first of four */
    FL_GAP_MISSED = FL_GAP_OF_FOUR + 4,   /* on: a rendered frame shows for a whole base period,
                                             once */
    FL_GAP_OFF,
    FL_GAP_REST,
    FL_GAP_MODES
};

struct fl_rates {
    double on_period_s, off_period_s; /* base periods */
    double share[FL_FRAMES_MOST];     /* φ: of the base period on, for which each of its N frames
                                         shows; sum 1, the rendered one's first */
    double quantum_s;                 /* flips wait for a clock of this period; 0: they do not */
    double missed;                    /* chance that synthesised frames are missing, 0..1 */
    int frames;                       /* N, 2 to 4 */
    unsigned fewer;      /* bit n: N may fall to n within the take, evenly paced; 0: it may not */
    double missed_again; /* the same of the next ones, too: a recorder drops some. 0: two base
                            periods in a row without any are off */
    bool any_return; /* a return is as likely at one flip in state off as at another, and as none:
                        to ask when one was (return_edge.h) */
};

/* Rates of evenly paced flips, N of them a base period. */
struct fl_rates fl_rates_even(double on_period_s, double off_period_s, int frames);

/* Mode of picture k of n; N of an on mode (0 for the others) and which of the N it shows. */
enum fl_gap_mode fl_gap_on(int n, int k);
int fl_gap_frames(enum fl_gap_mode mode);
int fl_gap_picture(enum fl_gap_mode mode);
/* Does it take part in paths at these rates? */
bool fl_gap_used(const struct fl_rates *rates, enum fl_gap_mode mode);

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
    struct fl_gap_density mode[FL_GAP_MODES]; /* empty: rest, and modes that take no part */
    size_t longest;                           /* of all but rest, slots */
    size_t rest_least;                        /* shortest rest, slots */
    float rest_stay, rest_leave;              /* ln P a slot */
};

void fl_gap_table_init(struct fl_gap_table *t, const struct fl_rates *rates, double slot_s);
void fl_gap_table_finish(struct fl_gap_table *t);

#endif
