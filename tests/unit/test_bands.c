#include "signal/bands.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "stills.h"
#include "test.h"

static void cost_code_is_monotone_and_invertible(void **state)
{
    (void)state;
    for (int c = 0; c < FL_COST_NONE; c++) {
        assert_int_equal(fl_cost_code(fl_cost((uint8_t)c)), c);
        assert_true(c == 0 || fl_cost((uint8_t)c) > fl_cost((uint8_t)(c - 1)));
    }
    assert_true(fl_cost(0) == 0);
    uint8_t last = 0;
    for (float m = 0; m <= 255; m += 0.01f) {
        uint8_t code = fl_cost_code(m);
        assert_true(code >= last && code < FL_COST_NONE);
        /* steps of 2^(1/23) - 1 = 3.1 % of m and the offset together */
        assert_true(fabsf(fl_cost(code) - m) <= 0.016f * (m + 0.125f) + 1e-5f);
        last = code;
    }
}

/* Two working pictures of a texture: of every band of rows the second shows the part that
 * band_shift multiples of (dx, dy) have moved in. */
struct pair {
    struct fl_grid g;
    uint8_t *before, *now;
    struct fl_tile *tiles;
};

enum { W = 480, H = 272 };

static struct pair pair_new(uint64_t seed, int dx, int dy, const int *multiple, int add)
{
    struct pair p;
    struct still s = still_texture(W + 256, H + 256, 4, seed);
    fl_grid_init(&p.g, W, H);
    p.before = fl_calloc((size_t)p.g.stride, H);
    p.now = fl_calloc((size_t)p.g.stride, H);
    p.tiles = FL_NEW(struct fl_tile, (size_t)(p.g.bands * p.g.tiles));
    for (int b = 0; b < p.g.bands; b++)
        for (int y = fl_band_row(&p.g, b); y < fl_band_row(&p.g, b + 1); y++)
            for (int x = 0; x < W; x++) {
                int from_x = 128 + x - multiple[b] * dx, from_y = 128 + y - multiple[b] * dy;
                /* halved: room for `add` */
                p.before[y * p.g.stride + x] =
                    (uint8_t)(s.luma[(128 + y) * s.width + 128 + x] / 2 + add);
                p.now[y * p.g.stride + x] = (uint8_t)(s.luma[from_y * s.width + from_x] / 2 + add);
            }
    still_free(&s);
    return p;
}

static void pair_free(struct pair *p)
{
    free(p->before);
    free(p->now);
    free(p->tiles);
}

static const int shifts[][2] = {{6, 0}, {-12, 0},  {0, 9}, {0, -5},
                                {8, 6}, {-20, 10}, {2, 1}, {-1, -2}};
enum { SHIFTS = sizeof shifts / sizeof *shifts };

static void unmoved_rows_match_unmoved(void **state)
{
    (void)state;
    const int none[H / FL_BAND_ROWS] = {0};
    for (int i = 0; i < SHIFTS; i++) {
        struct pair p = pair_new(1, shifts[i][0], shifts[i][1], none, 0);
        fl_bands_measure(&p.g, p.before, p.now, (float)shifts[i][0], (float)shifts[i][1], p.tiles);
        for (int k = 0; k < p.g.bands * p.g.tiles; k++) {
            assert_int_equal(p.tiles[k].still, 0);
            assert_int_not_equal(p.tiles[k].moved, FL_COST_NONE);
            assert_true(fl_cost(p.tiles[k].moved) > 1); /* a pixel off, and the texture says so */
        }
        pair_free(&p);
    }
}

/* To a pixel; the code rounds. */
static void assert_moved(const struct fl_tile *tile, int multiple, float length)
{
    assert_int_equal(tile->moved, 0); /* the shift is a whole pixel, and it was tried */
    assert_true(fabsf((float)tile->steps / FL_STEP_PARTS - (float)multiple) <=
                1 / length + 0.5f / FL_STEP_PARTS);
}

