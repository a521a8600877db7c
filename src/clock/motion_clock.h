/* A clock from motion: the trace's against the picture's. */
#ifndef FL_CLOCK_MOTION_CLOCK_H
#define FL_CLOCK_MOTION_CLOCK_H

#include "clock/clock.h"
#include "clock/lag.h"

/* Fits offset and drift. Never fails: refuses. */
void fl_clock_from_motion(struct fl_clock *out, const struct fl_shift_series *picture,
                          const struct fl_motion *motion, double trace_start_s, double trace_end_s);
/* The same where something else tells about where it lies: only lags in the band count, as best and
 * as rival (method "motion+sound"). */
void fl_clock_from_motion_near(struct fl_clock *out, const struct fl_shift_series *picture,
                               const struct fl_motion *motion, double trace_start_s,
                               double trace_end_s, const struct fl_lag_band *band);

#endif
