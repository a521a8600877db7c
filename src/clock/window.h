/* Fine lag in short windows about a coarse one. */
#ifndef FL_CLOCK_WINDOW_H
#define FL_CLOCK_WINDOW_H

#include "clock/lag.h"

#define FL_WINDOW_S 0.512      /* about one flick */
#define FL_WINDOW_REACH_S 0.15 /* searched on both sides */

struct fl_window {
    double time_s;      /* footage time of the middle of its motion */
    double offset_s;    /* trace time - footage time there */
    double correlation; /* at the best lag, of both axes under the common gains */
    double motion;      /* squeezed energy of the picture's motion in it: its say in a vote */
    double weight;      /* how sharply the lag is told */
    bool agrees;        /* set by the line fit */
};

/* Windows in which both sides move and the lag is told at all (a steady pan tells none):
 * malloc'ed, *n of them. */
struct fl_window *fl_windows(const struct fl_speed_track *picture,
                             const struct fl_speed_track *hand, const struct fl_lag *lag,
                             size_t *n);

#endif
