#include "signal/picture.h"

#include <string.h>

void fl_grid_init(struct fl_grid *g, int native_width, int native_height)
{
    int factor = native_width / 480;
    *g = (struct fl_grid){.native_width = native_width, .native_height = native_height,
                          .factor = factor < 1 ? 1 : factor};
    while (g->factor > 1 && native_height / g->factor < 2 * FL_BAND_ROWS)
        g->factor--;
    g->width = native_width / g->factor;
    g->height = native_height / g->factor;
    g->stride = (g->width + 31) / 32 * 32;
    g->bands = g->height / FL_BAND_ROWS ? g->height / FL_BAND_ROWS : 1;
    g->tiles = g->width >= 16 * FL_TILES ? FL_TILES : 1;
}

int fl_band_row(const struct fl_grid *g, int band)
{
    return (int)((long)band * g->height / g->bands);
}

int fl_tile_column(const struct fl_grid *g, int tile)
{
    return (int)((long)tile * g->width / g->tiles);
}

/* Sum of `rows` native rows into 16 bits: 255·rows fits up to 257 rows. */
static void add_rows(uint16_t *restrict sum, const uint8_t *luma, ptrdiff_t stride, int rows, int n)
{
    memset(sum, 0, (size_t)n * sizeof *sum);
    for (int r = 0; r < rows; r++, luma += stride) {
        const uint8_t *restrict in = luma;
        for (int x = 0; x < n; x++)
            sum[x] = (uint16_t)(sum[x] + in[x]);
    }
}

/* Sums of f neighbours, scaled back to grey levels. Inlined with a constant f, so that compilers
 * unroll it. */
static inline uint8_t *add_columns(uint8_t *to, const uint16_t *sum, int n, int f)
{
    uint32_t scale = (65536u + (uint32_t)(f * f) / 2) / (uint32_t)(f * f);
    for (int x = 0; x < n / f; x++) {
        uint32_t s = 0;
        for (int k = 0; k < f; k++)
            s += sum[x * f + k];
        s = (s * scale + 32768) >> 16;
        to[x] = (uint8_t)(s > 255 ? 255 : s);
    }
    return to + n / f;
}

static uint8_t *add_columns_by(uint8_t *to, const uint16_t *sum, int n, int f)
{
    switch (f) {
    case 2: return add_columns(to, sum, n, 2);
    case 3: return add_columns(to, sum, n, 3);
    case 4: return add_columns(to, sum, n, 4);
    case 5: return add_columns(to, sum, n, 5);
    case 8: return add_columns(to, sum, n, 8);
    default: return add_columns(to, sum, n, f);
    }
}

void fl_picture_reduce(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t luma_stride,
                       uint8_t *out)
{
    int f = g->factor, used = g->width * f;
    if (f == 1) {
        for (int y = 0; y < g->height; y++)
            memcpy(out + (size_t)y * (size_t)g->stride, luma + y * luma_stride, (size_t)g->width);
        return;
    }
    enum { CHUNK = 4096 }; /* native columns at a time; keeps the sums in the first cache */
    uint16_t sum[CHUNK];
    int chunk = CHUNK / f * f;
    for (int y = 0; y < g->height; y++) {
        const uint8_t *row = luma + (ptrdiff_t)y * f * luma_stride;
        uint8_t *to = out + (size_t)y * (size_t)g->stride;
        for (int x0 = 0; x0 < used; x0 += chunk) {
            int n = used - x0 < chunk ? used - x0 : chunk;
            add_rows(sum, row + x0, luma_stride, f, n);
            to = add_columns_by(to, sum, n, f);
        }
    }
}
