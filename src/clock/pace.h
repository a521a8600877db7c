/* Speed of picture or hand on a uniform grid, squeezed so that no few movements rule.
 *
 * Both sides are box means over FL_PACE_WINDOW_S and squeezed alike, so that a lag between
 * them is unbiased. */
#ifndef FL_CLOCK_PACE_H
#define FL_CLOCK_PACE_H

#include <stddef.h>

#include "clock/clock.h"

#define FL_PACE_STEP_S 0.008   /* grid of the picture, and of the coarse search */
#define FL_PACE_FINE_S 0.002   /* grid of the hand: a quarter of it */
#define FL_PACE_WINDOW_S 0.024 /* smooths over repeated rows while synthesis is off */
#define FL_PACE_SLOW_S 0.6
enum { FL_PACE_FINE = 4 };     /* fine steps a step */

struct fl_pace {
    double start_s, step_s; /* sample k is at start + k·step */
    size_t n;
    float *x, *y;           /* squeezed: v/√(1 + (v/scale)²), about v where slow; 0 where unknown */
    unsigned char *known;
    double scale;           /* speed of a middling flick */
};

/* softness: times the usual scale; 1 squeezes flicks, more leaves all but wild values alone. */
void fl_pace_of_picture(struct fl_pace *out, const struct fl_shift_series *picture,
                         double softness);
void fl_pace_of_motion(struct fl_pace *out, const struct fl_motion *motion, double start_s,
                        double end_s);
/* Takes off the mean over FL_PACE_SLOW_S: steady pans fit each other at any lag. */
void fl_pace_sharpen(struct fl_pace *t);
void fl_pace_finish(struct fl_pace *t);

#endif