/* A tear half way down: above it nothing moved, below everything by one or two shifts a frame. */
static void rows_below_a_tear_moved_by_their_shift(void **state)
{
    (void)state;
    for (int multiple = 1; multiple <= 2; multiple++)
        for (int i = 0; i < SHIFTS; i++) {
            int by[H / FL_BAND_ROWS];
            for (int b = 0; b < H / FL_BAND_ROWS; b++)
                by[b] = b < H / FL_BAND_ROWS / 2 ? 0 : multiple;
            struct pair p = pair_new(2, shifts[i][0], shifts[i][1], by, 0);
            fl_bands_measure(&p.g, p.before, p.now, (float)shifts[i][0], (float)shifts[i][1],
                             p.tiles);
            for (int b = 0; b < p.g.bands; b++)
                for (int t = 1; t + 1 < p.g.tiles;
                     t++) { /* the outer tiles' rows came from outside */
                    const struct fl_tile *tile = &p.tiles[b * p.g.tiles + t];
                    int from = fl_band_row(&p.g, b) - multiple * shifts[i][1];
                    if (by[b] == 0)
                        assert_int_equal(tile->still, 0);
                    else if (from >= 0 && from + FL_BAND_ROWS <= H)
                        assert_moved(tile, multiple,
                                     hypotf((float)shifts[i][0], (float)shifts[i][1]));
                }
            pair_free(&p);
        }
}

static void brightness_of_both_pictures_does_not_count(void **state)
{
    (void)state;
    int by[H / FL_BAND_ROWS];
    for (int b = 0; b < H / FL_BAND_ROWS; b++)
        by[b] = b % 3;
    struct pair dark = pair_new(3, 7, -4, by, 0), bright = pair_new(3, 7, -4, by, 100);
    fl_bands_measure(&dark.g, dark.before, dark.now, 7, -4, dark.tiles);
    fl_bands_measure(&bright.g, bright.before, bright.now, 7, -4, bright.tiles);
    assert_memory_equal(dark.tiles, bright.tiles,
                        (size_t)(dark.g.bands * dark.g.tiles) * sizeof *dark.tiles);
    pair_free(&dark);
    pair_free(&bright);
}

/* A picture and its negative differ from their neighbours by the same amounts. */
static void negatives_cost_the_same(void **state)
{
    (void)state;
    int by[H / FL_BAND_ROWS];
    for (int b = 0; b < H / FL_BAND_ROWS; b++)
        by[b] = b % 2;
    struct pair p = pair_new(4, 5, 3, by, 0), q = pair_new(4, 5, 3, by, 0);
    for (int i = 0; i < p.g.stride * H; i++) {
        q.before[i] = (uint8_t)(255 - p.before[i]);
        q.now[i] = (uint8_t)(255 - p.now[i]);
    }
    fl_bands_measure(&p.g, p.before, p.now, 5, 3, p.tiles);
    fl_bands_measure(&q.g, q.before, q.now, 5, 3, q.tiles);
    assert_memory_equal(p.tiles, q.tiles, (size_t)(p.g.bands * p.g.tiles) * sizeof *p.tiles);
    pair_free(&p);
    pair_free(&q);
}

static void without_motion_only_the_unmoved_cost(void **state)
{
    (void)state;
    int by[H / FL_BAND_ROWS];
    for (int b = 0; b < H / FL_BAND_ROWS; b++)
        by[b] = 1;
    struct pair p = pair_new(5, 4, 0, by, 0);
    const float slow[][2] = {
        {0, 0}, {0.9f * FL_BANDS_MIN_SHIFT, 0}, {0, -0.9f * FL_BANDS_MIN_SHIFT}};
    for (int i = 0; i < 3; i++) {
        fl_bands_measure(&p.g, p.before, p.now, slow[i][0], slow[i][1], p.tiles);
        for (int k = 0; k < p.g.bands * p.g.tiles; k++) {
            assert_true(fl_cost(p.tiles[k].still) > 1);
            assert_int_equal(p.tiles[k].moved, FL_COST_NONE);
            assert_int_equal(p.tiles[k].steps, 0);
        }
    }
    pair_free(&p);
}

