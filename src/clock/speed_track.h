/* Speed of picture or hand on a uniform grid, squeezed so that no few movements rule.
 *
 * Both sides are box means over FL_SPEED_WINDOW_S and squeezed alike, so that a lag between
 * them is unbiased. */
#ifndef FL_CLOCK_SPEED_TRACK_H
#define FL_CLOCK_SPEED_TRACK_H

#include <stddef.h>

#include "clock/clock.h"

#define FL_SPEED_STEP_S 0.008   /* grid of picture and coarse search: about a frame at 120/s */
#define FL_SPEED_FINE_S 0.002   /* grid of the hand: a quarter of it */
#define FL_SPEED_WINDOW_S 0.024 /* smooths over repeated rows while synthesis is off */
#define FL_SPEED_SLOW_S 0.6     /* longer than a flick, shorter than a pan */
enum { FL_SPEED_FINE = 4 };     /* fine steps a step */

struct fl_speed_track {
    double start_s, step_s; /* sample k is at start + k·step */
    size_t n;
    float *x, *y; /* squeezed: v/√(1 + (v/scale)²), about v where slow; 0 where unknown */
    unsigned char *known;
    double scale; /* speed of a middling flick */
};

/* softness: times the usual scale; 1 squeezes flicks, more leaves all but wild values alone. */
void fl_speed_track_of_picture(struct fl_speed_track *out, const struct fl_shift_series *picture,
                               double softness);
void fl_speed_track_of_motion(struct fl_speed_track *out, const struct fl_motion *motion,
                              double start_s, double end_s);
/* Takes off the mean over FL_SPEED_SLOW_S: steady pans fit each other at any lag. */
void fl_speed_track_sharpen(struct fl_speed_track *t);
void fl_speed_track_finish(struct fl_speed_track *t);

#endif
