/* Flicks: bursts of fast motion, whether they were at risk, whether they tripped. */
#ifndef FL_STUDY_TAKE_FLICK_H
#define FL_STUDY_TAKE_FLICK_H

#include "study/take/quantity.h"

/* Sets flicks, n_flicks, camera_floor_deg_s, return_delay_p95_s. Quantities have been set. */
void fl_find_flicks(struct fl_take *t, const struct fl_velocity *v);

/* The steps, for tests. */
/* Floor of v: 5 deg/s (as counts/s or px where degrees are unknown) or the rest noise, which is
 * what the speed reaches while the picture is not in motion (under 25 deg/s): its 95th percentile,
 * or the reach of an error as large as the stillest frames show. */
double fl_flick_floor(const struct fl_take *t, const struct fl_velocity *v);
/* at_risk, tripped, trip_delay_s and peak_to_trip of all flicks of t. */
void fl_flick_outcomes(struct fl_take *t);

#endif
