/* What each row band did since the frame before: stood still, changed, and by how much. */
#ifndef FL_SIGNAL_ROWS_H
#define FL_SIGNAL_ROWS_H

#include <stddef.h>

#include "signal/signals.h"

struct fl_rows {
    size_t frames;
    int bands;
    float noise;    /* of the coding, grey levels: mean |ΔY| of rows that did not change */
    float *verdict; /* frames × bands: -1 changed .. 0 cannot tell .. 1 still */
    float *shift;   /* frames × bands: along the scene's direction, working px; 0 if still, NaN if
                       unknown */
    float *detail;  /* frames × bands: ln contrast against the frames beside it; NaN if unknown */
    float *tile_weight; /* bands × tiles: 1 scene, 0 overlay or held object */
    float *move_x,
        *move_y; /* a frame: mean shift of its telling bands, working px; NaN if too few tell */
};

/* Frames before and after a frame within which a moving scene shows a flip even at the lowest base
 * rate. frame_s: the capture period. */
size_t fl_rows_reach(double frame_s);
/* frame_s: the capture period. */
void fl_rows_judge(struct fl_rows *out, const struct fl_signals *s, double frame_s);
void fl_rows_finish(struct fl_rows *r);

#endif
