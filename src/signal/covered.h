/* How much of the picture does not belong to the scene, and is left out. */
#ifndef FL_SIGNAL_COVERED_H
#define FL_SIGNAL_COVERED_H

#include "signal/rows.h"

/* Shares of the picture, 0..1; NaN where the scene never moves fast enough to tell. */
struct fl_covered {
    double share; /* does not move with the scene: overlay, held objects, a second picture, bars */
    double bars;  /* of this, without detail and without any change: black bars, plain panels */
};

void fl_covered_find(struct fl_covered *out, const struct fl_signals *s, const struct fl_rows *r);

#endif
