/* How fast the picture moves at each deflection of a stick: the game's own response. */
#ifndef FL_CLOCK_STICK_RESPONSE_H
#define FL_CLOCK_STICK_RESPONSE_H

#include "clock/clock.h"
#include "clock/turn_curve.h"

/* Of a motion that is a stick's, by a clock that is known; rate: place for FL_TURN_RATES. Not known
 * where the stick is held at fewer than three deflections that differ. */
void fl_turn_curve_find(struct fl_turn_curve *out, struct fl_turn_rate *rate,
                        const struct fl_clock *c, const struct fl_shift_series *picture,
                        const struct fl_motion *motion);
/* As the motion takes it: rates in thousandths of the fastest. */
struct fl_stick_response fl_turn_curve_response(const struct fl_turn_curve *t);

#endif
