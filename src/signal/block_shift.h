/* Where each part of the picture went: what tells a turn from a ride and from a zoom.
 *
 * The scene's shift is one for the whole picture and tiles are searched along it only. Here each of
 * a few large blocks is sought in the picture some frames before in every direction. */
#ifndef FL_SIGNAL_BLOCK_SHIFT_H
#define FL_SIGNAL_BLOCK_SHIFT_H

#include <stdint.h>

#include "signal/signals.h"

enum { FL_BLOCKS_ACROSS = 8, FL_BLOCKS_DOWN = 5, FL_BLOCKS = FL_BLOCKS_ACROSS * FL_BLOCKS_DOWN };
enum { FL_BLOCK_PARTS = 64 }; /* of a working pixel */

/* One block since the frame `back` before. */
struct fl_block {
    int16_t x, y; /* shift of the content, parts of a working pixel a frame */
    /* How sharply the match falls off across and down, 0..255: 0 on flat parts, along an edge, and
     * where the block was not inside the picture before. */
    uint8_t sure_x, sure_y;
};

struct fl_block_shifts {
    int back; /* frames between the two pictures, 1 to 4: few where it is fast; 0: not measured */
    struct fl_block block[FL_BLOCKS]; /* row by row */
};

extern const struct fl_signal_kind fl_block_shift_signal;

/* From `frame` on, a frame each. */
static inline struct fl_block_shifts *fl_block_shifts(const struct fl_signals *s, size_t frame)
{
    return fl_signals_row(s, &fl_block_shift_signal, frame);
}

/* Of the picture, working px: a block's middle. */
void fl_block_middle(const struct fl_grid *g, int block, double *x, double *y);

#endif
