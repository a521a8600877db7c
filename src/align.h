/* Lines a take's trace up with its footage. */
#ifndef FL_ALIGN_H
#define FL_ALIGN_H

#include "study/take/take.h"
#include "trace/motion.h"
#include "trace/trace.h"

struct fl_align_settings {
    double blank;    /* vertical blank's share of a capture period */
    bool at_flips;   /* frames stand at their flips: a local recording with true times */
    double grain_px; /* native px: what a shift is told to at best */
};

/* Fits t->clock on the take's shifts, then settles it on its states and flips. Warns where the
 * clock is refused or wide. */
void fl_align(struct fl_take *t, const struct fl_trace *trace, const struct fl_motion *motion,
              const struct fl_align_settings *set);

#endif
