#include "signal/rows.h"

#include <stdlib.h>

#include "base/mem.h"
#include "signal/bands.h"
#include "signal/covered.h"
#include "signal/kinds.h"
#include "signal/scene_shift.h"
#include "signal/scene_speed.h"
#include "test.h"

enum { FRAMES = 40, BANDS = 8, TILES = 8 };

static const double frame_s = 1 / 120.0;

/* Signals of a scene that moves by (x, y) a frame, every tile of which fits that shift. */
static struct fl_signals signals_of(float x, float y)
{
    struct fl_grid grid;
    struct fl_signals s;
    fl_grid_init(&grid, 480, BANDS * FL_BAND_ROWS);
    assert_true(grid.bands == BANDS && grid.tiles == TILES);
    fl_signals_init(&s, &grid, fl_signal_kinds);
    for (int i = 0; i < FRAMES; i++) {
        fl_signals_add(&s);
        *fl_scene_shifts(&s, (size_t)i) = (struct fl_scene_shift){.x = x, .y = y, .quality = 0.9f};
        for (int k = 0; k < BANDS * TILES; k++)
            fl_tiles(&s, (size_t)i)[k] = (struct fl_tile){
                .still = fl_cost_code(12), .moved = fl_cost_code(1), .steps = FL_STEP_PARTS};
    }
    return s;
}

static struct fl_tile *tile_at(struct fl_signals *s, int frame, int band, int tile)
{
    return &fl_tiles(s, (size_t)frame)[band * TILES + tile];
}

static void stand_still(struct fl_signals *s, int frame)
{
    for (int b = 0; b < BANDS; b++)
        for (int t = 0; t < TILES; t++)
            *tile_at(s, frame, b, t) = (struct fl_tile){
                .still = fl_cost_code(0.5f), .moved = fl_cost_code(9), .steps = 15};
}

static void moved_rows_and_still_rows(void **state)
{
    (void)state;
    struct fl_signals s = signals_of(-6, 8);
    for (int i = 1; i < FRAMES; i += 2)
        stand_still(&s, i);
    struct fl_rows r;
    fl_rows_judge(&r, &s, frame_s);
    assert_int_equal(r.frames, FRAMES);
    assert_int_equal(r.bands, BANDS);
    for (int i = 1; i < FRAMES; i++)
        for (int b = 0; b < BANDS; b++) {
            float v = r.verdict[i * BANDS + b], d = r.shift[i * BANDS + b];
            assert_true(i % 2 ? v > 0.9f : v < -0.9f);
            assert_true(fabsf(d - (i % 2 ? 0 : 10)) < 1e-4f); /* all of |(-6, 8)| */
        }
    for (int i = 1; i < FRAMES; i++) {
        assert_true(fabsf(r.move_x[i] - (i % 2 ? 0 : -6)) < 1e-4f);
        assert_true(fabsf(r.move_y[i] - (i % 2 ? 0 : 8)) < 1e-4f);
    }
    for (int b = 0; b < BANDS; b++)
        for (int t = 0; t < TILES; t++)
            assert_true(r.tile_weight[b * TILES + t] == 1);
    fl_rows_finish(&r);
    fl_signals_free(&s);
}

/* Costs that hardly differ, tiles without a moved cost, tiles of coding noise alone. */
static void what_cannot_be_told(void **state)
{
    (void)state;
    const struct fl_tile dull[] = {{fl_cost_code(4), fl_cost_code(4), 5, 0},
                                   {fl_cost_code(4), FL_COST_NONE, 0, 0},
                                   {fl_cost_code(0.05f), fl_cost_code(0.03f), 8, 0},
                                   {0, 0, 8, 0}};
    for (int k = 0; k < 4; k++) {
        struct fl_signals s = signals_of(9, 0);
        for (int t = 0; t < TILES; t++)
            *tile_at(&s, 20, 3, t) = dull[k];
        struct fl_rows r;
        fl_rows_judge(&r, &s, frame_s);
        assert_true(fabsf(r.verdict[20 * BANDS + 3]) < 0.5f);
        assert_true(r.verdict[20 * BANDS + 4] < -0.9f);
        if (k)
            assert_true(isnan(r.shift[20 * BANDS + 3]));
        fl_rows_finish(&r);
        fl_signals_free(&s);
    }
}

/* Tiles that stand while the scene moves are overlay: they lose their say, and the rows behind keep
 * their verdict. */
static void overlay_loses_its_say(void **state)
{
    (void)state;
    struct fl_signals s = signals_of(9, 0);
    for (int i = 0; i < FRAMES; i++)
        for (int b = 0; b < 4; b++)
            for (int t = 0; t < 5; t++)
                *tile_at(&s, i, b, t) = (struct fl_tile){
                    .still = fl_cost_code(0.3f), .moved = fl_cost_code(14), .steps = 20};
    struct fl_rows r;
    fl_rows_judge(&r, &s, frame_s);
    for (int b = 0; b < BANDS; b++)
        for (int t = 0; t < TILES; t++)
            assert_true(r.tile_weight[b * TILES + t] == (b < 4 && t < 5 ? 0 : 1));
    for (int i = 1; i < FRAMES; i++)
        for (int b = 0; b < BANDS; b++)
            assert_true(r.verdict[i * BANDS + b] < -0.9f);
    fl_rows_finish(&r);
    fl_signals_free(&s);
}

