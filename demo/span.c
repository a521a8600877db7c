#include "span.h"

#ifndef SPAN_TABLE
#define SPAN_TABLE st_span_any
#endif

static void luma_block(uint8_t *restrict dst, const struct st_block *restrict b)
{
    const uint32_t *restrict quad = b->quad;
    uint32_t u0 = (uint32_t)b->u, v0 = (uint32_t)b->v, du = (uint32_t)b->du, dv = (uint32_t)b->dv;
    uint32_t um = b->u_mask, vm = b->v_mask, bits = b->row_bits;
    uint32_t light = (uint32_t)b->light, dlight = (uint32_t)b->dlight;
    uint32_t out[ST_BLOCK];
    for (uint32_t i = 0; i < ST_BLOCK; i++) {
        uint32_t u = u0 + i * du, v = v0 + i * dv;
        uint32_t q = quad[((v >> 16 & vm) << bits) + (u >> 16 & um)];
        uint32_t fu = u >> 8 & 255, fv = v >> 8 & 255;
        uint32_t column = (q & 0x00ff00ffu) * (256 - fv) + (q >> 8 & 0x00ff00ffu) * fv;
        uint32_t texel = ((column & 0xffffu) * (256 - fu) + (column >> 16) * fu) >> 16;
        uint32_t lit = texel * ((light + i * dlight) >> 8) >> 8;
        out[i] = 16 + (lit > 219 ? 219 : lit);
    }
    for (int i = 0; i < ST_BLOCK; i++)
        dst[i] = (uint8_t)out[i];
}

static void luma(uint8_t *dst, const struct st_block *blocks, int n)
{
    for (int i = 0; i < n; i++)
        luma_block(dst + ST_BLOCK * i, blocks + i);
}

static void chroma(uint8_t *u_out, uint8_t *v_out, const struct st_block *blocks, int n)
{
    for (int k = 0; k < n; k++) {
        const struct st_block *b = blocks + k;
        uint32_t u = (uint32_t)b->u, v = (uint32_t)b->v;
        for (int i = 0; i < ST_BLOCK / 2; i++) {
            uint32_t c =
                b->chroma[((v >> 17 & b->cv_mask) << b->crow_bits) + (u >> 17 & b->cu_mask)];
            *u_out++ = (uint8_t)c;
            *v_out++ = (uint8_t)(c >> 8);
            u += 2 * (uint32_t)b->du;
            v += 2 * (uint32_t)b->dv;
        }
    }
}

const struct st_span_kernels SPAN_TABLE = {luma, chroma};

#ifndef SPAN_TABLE_ONLY
const struct st_span_kernels *st_span_kernels(void)
{
#ifdef STAGE_HAVE_AVX2
    if (__builtin_cpu_supports("avx2"))
        return &st_span_avx2;
#endif
    return &st_span_any;
}
#endif
