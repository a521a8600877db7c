/* Inner loops of the renderer: textured spans in blocks of 16 pixels.
 *
 * span.c is compiled twice, for any processor and for AVX2 where the compiler knows it; both give
 * the same bytes, so a take does not depend on the machine's vector unit. */
#ifndef STAGE_SPAN_H
#define STAGE_SPAN_H

#include <stdint.h>

enum { ST_BLOCK = 16 };

/* Texture coordinates in texels of the level, 16.16; light 8.8 (256 = as painted) in 16.16 steps.
 */
struct st_block {
    const uint32_t *quad;
    const uint16_t *chroma; /* of the next coarser level */
    int32_t u, v, du, dv;
    int32_t light, dlight;     /* light << 8, per pixel */
    uint32_t u_mask, v_mask;   /* sides of the level minus one */
    uint32_t cu_mask, cv_mask; /* the same of the chroma level */
    uint32_t row_bits, crow_bits;
};

struct st_span_kernels {
    /* 16 pixels of luma a block, 16..235. */
    void (*luma)(uint8_t *dst, const struct st_block *blocks, int n);
    /* 8 pixels of Cb and of Cr a block. */
    void (*chroma)(uint8_t *u, uint8_t *v, const struct st_block *blocks, int n);
};

/* The best set that this processor runs. */
const struct st_span_kernels *st_span_kernels(void);

extern const struct st_span_kernels st_span_any;
#ifdef STAGE_HAVE_AVX2
extern const struct st_span_kernels st_span_avx2;
#endif

#endif
