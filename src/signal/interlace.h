/* Do the odd rows of each picture show another moment than the even ones? So they do in interlaced
 * footage, whether or not its file says so. */
#ifndef FL_SIGNAL_INTERLACE_H
#define FL_SIGNAL_INTERLACE_H

#include "signal/signals.h"

extern const struct fl_signal_kind fl_field_lag_signal;

/* From `frame` on, a frame each: by how far what odd rows show lies to the right of what the even
 * rows above and below show, working px; NaN: too little detail. */
static inline float *fl_field_lags(const struct fl_signals *s, size_t frame)
{
    return fl_signals_row(s, &fl_field_lag_signal, frame);
}

/* Frames in sideways motion whose odd rows lie elsewhere than their even ones: in progressive
 * footage hardly any. */
struct fl_interlace {
    long frames;
    double part; /* of the motion from frame to frame lies between the rows, median: half in
                    interlaced footage, negative if odd rows come first; NaN: few frames */
    double
        agree; /* 0.5..1: share that has odd rows on one side of the motion; NaN without frames */
    bool interlaced; /* many, on one side whichever way the camera turns, and not at rest */
};

void fl_interlace_find(struct fl_interlace *out, const struct fl_signals *s);

#endif
