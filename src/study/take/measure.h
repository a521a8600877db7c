/* States and motion of one take → quantities, flicks, exposure, smoothness. */
#ifndef FL_STUDY_TAKE_MEASURE_H
#define FL_STUDY_TAKE_MEASURE_H

#include "study/take/take.h"
#include "trace/motion.h"

/* Fills quantity[], kernel_ms, flicks, exposure, smoothness, pacing, camera_floor, return delay and
 * warnings of a take whose spec, footage, clock, flips, states, time_s and signals are set.
 * visible_floor_deg_s has been set by the caller. image_change: mean |ΔY'| of each frame
 * against the frame before, 8-bit levels (frames long, NaN where unknown), may be NULL.
 * motion may be NULL (no trace). */
void fl_measure_take(struct fl_take *t, const struct fl_motion *motion, const float *image_change);

#endif
