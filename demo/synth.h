/* Frame synthesis: the picture half-way between two rendered ones, by block motion.
 *
 * For every 16 × 16 block of the new picture the motion through it is searched coarse to fine in
 * both neighbours at once, to a quarter of a px; the block is the mean of what lies half-way along
 * the motion in each, sampled between pixels. Right where the motion is smooth, softer wherever it
 * moves, wrong at edges, overlays and in very fast motion. */
#ifndef STAGE_SYNTH_H
#define STAGE_SYNTH_H

#include "picture.h"

enum { ST_SCALES = 4 }; /* full, half, quarter, eighth */

/* Luma at ever smaller sizes; level 0 points into the picture. */
struct st_pyramid {
    int width[ST_SCALES], height[ST_SCALES], stride[ST_SCALES];
    uint8_t *luma[ST_SCALES];
};

void st_pyramid_init(struct st_pyramid *p, int width, int height);
void st_pyramid_finish(struct st_pyramid *p);
/* Shrinks the picture; keeps a pointer to it. */
void st_pyramid_fill(struct st_pyramid *p, const struct st_picture *picture);

struct st_vector {
    int16_t x, y; /* px of the level, from the picture before to the one after */
};

struct st_synth {
    int columns[ST_SCALES], rows[ST_SCALES];
    struct st_vector *field[ST_SCALES]; /* one vector a block */
    struct st_vector *quarters;         /* of full size, in quarters of a px */
};

void st_synth_init(struct st_synth *s, int width, int height);
void st_synth_finish(struct st_synth *s);
/* Fills out, which must have the size of both neighbours, with the picture at part of the way from
 * one to the other; 0.5 is half-way. The search is for half-way in any case. */
void st_synthesise(struct st_synth *s, const struct st_pyramid *before,
                   const struct st_picture *before_picture, const struct st_pyramid *after,
                   const struct st_picture *after_picture, double part, struct st_picture *out);

#endif
