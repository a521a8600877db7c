/* The scene's shift a frame: which of the peaks of the pairs of pictures around it is meant.
 *
 * Shifts are those of the content: a camera that turns right moves it to the left (negative x). */
#ifndef FL_SIGNAL_SCENE_SHIFT_H
#define FL_SIGNAL_SCENE_SHIFT_H

#include "signal/signals.h"

struct fl_scene_shift {
    float x, y;    /* working px; 0 when none was seen */
    float quality; /* 0..1: how well neighbouring frames agree on it */
    /* The frame's own shift if all of its rows moved alike, working px, 0.1 px fine; also of a
     * scene that drifts too slowly for the above, or rests. Its quality falls to 0 as another shift
     * explains the frames around as well: one in another direction (a texture that repeats) or none
     * (overlay, a thing that moves before a resting scene). */
    float whole_x, whole_y, whole_quality;
};

extern const struct fl_signal_kind fl_scene_shift_signal;

/* From `frame` on, a frame each. */
static inline struct fl_scene_shift *fl_scene_shifts(const struct fl_signals *s, size_t frame)
{
    return fl_signals_row(s, &fl_scene_shift_signal, frame);
}

#endif
