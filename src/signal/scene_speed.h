/* How fast the scene moves about each frame: rows that stand still say something only while it
 * does. */
#ifndef FL_SIGNAL_SCENE_SPEED_H
#define FL_SIGNAL_SCENE_SPEED_H

#include "signal/rows.h"

/* A frame each, `frames` long, malloc'ed; working px a frame, 0 where the scene rests. */
struct fl_scene_speed {
    size_t frames;
    float *across; /* at which it moves both before and after the frame, in one direction */
    float *beside; /* at which it moves before or after */
};

/* From the rows' own moves. frame_s: the capture period. */
void fl_scene_speed_find(struct fl_scene_speed *out, const struct fl_rows *r,
                         const struct fl_signals *s, double frame_s);
void fl_scene_speed_finish(struct fl_scene_speed *s);

#endif
