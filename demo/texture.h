/* Procedural textures: patterns painted on a canvas, then mip levels ready for fast sampling. */
#ifndef STAGE_TEXTURE_H
#define STAGE_TEXTURE_H

#include <stdint.h>

#include "rng.h"

/* Paint: luma 0..1 of the nominal range, chroma around 128. Sides are powers of two. */
struct st_canvas {
    int width, height;
    float *y;
    uint8_t *u, *v;
};

/* One mip level. A quad packs the four neighbours of bilinear sampling into one load:
 * bytes 0..3 = t(x,y), t(x,y+1), t(x+1,y), t(x+1,y+1), wrapping at the edges, each 0..219. */
struct st_level {
    int width_bits, height_bits;
    uint32_t *quad;
    uint16_t *chroma; /* Cb | Cr << 8 */
};

enum { ST_LEVELS = 9 };
struct st_texture {
    int width, height; /* of level 0 */
    /* each half of the one before, down to 2 × 2; then repeated */
    struct st_level level[ST_LEVELS];
};

struct st_paint {
    float light, dark; /* luma of highlights and of joints, 0..1 */
    int u, v;          /* chroma */
    float contrast;    /* of the fine grain, 0..1 */
};

enum st_pattern {
    ST_BRICK,
    ST_BLOCKS,
    ST_PLANKS,
    ST_PLATES,
    ST_GRAVEL,
    ST_PLASTER,
    ST_TILES,
    ST_LEAVES,
    ST_CLOUDS,
    ST_CRATE
};

void st_canvas_init(struct st_canvas *c, int width, int height);
void st_canvas_finish(struct st_canvas *c);
void st_paint_pattern(struct st_canvas *c, enum st_pattern pattern, const struct st_paint *paint,
                      uint64_t seed);
/* A board with a frame and centred lines of lettering; text may hold several lines. */
void st_paint_sign(struct st_canvas *c, const char *text, const struct st_paint *board, float ink,
                   int ink_u, int ink_v);

void st_texture_init(struct st_texture *t, const struct st_canvas *c);
void st_texture_finish(struct st_texture *t);

#endif
