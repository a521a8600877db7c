/* Simulated sessions with a known trip curve: flicks only, no pictures. */
#ifndef FL_RECOVERY_SIMULATE_H
#define FL_RECOVERY_SIMULATE_H

#include <stdint.h>

#include "study/take/session.h"

struct scenario {
    const char *name, *text;  /* what is invented, for the table */
    int settings;             /* 1, or 2 resolutions to compare */
    int takes, flicks;        /* a setting, a take */
    double slope;             /* logits an octave */
    double take_sd;           /* octaves between takes' own V50 */
    double v50_low, v50_high; /* deg/s; a session's V50 is log-uniform between the two */
    double ratio;             /* V50 of the first setting over that of the second */
    double stray;             /* share of outcomes turned round */
    double blur; /* octaves, standard deviation: the watched quantity goes its own way by so much */
    double hidden_below; /* deg/s: four in five slower flicks have an unseen outcome */
};

#define SLOWEST 40.0 /* deg/s; peaks are log-uniform from here */
#define FASTEST 1200.0

/* Takes of session k, with the session's true V50 of the first setting into *v50. Not yet studied.
 */
struct fl_session *simulate(const struct scenario *s, uint64_t k, double *v50);
/* Truth where the watched quantity is another: log2 of the plain V50 of 100,000 flicks over the V50
 * put in. */
double offset_of_many(const struct scenario *s);

#endif
