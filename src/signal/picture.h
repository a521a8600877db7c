/* Working pictures: luma reduced by a whole factor to about 512 columns, 8 bit. */
#ifndef FL_SIGNAL_PICTURE_H
#define FL_SIGNAL_PICTURE_H

#include <stddef.h>
#include <stdint.h>

enum { FL_BAND_ROWS = 8, FL_TILES = 8 };

/* How native pictures map to working ones, and how those are cut into bands and tiles. */
struct fl_grid {
    int native_width, native_height;
    int factor;        /* native px per working px, both ways */
    int width, height; /* working picture */
    int stride;        /* bytes a row, a multiple of 32 */
    int bands;         /* along the scan; band b holds rows [fl_band_row(b), fl_band_row(b+1)) */
    int tiles;         /* across */
};

void fl_grid_init(struct fl_grid *g, int native_width, int native_height);
int fl_band_row(const struct fl_grid *g, int band);
int fl_tile_column(const struct fl_grid *g, int tile);

/* Box mean of `luma` into `out` (stride × height bytes). */
void fl_picture_reduce(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t luma_stride,
                       uint8_t *out);
/* The same for working rows [first, end). */
void fl_picture_reduce_rows(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t luma_stride,
                            int first, int end, uint8_t *out);

#endif
