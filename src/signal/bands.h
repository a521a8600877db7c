/* Did the rows move? Each tile of each row band is compared with the picture before, unmoved
 * and moved along the scene's direction. */
#ifndef FL_SIGNAL_BANDS_H
#define FL_SIGNAL_BANDS_H

#include <stdbool.h>
#include <stdint.h>

#include "signal/signals.h"

/* One tile against the picture before. Costs are mean absolute differences in grey levels,
 * coded on a log scale that keeps a byte: see fl_cost_code. */
struct fl_tile {
    uint8_t still;  /* cost unmoved */
    uint8_t moved;  /* best cost at any shift of a pixel or more along the scene's; FL_COST_NONE if
                       untried */
    int8_t steps;   /* that shift, in FL_STEP_PARTS of the scene's shift a frame (0 if untried) */
    uint8_t detail; /* contrast of this picture alone at native size: see fl_detail */
};

enum {
    FL_COST_NONE = 255,
    FL_STEP_PARTS = 39
}; /* the longest shift tried, 3.2 times the scene's, fits a byte */

uint8_t fl_cost_code(float mean_abs_difference); /* 0..254, monotone */
float fl_cost(uint8_t code);                     /* grey levels */

/* ln of the mean |ΔY| of pixels side by side, in native pixels: blended pictures have less of it
 * than the rendered ones around them. Code 0: too little to tell by. */
float fl_detail(uint8_t code);
/* Of one band; tiles: the band's row of tiles, of which only `detail` is set. */
void fl_band_detail(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t stride, int band,
                    struct fl_tile *tiles);

/* tiles: bands × tiles, row-major; detail is left as it is. shift: the scene's shift a frame,
 * working px; below FL_BANDS_MIN_SHIFT only `still` is measured. */
#define FL_BANDS_MIN_SHIFT 0.7f
void fl_bands_measure(const struct fl_grid *g, const uint8_t *before, const uint8_t *now,
                      float shift_x, float shift_y, struct fl_tile *tiles);

extern const struct fl_signal_kind fl_bands_signal;

/* All of the frame, row-major; one of them. */
static inline struct fl_tile *fl_tiles(const struct fl_signals *s, size_t frame)
{
    return fl_signals_row(s, &fl_bands_signal, frame);
}

static inline const struct fl_tile *fl_tile_at(const struct fl_signals *s, size_t frame, int band,
                                               int tile)
{
    return fl_tiles(s, frame) + (size_t)band * (size_t)s->grid.tiles + (size_t)tile;
}

#endif
