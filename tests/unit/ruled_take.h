/* Invented takes in which a known cut-off rule is at work: a hand that flicks, a game that samples
 * it frame by frame, states seen only while the picture moves. Knows nothing of how rules are
 * fitted; for tests. */
#ifndef FL_RULED_TAKE_H
#define FL_RULED_TAKE_H

#include <stdint.h>

#include "study/take/session.h"

struct ruled_settings {
    const char *id, *game,
        *condition; /* text must outlive the take; NULL: "Glass Canyon", "default" */
    double counts_per_inch, degrees_per_count; /* 0: 800 and 0.044 */
    enum fl_quantity key; /* what the rule watches: count rate, camera speed or image step */
    double theta_off, theta_on, d_off_s, d_on_s; /* in its unit */
    double soft;    /* each flick meets theta_off × 2^(soft·normal), and theta_on likewise */
    double take_sd; /* the same, once a take */
    double seen_above_deg_s; /* slower than this the state is unseen */
    double slowest, fastest; /* peaks, deg/s, log-uniform; 0: 30 and 800 */
    double quantity_noise;   /* relative error of the quantities, one a flick */
    double base_hz;          /* 0: 70 */
    int flicks;
    int strays; /* so many flicks under a third of theta_off trip all the same; key
                   must be camera speed */
    int immune; /* so many flicks of over three times theta_off do not trip; likewise */
    double pause_low, pause_high; /* seconds between flicks; 0: 0.25 and 1.15 */
    double track_deg_s; /* the hand follows something at this speed in every other pause */
    double menu_s;   /* from here on for a second nothing moves and it is on whatever came before */
    bool latches;    /* once off it stays off until the menu */
    bool starts_off; /* off until the menu */
    uint64_t seed;
};

struct fl_take *ruled_take(const struct ruled_settings *s);
/* True speed of the hand of that take at time t, deg/s. */
double ruled_speed(const struct ruled_settings *s, double t_s);
double ruled_seconds(const struct ruled_settings *s);
/* True share of that take in state off, and how many lapses. */
double ruled_off_share(const struct ruled_settings *s, size_t *lapses);

#endif
