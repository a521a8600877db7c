/* Which response to begin with where a game's own is not known yet. */
#ifndef FL_CLOCK_STICK_TRY_H
#define FL_CLOCK_STICK_TRY_H

#include "clock/clock.h"
#include "clock/lag.h"

/* Of a motion that is a stick's: leaves it with the response, of those that games use, by which
 * trace and picture line up with the most confidence; with the straight one, and false, where none
 * does. band: as in fl_clock_from_motion_near, or NULL. */
bool fl_stick_try_responses(struct fl_motion *m, const struct fl_shift_series *picture,
                            double trace_start_s, double trace_end_s,
                            const struct fl_lag_band *band);

#endif
