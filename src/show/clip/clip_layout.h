/* Where things lie in a clip. Text and marks keep 5 % from the edges of the frame (EBU R 95,
 * graphics safe area); lengths grow with the height of the frame, in a narrow one with its width.
 */
#ifndef FL_SHOW_CLIP_CLIP_LAYOUT_H
#define FL_SHOW_CLIP_CLIP_LAYOUT_H

#include "show/clip/clip_settings.h"

struct fl_clip_box {
    int x, y, w, h; /* px, even where pictures and grounds are meant */
};

enum fl_clip_readout {
    FL_READOUT_STATE,
    FL_READOUT_RATE,
    FL_READOUT_SPEED,
    FL_READOUT_TIME,
    FL_READOUT_CAPTION,
    FL_READOUTS
};

/* One take's part of the frame. */
struct fl_clip_layout {
    double unit; /* px: 1 in a frame of 1920 x 1080 */
    struct fl_clip_box picture;
    struct fl_clip_box ground[2];            /* laid under drawings; w 0: none */
    bool see_through;                        /* the ground lets the picture shine through */
    struct fl_clip_box course;               /* graph, states and times; lies in a ground */
    struct fl_clip_box readout[FL_READOUTS]; /* w or h 0: none */
    bool tall; /* readouts stand one below the other: name above, figure below */
};

/* Size of the frame, even. */
void fl_clip_frame_size(const struct fl_clip_settings *s, int *width, int *height);
/* sides: 1, or 2 for takes beside each other; side 0 is the left one. */
void fl_clip_lay_out(struct fl_clip_layout *l, const struct fl_clip_settings *s, int width,
                     int height, int side);

#endif
