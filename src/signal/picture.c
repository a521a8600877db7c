/* Box means by a whole factor: sums along columns, then along rows, in loops that vectorise.
 *
 * A whole factor keeps rows apart: no working row mixes native rows of two bands. */
#include "signal/picture.h"

#include <assert.h>
#include <stdbool.h>
#include <string.h>

enum {
    NARROW = 16,   /* factors up to which a sum of f×f levels fits 16 bits */
    CHUNK = 32,    /* working columns at a time */
    WIDEST = 257,  /* factor up to which a sum of f levels fits 16 bits */
    LINE = 64,     /* bytes that a cache fetches at a time; common practice, no source */
    WORKING = 480, /* least columns of a working picture: under 960, as the factor is whole */
    LEAST_BANDS = 2,
    ALIGN = 32,   /* bytes, of working rows */
    TILE_PX = 16, /* working columns that a tile needs */
};

void fl_grid_init(struct fl_grid *g, int native_width, int native_height)
{
    int factor = native_width / WORKING;
    *g = (struct fl_grid){.native_width = native_width,
                          .native_height = native_height,
                          .factor = factor < 1 ? 1 : factor};
    while (g->factor > 1 && native_height / g->factor < LEAST_BANDS * FL_BAND_ROWS)
        g->factor--;
    g->width = native_width / g->factor;
    g->height = native_height / g->factor;
    g->stride = (g->width + ALIGN - 1) / ALIGN * ALIGN;
    g->bands = g->height / FL_BAND_ROWS ? g->height / FL_BAND_ROWS : 1;
    g->tiles = g->width >= TILE_PX * FL_TILES ? FL_TILES : 1;
}

int fl_band_row(const struct fl_grid *g, int band)
{
    return (int)((long)band * g->height / g->bands);
}

int fl_tile_column(const struct fl_grid *g, int tile)
{
    return (int)((long)tile * g->width / g->tiles);
}

/* Sums of f native rows. Inlined with a constant f, like the next, so that compilers unroll both.
 */
static inline void add_rows(uint16_t *restrict sum, const uint8_t *restrict luma, ptrdiff_t stride,
                            int n, int f)
{
    for (int x = 0; x < n; x++) {
        uint16_t s = 0;
        for (int r = 0; r < f; r++)
            s = (uint16_t)(s + luma[r * stride + x]);
        sum[x] = s;
    }
}

/* Sums of f neighbours, scaled back to grey levels. Summing at every column and dropping most is
 * quicker than one by one: it runs in vectors. */
static inline void add_columns(uint8_t *restrict to, const uint16_t *restrict sum, int n, int f)
{
    uint32_t scale = (65536u + (uint32_t)(f * f) / 2) / (uint32_t)(f * f);
    uint16_t at[CHUNK * NARROW];
    assert(n <= CHUNK * NARROW);
    for (int x = 0; x <= n - f; x++) {
        uint16_t s = 0;
        for (int k = 0; k < f; k++)
            s = (uint16_t)(s + sum[x + k]);
        at[x] = s;
    }
    for (int x = 0; x < n / f; x++)
        to[x] = (uint8_t)((at[x * f] * scale + 32768) >> 16);
}

/* Any f up to 257, for which sums of columns need 32 bits. */
static void add_columns_wide(uint8_t *restrict to, const uint16_t *restrict sum, int n, int f)
{
    for (int x = 0; x < n / f; x++) {
        uint32_t s = (uint32_t)(f * f) / 2;
        for (int k = 0; k < f; k++)
            s += sum[x * f + k];
        to[x] = (uint8_t)(s / (uint32_t)(f * f));
    }
}

/* The memory is slower than the sums: asks for what the next working row needs meanwhile. */
static inline void fetch(const uint8_t *luma, ptrdiff_t stride, int n, int f)
{
    for (int r = 0; r < f; r++)
        for (int x = 0; x < n; x += LINE)
            __builtin_prefetch(luma + (f + r) * stride + x);
}

static inline void reduce_row(uint8_t *to, const uint8_t *luma, ptrdiff_t stride, int width, int f,
                              bool last)
{
    uint16_t sum[CHUNK * WIDEST];
    assert(f >= 1 && f <= WIDEST);
    for (int x = 0; x < width; x += CHUNK) {
        int n = (width - x < CHUNK ? width - x : CHUNK) * f;
        if (!last)
            fetch(luma + x * f, stride, n, f);
        add_rows(sum, luma + x * f, stride, n, f);
        if (f <= NARROW)
            add_columns(to + x, sum, n, f);
        else
            add_columns_wide(to + x, sum, n, f);
    }
}

static void reduce_row_by(uint8_t *to, const uint8_t *luma, ptrdiff_t stride, int width, int f,
                          bool last)
{
    switch (f) {
    case 1: memcpy(to, luma, (size_t)width); break;
    case 2: reduce_row(to, luma, stride, width, 2, last); break;
    case 3: reduce_row(to, luma, stride, width, 3, last); break;
    case 4: reduce_row(to, luma, stride, width, 4, last); break;
    case 5: reduce_row(to, luma, stride, width, 5, last); break;
    case 8: reduce_row(to, luma, stride, width, 8, last); break;
    default: reduce_row(to, luma, stride, width, f, last); break;
    }
}

void fl_picture_reduce_rows(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t luma_stride,
                            int first, int end, uint8_t *out)
{
    for (int y = first; y < end; y++)
        reduce_row_by(out + (size_t)y * (size_t)g->stride,
                      luma + (ptrdiff_t)y * g->factor * luma_stride, luma_stride, g->width,
                      g->factor, y + 1 == g->height);
}

void fl_picture_reduce(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t luma_stride,
                       uint8_t *out)
{
    fl_picture_reduce_rows(g, luma, luma_stride, 0, g->height, out);
}
