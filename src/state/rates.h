/* Base rates from the evidence alone. */
#ifndef FL_STATE_RATES_H
#define FL_STATE_RATES_H

#include "state/renewal.h"

/* Base rates that games run at; outside them a rate is read as twice or half of one (common
 * practice, no source). */
#define FL_BASE_LEAST_HZ 40.0
#define FL_BASE_MOST_HZ 122.0

struct fl_rates_found {
    struct fl_rates rates; /* as pictures are shown */
    double rendered_off_s; /* base period of state off as pictures are rendered; NaN if too little
                              of it tells */
    double rendered_on_s;  /* the same of state on */
    bool saw_on, saw_off;  /* enough of each to be sure that the take holds it */
    bool on_counted;       /* on-state flips leave marks of their own: the on rate is measured */
    unsigned possible;     /* bit n: n output frames for each rendered one while on may be; one bit:
                              that is N, as in rates.frames. 0 until steps are asked (witness.h) */
    unsigned possible_uncounted; /* the same if on-state flips turn out not to be countable */
    const char *ambiguous;       /* why on and off cannot be told apart; NULL when they can */
};

struct fl_rates_given {
    double capture_period_s; /* of the footage */
    double pin_hz;           /* a known base rate; NaN if none */
    bool disabled;           /* a control, in which a single rate is the rate without synthesis */
    double longest_on_s;     /* on-state flips further apart than this are ruled out; 0: none is */
    int threads;             /* to search on; 0: one a core */
    int frames;              /* N, if it is known; else 0 */
};
void fl_rates_find(struct fl_rates_found *out, const struct fl_evidence *e,
                   const struct fl_rates_given *given);

/* N where only one is possible; else 0. */
int fl_rates_frames(const struct fl_rates_found *f);

/* The segments that tell most, up to a few seconds of them, moved to the front of s; how many. */
size_t fl_segments_telling(struct fl_segment *s, size_t n, double slot_s);

#endif
