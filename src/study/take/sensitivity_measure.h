/* A take's sensitivity, and what is said of it. */
#ifndef FL_STUDY_TAKE_SENSITIVITY_MEASURE_H
#define FL_STUDY_TAKE_SENSITIVITY_MEASURE_H

#include "study/take/take.h"
#include "trace/motion.h"

/* Fills t->sensitivity from t's spec, width, clock and time_s; refuses without a
 * trace (motion NULL), a clock, or both the field of view and degrees per count: where only the
 * latter is given, the former is found. scan_s: from a frame's first row to its last. */
void fl_sensitivity_measure(struct fl_take *t, const struct fl_motion *motion,
                            const struct fl_signals *signals, double scan_s);

/* Warnings where the session says otherwise, or the axes are not simply alike. */
void fl_sensitivity_warn(struct fl_take *t);

/* Degrees that the camera turns for a count, as given, else as found where one number says it; NaN:
 * neither. */
double fl_take_degrees_per_count(const struct fl_take *t);
/* By how much more a count turns it up or down than left or right: 1 unless found to differ. */
double fl_take_vertical_ratio(const struct fl_take *t);

#endif
