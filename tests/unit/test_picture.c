#include "signal/picture.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/random.h"
#include "test.h"

static const int modes[][2] = {{1280, 720},  {1920, 1080}, {2560, 1440}, {3840, 2160}, {7680, 4320},
                               {640, 360},   {720, 576},   {1366, 768},  {3440, 1440}, {5120, 1440},
                               {1080, 2400}, {959, 541},   {961, 17},    {4000, 9},    {64, 64},
                               {8192, 2160}, {16384, 2160}};
enum { MODES = sizeof modes / sizeof *modes };

static void working_pictures_are_about_512_columns(void **state)
{
    (void)state;
    const int known[][3] = {
        {2560, 5, 512}, {1920, 4, 480}, {1280, 2, 640}, {3840, 8, 480}, {640, 1, 640}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        struct fl_grid g;
        fl_grid_init(&g, known[i][0], known[i][0] * 9 / 16);
        assert_int_equal(g.factor, known[i][1]);
        assert_int_equal(g.width, known[i][2]);
    }
}

static void bands_and_tiles_cover_the_picture_once(void **state)
{
    (void)state;
    for (int i = 0; i < MODES; i++) {
        struct fl_grid g;
        fl_grid_init(&g, modes[i][0], modes[i][1]);
        assert_true(g.factor >= 1 && g.width * g.factor <= modes[i][0] &&
                    g.height * g.factor <= modes[i][1]);
        assert_true(modes[i][0] - g.width * g.factor < g.factor);
        assert_true(modes[i][1] - g.height * g.factor < g.factor);
        assert_true(g.stride >= g.width && g.stride % 32 == 0);
        assert_int_equal(fl_band_row(&g, 0), 0);
        assert_int_equal(fl_band_row(&g, g.bands), g.height);
        for (int b = 0; b < g.bands; b++) {
            int rows = fl_band_row(&g, b + 1) - fl_band_row(&g, b);
            assert_true(rows >= (g.height < FL_BAND_ROWS ? g.height : FL_BAND_ROWS));
            assert_true(rows < 2 * FL_BAND_ROWS);
        }
        assert_int_equal(fl_tile_column(&g, 0), 0);
        assert_int_equal(fl_tile_column(&g, g.tiles), g.width);
        for (int t = 0; t < g.tiles; t++)
            assert_true(fl_tile_column(&g, t + 1) - fl_tile_column(&g, t) >=
                        (g.tiles > 1 ? 16 : g.width));
    }
}

/* Random luma in rows of `stride` bytes, of which the picture uses g->native_width; what lies
 * beside it has the other extreme of every value, so that a slip shows. */
static uint8_t *random_luma(const struct fl_grid *g, size_t stride, uint64_t seed)
{
    struct fl_random r;
    fl_random_seed(&r, seed);
    uint8_t *luma = fl_calloc(stride, (size_t)g->native_height);
    for (int y = 0; y < g->native_height; y++)
        for (size_t x = 0; x < stride; x++)
            luma[(size_t)y * stride + x] = x < (size_t)g->native_width
                                               ? (uint8_t)(fl_random_below(&r, 128) + 128 * (y % 2))
                                               : 0;
    return luma;
}

/* Definition of the mean; 16-bit fixed point may move it by half a level in 65536 a pixel. */
static void assert_box_means(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t stride,
                             const uint8_t *out)
{
    int f = g->factor;
    double slack = 0.5 + 255.0 * f * f / 131072 + 1e-9;
    for (int y = 0; y < g->height; y++)
        for (int x = 0; x < g->width; x++) {
            double sum = 0;
            for (int j = 0; j < f; j++)
                for (int i = 0; i < f; i++)
                    sum += luma[(ptrdiff_t)(y * f + j) * stride + x * f + i];
            double mean = sum / (f * f), got = out[(size_t)y * (size_t)g->stride + (size_t)x];
            if (fabs(got - mean) > slack)
                fail_msg("%d x %d, factor %d, at %d, %d: %g, want %g", g->native_width,
                         g->native_height, f, x, y, got, mean);
        }
}

static void reduction_is_a_box_mean(void **state)
{
    (void)state;
    for (int i = 0; i < MODES; i++) {
        struct fl_grid g;
        fl_grid_init(&g, modes[i][0], modes[i][1] < 400 ? modes[i][1] : modes[i][1] / 8);
        size_t stride = (size_t)g.native_width + 13 * (size_t)(i % 3);
        uint8_t *luma = random_luma(&g, stride, (uint64_t)i),
                *out = fl_calloc((size_t)g.stride, (size_t)g.height);
        fl_picture_reduce(&g, luma, (ptrdiff_t)stride, out);
        assert_box_means(&g, luma, (ptrdiff_t)stride, out);
        free(luma);
        free(out);
    }
}

/* In parts, as bands are read: the same as in one go. */
static void parts_make_the_whole(void **state)
{
    (void)state;
    struct fl_grid g;
    fl_grid_init(&g, 2560, 480);
    size_t n = (size_t)g.stride * (size_t)g.height;
    uint8_t *luma = random_luma(&g, 2560, 4), *whole = fl_calloc(n, 1), *parts = fl_calloc(n, 1);
    fl_picture_reduce(&g, luma, 2560, whole);
    for (int b = g.bands - 1; b >= 0; b--)
        fl_picture_reduce_rows(&g, luma, 2560, fl_band_row(&g, b), fl_band_row(&g, b + 1), parts);
    assert_memory_equal(whole, parts, n);
    free(luma);
    free(whole);
    free(parts);
}

/* A decoder may hand a picture over bottom up, with a negative stride. */
static void rows_may_run_backwards(void **state)
{
    (void)state;
    struct fl_grid g;
    fl_grid_init(&g, 1280, 96);
    uint8_t *luma = random_luma(&g, 1280, 3), *out = fl_calloc((size_t)g.stride, (size_t)g.height);
    const uint8_t *last = luma + 95 * 1280;
    fl_picture_reduce(&g, last, -1280, out);
    assert_box_means(&g, last, -1280, out);
    free(luma);
    free(out);
}

static void flat_pictures_stay_what_they_are(void **state)
{
    (void)state;
    for (int width = 960; width <= 7680; width += 480) {
        struct fl_grid g;
        fl_grid_init(&g, width, 64);
        uint8_t *luma = fl_calloc((size_t)width, 64),
                *out = fl_calloc((size_t)g.stride, (size_t)g.height);
        for (int level = 0; level < 256; level += 5) {
            memset(luma, level, (size_t)width * 64);
            fl_picture_reduce(&g, luma, width, out);
            for (int y = 0; y < g.height; y++)
                for (int x = 0; x < g.width; x++)
                    assert_int_equal(out[y * g.stride + x], level);
        }
        free(luma);
        free(out);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(working_pictures_are_about_512_columns),
        cmocka_unit_test(bands_and_tiles_cover_the_picture_once),
        cmocka_unit_test(reduction_is_a_box_mean),
        cmocka_unit_test(parts_make_the_whole),
        cmocka_unit_test(rows_may_run_backwards),
        cmocka_unit_test(flat_pictures_stay_what_they_are),
    };
    return RUN_TESTS(tests);
}
