/* Where trace and picture part: aiming zoom, vehicles, cut scenes, menus.
 *
 * Both motions are averaged over a window, so that flips and reports even out, and compared as
 * vectors: they are apart where they differ by over 35 % of the larger, as an aiming zoom of 1.54
 * does, and by more than what is too little to mean anything. (The share is a choice.) */
#ifndef FL_CLOCK_PARTING_H
#define FL_CLOCK_PARTING_H

#include <stdbool.h>
#include <stddef.h>

/* For what the answer is used; the share is the same. */
struct fl_parting_use {
    double window_s; /* compared over this long about each frame */
    double least;    /* difference that may mean something, in the unit of the motions */
};

/* To take the trace's word for how fast the scene moves at each frame. Working px a frame, at the
 * scale of the rows' own moves: less than 0.4 is coding. With synthesis off a move shows only at
 * every other frame or so, so a window holds a few base periods: 0.2 s. */
extern const struct fl_parting_use fl_parting_for_seeing;
/* To take the picture's word instead of the trace's for the camera's speed. Degrees a second, which
 * are means over a base period already, so half of that window marks the ends of a disagreement
 * better: 0.1 s. Below 25 deg/s nothing turns (DESIGN: words), and nothing is to be set right. */
extern const struct fl_parting_use fl_parting_for_speed;

/* One frame's motions, in one unit. */
struct fl_motion_pair {
    double trace[2], picture[2];
};
/* False where one of them is not known. */
typedef bool fl_motion_pair_at(const void *ctx, size_t frame, struct fl_motion_pair *out);

enum fl_parting { FL_PARTING_UNKNOWN, FL_TOGETHER, FL_APART };

/* out[i]: of frame i of n; unknown where the window about it holds fewer than three known frames.
 * time_s: rising. */
void fl_parting_find(enum fl_parting *out, const double *time_s, size_t n,
                     const struct fl_parting_use *use, fl_motion_pair_at *at, const void *ctx);

#endif
