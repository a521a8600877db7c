/* The shift of each capture frame against the one before, as files give it.
 *
 * It is that at the picture's middle: a turning camera moves the edges of a wide view more. Two
 * measurements meet here. The whole picture's (signals) is fine, but holds only where all rows
 * moved alike; the mean of the rows' own holds also in torn frames, where some stood still, but is
 * coarser, and taken over the picture's width. Where the two agree the first is taken, else the
 * second. */
#ifndef FL_SIGNAL_SHIFT_H
#define FL_SIGNAL_SHIFT_H

#include "signal/rows.h"

/* Its columns: the shift in native px, NaN if unknown, and how well it is known, 0..1. From 0.5 up
 * a shift is meant to be right to a working pixel (see signal/picture.h); below, it is not to be
 * relied upon. */
enum { FL_SHIFT_X_PX, FL_SHIFT_Y_PX, FL_SHIFT_QUALITY };
extern const struct fl_signal_kind fl_shift_signal;

/* The same by itself; r->frames each. */
void fl_shift_combine(const struct fl_signals *s, const struct fl_rows *r, float *x, float *y,
                      float *quality);

#endif
