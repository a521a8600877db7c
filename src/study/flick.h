/* Flicks: bursts of fast motion, whether they were at risk, whether they tripped. */
#ifndef FL_STUDY_FLICK_H
#define FL_STUDY_FLICK_H

#include "study/quantity.h"

/* Sets flicks, n_flicks, camera_floor_deg_s, return_delay_p95_s. Quantities have been set. */
void fl_find_flicks(struct fl_take *t, const struct fl_velocity *v);

/* The steps, for tests. */
/* Floor of v: 5 deg/s (as counts/s or px where degrees are unknown) or the rest noise. */
double fl_flick_floor(const struct fl_take *t, const struct fl_velocity *v);
/* 95th percentile of the delay from the end of a flick to the return; NaN under five returns. */
double fl_return_delay(const struct fl_take *t);
/* at_risk, tripped, trip_delay_s and peak_to_trip of all flicks of t. */
void fl_judge_flicks(struct fl_take *t);

#endif
