/* The delay from hand to picture, by flips and states. */
#ifndef FL_CLOCK_REFINE_DELAY_H
#define FL_CLOCK_REFINE_DELAY_H

#include "clock/clock.h"

/* Takes the hold out of a clock from motion and finds L(off) - L(on). False, and *c as it was, if
 * the clock is not known, too little is seen, or the result would lie over 50 ms from the first. In
 * a take without bouts of state off, offset takes in whatever delay it has. */
bool fl_clock_refine(struct fl_clock *c, const struct fl_shift_series *picture,
                     const struct fl_motion *motion, const struct fl_clock_screen *screen);

#endif