/* A row of bars and half a row of counters; nothing can be said of a scene that hardly moves. */
static void what_covers_the_scene_is_counted(void **state)
{
    (void)state;
    for (int fast = 0; fast < 2; fast++) {
        struct fl_signals s = signals_of(fast ? 9 : 1, 0);
        for (int i = 0; i < FRAMES; i++)
            for (int t = 0; t < TILES; t++) {
                *tile_at(&s, i, 0, t) = (struct fl_tile){0};
                if (t < TILES / 2)
                    *tile_at(&s, i, 2, t) = (struct fl_tile){.still = fl_cost_code(0.3f),
                                                             .moved = fl_cost_code(14),
                                                             .steps = 20,
                                                             .detail = 90};
            }
        struct fl_rows r;
        struct fl_covered c;
        fl_rows_judge(&r, &s, frame_s);
        fl_covered_find(&c, &s, &r);
        if (fast)
            assert_true(c.share == 12.0 / 64 && c.bars == 8.0 / 64);
        else
            assert_true(isnan(c.share) && isnan(c.bars));
        fl_rows_finish(&r);
        fl_signals_free(&s);
    }
}

static void verdicts_do_not_depend_on_contrast(void **state)
{
    (void)state;
    /* contrast three times as high: costs scale, verdicts stay on their side */
    struct fl_signals low = signals_of(9, 0), high = signals_of(9, 0);
    for (int i = 1; i < FRAMES; i += 3) {
        stand_still(&low, i);
        stand_still(&high, i);
    }
    for (int i = 0; i < FRAMES * BANDS * TILES; i++) {
        const struct fl_tile *from = fl_tiles(&low, 0) + i;
        struct fl_tile *to = fl_tiles(&high, 0) + i;
        to->still = fl_cost_code(3 * fl_cost(from->still));
        to->moved = fl_cost_code(3 * fl_cost(from->moved));
    }
    struct fl_rows a, b;
    fl_rows_judge(&a, &low, frame_s);
    fl_rows_judge(&b, &high, frame_s);
    for (int i = 0; i < FRAMES * BANDS; i++)
        assert_true(fabsf(a.verdict[i] - b.verdict[i]) < 0.2f);
    fl_rows_finish(&a);
    fl_rows_finish(&b);
    fl_signals_free(&low);
    fl_signals_free(&high);
}

static struct fl_scene_speed speed_of(const struct fl_signals *s)
{
    struct fl_rows r;
    struct fl_scene_speed v;
    fl_rows_judge(&r, s, frame_s);
    fl_scene_speed_find(&v, &r, s, frame_s);
    fl_rows_finish(&r);
    return v;
}

/* Frames 0 to 19 move, the rest stand: at the end motion is there on one side only. */
static void speed_needs_motion_on_both_sides(void **state)
{
    (void)state;
    struct fl_signals s = signals_of(9, 0);
    for (int i = 20; i < FRAMES; i++) {
        stand_still(&s, i);
        *fl_scene_shifts(&s, (size_t)i) = (struct fl_scene_shift){0};
    }
    struct fl_scene_speed v = speed_of(&s);
    for (int i = 6; i < 14; i++)
        assert_true(fabsf(v.across[i] - 9) < 0.1f && fabsf(v.beside[i] - 9) < 0.1f);
    for (int i = 20; i < FRAMES; i++)
        assert_true(v.across[i] == 0 && v.beside[i] == 0);
    for (int i = 0; i < FRAMES; i++)
        assert_true(v.across[i] >= 0 && v.beside[i] >= v.across[i]);
    fl_scene_speed_finish(&v);
    fl_signals_free(&s);
}

/* At frame 20 the hand turns back: what stands still there need not be a held picture. */
static void turning_points_have_no_speed(void **state)
{
    (void)state;
    struct fl_signals s = signals_of(9, 0);
    for (int i = 20; i < FRAMES; i++)
        fl_scene_shifts(&s, (size_t)i)->x = -9;
    struct fl_scene_speed v = speed_of(&s);
    assert_true(v.across[12] > 8 && v.across[28] > 8);
    float least = 9;
    for (int i = 18; i <= 21; i++)
        least = fminf(least, v.across[i]);
    assert_true(least < 3);
    fl_scene_speed_finish(&v);
    fl_signals_free(&s);
}

static void one_frame_and_none(void **state)
{
    (void)state;
    for (size_t n = 0; n < 2; n++) {
        struct fl_signals s = signals_of(9, 0);
        struct fl_rows r;
        s.n = n;
        fl_rows_judge(&r, &s, frame_s);
        assert_int_equal(r.frames, n);
        fl_rows_finish(&r);
        assert_null(r.verdict);
        struct fl_scene_speed v = speed_of(&s);
        assert_int_equal(v.frames, n);
        for (int i = 0; i < (int)n; i++)
            assert_true(v.across[i] == 0);
        fl_scene_speed_finish(&v);
        assert_null(v.across);
        fl_signals_free(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(moved_rows_and_still_rows),
        cmocka_unit_test(what_cannot_be_told),
        cmocka_unit_test(overlay_loses_its_say),
        cmocka_unit_test(what_covers_the_scene_is_counted),
        cmocka_unit_test(verdicts_do_not_depend_on_contrast),
        cmocka_unit_test(speed_needs_motion_on_both_sides),
        cmocka_unit_test(turning_points_have_no_speed),
        cmocka_unit_test(one_frame_and_none),
    };
    return RUN_TESTS(tests);
}
