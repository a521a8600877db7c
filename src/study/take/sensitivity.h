/* How far the camera turns for a count of the mouse, as the take itself shows.
 *
 * Rests on the field of view: all is as true as that. */
#ifndef FL_STUDY_TAKE_SENSITIVITY_H
#define FL_STUDY_TAKE_SENSITIVITY_H

#include <stdbool.h>
#include <stddef.h>

#include "study/take/strokes.h"

/* One axis of the mouse. */
struct fl_axis_gain {
    double degrees, low, high; /* a count, with 95 %; below 0: inverted; NaN: not found */
    double growth; /* by which it grows as the hand doubles its speed, as a share; NaN: not
                      told */
    double growth_low, growth_high; /* 95 % */
    double agree;                   /* share of the counts in strokes within a tenth of it */
    size_t strokes;
};

struct fl_sensitivity {
    struct fl_axis_gain right, down; /* the mouse's counts to the right, towards the user */
    double tilt_deg;                 /* of the camera, mean over the frames that turn, + down */
    double fov_deg, fov_low_deg, fov_high_deg; /* horizontal, where it was not given but degrees a
                                                  count were; NaN */
    char refused[160];                         /* why right is not known; "": it is */
};

/* The gain grows or falls with speed: no one number says it. */
bool fl_axis_grows(const struct fl_axis_gain *g);

void fl_sensitivity_none(struct fl_sensitivity *out, const char *why);
/* slow_rad: a turn a frame that may not show whole. Never fails: refuses. */
void fl_sensitivity_find(struct fl_sensitivity *out, const struct fl_turning *m, double slow_rad);

#endif
