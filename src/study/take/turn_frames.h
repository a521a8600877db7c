/* How far the camera turned from each frame to the next.
 *
 * A point at (x, y) native px right of and below the middle, seen at focal length f, moves by
 *     u = f·[-(1 + X²)·r - XY·d + Y·c],    v = f·[-XY·r - (1 + Y²)·d - X·c],    X = x/f, Y = y/f
 * when the camera turns by the small angles r to its right, d downwards and c clockwise, rad (the
 * turning part of the optic flow: Longuet-Higgins and Prazdny 1980). How far away things are does
 * not enter. A mouse turns the camera about the world's upright: with the camera tilted down by t,
 * a turn of a is r = a·cos t with c = a·sin t. */
#ifndef FL_STUDY_TAKE_TURN_FRAMES_H
#define FL_STUDY_TAKE_TURN_FRAMES_H

#include "signal/signals.h"

/* One frame against the one before. */
struct fl_frame_turn {
    double right, down; /* rad, of the camera's own axes, mean over the picture's middle half, where
                           rows may show more than one output frame; NaN where not known */
    double doubt; /* share of it that fits nowhere and is not torn: it goes by its neighbours */
    double lean, lean_weight; /* tan t that this frame alone speaks for, and how loudly: 1 over its
                                 variance; 0: not at all */
};

/* signals->n of them, malloc'ed. focal_px: native. */
struct fl_frame_turn *fl_turn_frames(const struct fl_signals *signals, double focal_px);

#endif
