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
    /* How much more the edges moved than the middle, 1: as a turn moves them, 0: all alike, as a
     * ride along a wall does; NaN where that is not known to 0.2, as in a narrow view. */
    float bend;
};

/* What the parts did over a stretch, frames weighted by their speed. */
struct fl_view_sums {
    double frames, moved, along, bent, bend;
};
void fl_view_sums_add(struct fl_view_sums *s, const struct fl_view_motion *m, int sign);
/* Whether a turn explains it: at least seven tenths of the parts go along, and where it is known
 * the edges move at least 0.4 of what a turn makes them move more. False where nothing is known. */
bool fl_view_turns(const struct fl_view_sums *s);

/* One for each frame, of the blocks within half_s before and after it. focal_px: focal length in
 * working px. */
void fl_view_motion_find(struct fl_view_motion *out, const struct fl_signals *s,
                         const struct fl_rows *r, const double *time_s, double half_s,
                         double focal_px);

#endif