/* A flat picture one grey level brighter: every cost is 1 by definition, wherever it is compared;
 * shifts that leave the picture are no match, and no reason to read beyond it. */
static void costs_are_mean_differences(void **state)
{
    (void)state;
    const float far[][2] = {{200, 0}, {-200, 0}, {0, 120}, {0, -120}, {90, 90}};
    const int none[H / FL_BAND_ROWS] = {0};
    struct pair p = pair_new(6, 0, 0, none, 0);
    memset(p.before, 90, (size_t)p.g.stride * H);
    memset(p.now, 91, (size_t)p.g.stride * H);
    for (int i = 0; i < 5; i++) {
        fl_bands_measure(&p.g, p.before, p.now, far[i][0], far[i][1], p.tiles);
        for (int k = 0; k < p.g.bands * p.g.tiles; k++) {
            assert_int_equal(p.tiles[k].still, fl_cost_code(1));
            assert_true(p.tiles[k].moved == FL_COST_NONE || p.tiles[k].moved == fl_cost_code(1));
        }
    }
    pair_free(&p);
}

/* Definition of the mean over every second row, against its code of 32 steps an octave from 0.4. */
static void detail_is_the_mean_difference_of_neighbours(void **state)
{
    (void)state;
    for (int grain = 0; grain < 12; grain += 3) {
        struct fl_grid g;
        struct still s = still_texture(1920, 272, grain, (uint64_t)grain);
        fl_grid_init(&g, s.width, s.height);
        struct fl_tile *tiles = FL_NEW(struct fl_tile, (size_t)(g.bands * g.tiles));
        for (int b = 0; b < g.bands; b++) {
            fl_band_detail(&g, s.luma, s.width, b, tiles + b * g.tiles);
            for (int t = 0; t < g.tiles; t++) {
                double sum = 0, n = 0;
                for (int y = g.factor * fl_band_row(&g, b); y < g.factor * fl_band_row(&g, b + 1);
                     y += 2)
                    for (int x = g.factor * fl_tile_column(&g, t);
                         x + 1 < g.factor * fl_tile_column(&g, t + 1); x++, n++)
                        sum += abs(s.luma[y * s.width + x] - s.luma[y * s.width + x + 1]);
                assert_near(fl_detail(tiles[b * g.tiles + t].detail), log(sum / n),
                            0.5 * log(2) / 32 + 1e-5);
            }
        }
        free(tiles);
        still_free(&s);
    }
}

/* Less detail than the coding keeps says nothing. */
static void flat_rows_have_no_detail(void **state)
{
    (void)state;
    struct fl_grid g;
    fl_grid_init(&g, 1920, 272);
    uint8_t *luma = fl_calloc(1920, 272);
    struct fl_tile tiles[FL_TILES];
    memset(luma, 100, 1920 * 272);
    for (int i = 0; i < 1920 * 272; i += 6) /* a step up and one down in 6 px: 0.33 levels */
        luma[i] = 101;
    fl_band_detail(&g, luma, 1920, 3, tiles);
    for (int t = 0; t < g.tiles; t++)
        assert_int_equal(tiles[t].detail, 0);
    free(luma);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cost_code_is_monotone_and_invertible),
        cmocka_unit_test(unmoved_rows_match_unmoved),
        cmocka_unit_test(rows_below_a_tear_moved_by_their_shift),
        cmocka_unit_test(brightness_of_both_pictures_does_not_count),
        cmocka_unit_test(negatives_cost_the_same),
        cmocka_unit_test(without_motion_only_the_unmoved_cost),
        cmocka_unit_test(costs_are_mean_differences),
        cmocka_unit_test(detail_is_the_mean_difference_of_neighbours),
        cmocka_unit_test(flat_rows_have_no_detail),
    };
    return RUN_TESTS(tests);
}
