/* What a camera did: turned, zoomed, or was carried, from where the parts of the picture went. */
#ifndef FL_SIGNAL_VIEW_MOTION_H
#define FL_SIGNAL_VIEW_MOTION_H

#include "signal/rows.h"

/* The turn and zoom that explain best how the blocks about a frame moved. */
struct fl_view_motion {
    float turn_x, turn_y; /* shift of the content at the picture's middle, working px a frame */
    float roll;           /* radians a frame, clockwise */
    float zoom;           /* ln of the factor a frame; above 0: larger */
    float speed;          /* mean of what blocks moved, working px a frame */
    float along; /* 0..1: share of the blocks that go along with these; NaN: too few tell */
};

/* One for each frame, of the blocks within half_s before and after it. focal_px: focal length in
 * working px. */
void fl_view_motion_find(struct fl_view_motion *out, const struct fl_signals *s,
                         const struct fl_rows *r, const double *time_s, double half_s,
                         double focal_px);

#endif
