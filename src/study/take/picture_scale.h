/* How far the camera turns for a shift of its whole picture. */
#ifndef FL_STUDY_TAKE_PICTURE_SCALE_H
#define FL_STUDY_TAKE_PICTURE_SCALE_H

#include "study/take/take.h"

/* Screen geometry: degrees that a shift of s px at the picture's centre stands for, and back. */
double fl_shift_degrees(double shift_px, int width, double fov_deg);
double fl_degrees_shift(double degrees, int width, double fov_deg);
/* Fills t->turn, and t->picture_scale: the turn that the middle of the picture shows over the one
 * that its whole shift would be at the middle; NaN where the field of view is not given, too few
 * turns are seen, or the two do not go together. From t's spec, width, time_s and signals. */
void fl_picture_scale_measure(struct fl_take *t, const struct fl_signals *signals);
/* What frame shows of the camera's turn since the frame before, by its middle: as much of it as the
 * rows that are new show, so frames that a tear crosses add up. False where it is not known. */
bool fl_picture_turn(const struct fl_take *t, size_t frame, double *right_deg, double *down_deg);
/* Degrees that the camera turns as the picture shifts by so many native px from one frame to the
 * next, given the field of view. */
double fl_picture_degrees(const struct fl_take *t, double shift_px);
/* And back. */
double fl_picture_shift(const struct fl_take *t, double degrees);

#endif
