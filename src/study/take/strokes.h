/* Movements of the mouse one way, and how far the camera turned in each. */
#ifndef FL_STUDY_TAKE_STROKES_H
#define FL_STUDY_TAKE_STROKES_H

#include <stdbool.h>

#include "study/take/turn_frames.h"

/* What hand and camera did, n frames. */
struct fl_turning {
    size_t n;
    const double *time_s;        /* rising */
    const double *across, *down; /* counts of the mouse so far; NaN where not known */
    const struct fl_frame_turn *turn;
};

struct fl_stroke {
    double counts, turn_rad; /* right or down */
    double speed;            /* counts/s, mean over the counts */
    double doubt;            /* share of its way in parts of pictures that could not be followed */
};

struct fl_strokes {
    struct fl_stroke *v; /* n, malloc'ed */
    size_t n, cap;
};

/* Of one axis: right, else down; tilt_rad: the camera's in each frame. A stroke is cut where it
 * falls below slow_counts a frame or a twentieth of its fastest: encoders drop slow motion in part
 * or wholly. It begins and ends equally slowly, so a delay that is a little off, or that differs
 * between on and off, hardly matters. Frames whose turn is not known are left out on both sides,
 * few as they may be. */
void fl_strokes_find(struct fl_strokes *out, const struct fl_turning *m, const double *tilt_rad,
                     bool right, double slow_counts);

#endif
