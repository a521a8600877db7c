/* Deflection up to which a game does not turn. */
#ifndef FL_CLOCK_DEAD_ZONE_H
#define FL_CLOCK_DEAD_ZONE_H

#include "clock/turn_curve.h"

/* Of a curve whose rates are found, rest included; NaN where no deflection at rest and three in
 * motion are seen. */
double fl_dead_zone(const struct fl_turn_curve *t);

#endif
