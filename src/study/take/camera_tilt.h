/* How far the camera looks down, in each frame. */
#ifndef FL_STUDY_TAKE_CAMERA_TILT_H
#define FL_STUDY_TAKE_CAMERA_TILT_H

#include "study/take/strokes.h"

/* The mouse tells the change of tilt, down_per_count rad; how the upper and the lower half of the
 * picture differ in turns tells where it began, anew every eight seconds, as menus and recoil move
 * the mouse without the camera, or the camera without the mouse. tilt: n, rad, down; NaN where the
 * mouse's path is not known. Frames in which the camera does not
 * turn as the mouse says, right_per_count rad (0: not known), are not asked: a carried camera fakes
 * a tilt. Returns the standard error of its mean, rad; 0.26, as much as is expected of players
 * before anything is seen, where nothing tells. */
double fl_camera_tilt(double *tilt, const struct fl_turning *m, double down_per_count,
                      double right_per_count);

#endif
