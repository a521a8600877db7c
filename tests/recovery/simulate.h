/* Simulated sessions with known trip curves: flicks only, no pictures. */
#ifndef FL_RECOVERY_SIMULATE_H
#define FL_RECOVERY_SIMULATE_H

#include <stdint.h>

#include "study/take/session.h"

enum { MOST_SETTINGS = 12, MOST_TAKES = 8 };

/* Which settings a scenario's figures are of. */
enum whose { ALL, ODD, OTHERS };

struct scenario {
    const char *name, *text;  /* what is invented, for the table */
    int settings;             /* resolutions of one game */
    int takes, flicks;        /* a setting, a take */
    bool ragged;              /* settings have 1 to `takes` takes, in turn */
    double slope;             /* logits an octave */
    double take_sd;           /* octaves between takes' own V50 */
    bool any_sd;              /* instead: each setting's own, from the prior, up to MOST_SD */
    double odd_sd, odd_slope; /* of the first setting, where it differs from the others; 0: no */
    enum whose whose;
    double v50_low, v50_high; /* deg/s; V50 is log-uniform between the two; 0: 150 and 400 */
    double span;              /* peaks lie within this factor of V50, as a plan asks; 0: anywhere */
    double ratio; /* V50 of the first setting over that of all others; 0: each its own */
    double stray; /* share of outcomes turned round */
    double blur; /* octaves, standard deviation: the watched quantity goes its own way by so much */
    double peak_error;   /* the same of what was measured, relative */
    double hidden_below; /* deg/s: four in five slower flicks have an unseen outcome */
    double prior_scale;  /* of the spread between takes, octaves; 0: the one in use */
    double target;       /* of intervals that hold the truth; 0: 0.94 */
    double own_target;   /* of takes' own intervals; 0: 0.9, as a slope leans on the session's */
    double own_wide, own_most; /* their width, high/low: median, and of 99 %; 0: none asked */
    double most_wide;          /* median width, high/low; 0: none asked */
};

#define SLOWEST 40.0 /* deg/s; peaks are log-uniform from here */
#define FASTEST 1200.0
#define MOST_SD 0.35 /* octaves */

/* log2 of what was put in. */
struct truth {
    double setting[MOST_SETTINGS], take[MOST_SETTINGS][MOST_TAKES];
    double another[MOST_SETTINGS]; /* of a take that the session does not have */
};

/* Takes of session k. Not yet studied. */
struct fl_session *simulate(const struct scenario *s, uint64_t k, struct truth *truth);
/* Truth where the watched quantity is another: log2 of the plain V50 of 100,000 flicks over the V50
 * put in. */
double offset_of_many(const struct scenario *s);

#endif
