#include "signal/stream.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "signal/bands.h"
#include "signal/change.h"
#include "signal/key_frames.h"
#include "signal/scene_shift.h"
#include "stills.h"
#include "test.h"

enum { W = 960, H = 544, FRAMES = 30 }; /* 480 × 272 at work, a factor of 2 */

/* A camera that pans over a texture by (dx, dy) native px an output frame; every output frame is
 * held for `hold` capture frames. */
static struct fl_signals film(int dx, int dy, int hold, int frames)
{
    struct still world = still_texture(W + 64, H + 64, 8, 11);
    struct fl_signal_stream *s = fl_signals_open(W, H);
    for (int i = 0; i < frames; i++) {
        struct still now = still_part(&world, i / hold * dx, i / hold * dy, W, H);
        fl_signals_push(s, now.luma, W, i % 12 == 0);
        still_free(&now);
    }
    struct fl_signals out;
    fl_signals_finish(&s, &out);
    assert_null(s);
    still_free(&world);
    assert_int_equal(out.n, frames);
    return out;
}

/* Middle tiles of middle bands: their rows came from inside the picture. */
static int middle_still(const struct fl_signals *s, size_t frame)
{
    int still = 0;
    for (int b = 4; b < s->grid.bands - 4; b++)
        for (int t = 2; t < s->grid.tiles - 2; t++)
            still += fl_tile_at(s, frame, b, t)->still == 0;
    return still;
}

/* What is dropped at the front changes nothing of what comes after. */
static void forgotten_frames_leave_the_rest_as_it_is(void **state)
{
    (void)state;
    enum { ALL = 3 * FL_SIGNALS_KEPT + 20 };
    struct still world = still_texture(320 + 64, 180 + 64, 8, 5);
    struct fl_signal_stream *whole = fl_signals_open(320, 180), *part = fl_signals_open(320, 180);
    size_t gone = 0;
    for (int i = 0; i < ALL; i++) {
        struct still now = still_part(&world, i / 2 % 40, i / 3 % 30, 320, 180);
        fl_signals_push(whole, now.luma, 320, false);
        fl_signals_push(part, now.luma, 320, false);
        still_free(&now);
        if (i % 50 == 49)
            gone += fl_signals_forget(part, fl_signals_so_far(part)->n);
    }
    struct fl_signals a, b;
    fl_signals_finish(&whole, &a);
    fl_signals_finish(&part, &b);
    still_free(&world);
    assert_true(gone >= FL_SIGNALS_KEPT);
    assert_int_equal(gone % FL_SIGNALS_KEPT, 0);
    assert_int_equal(b.n, a.n - gone);
    for (size_t k = 0; k < a.n_kinds; k++) {
        assert_int_equal(!a.of[k].row, !b.of[k].row);
        if (a.of[k].row) /* some keep none */
            assert_memory_equal(a.of[k].row + gone * a.of[k].size, b.of[k].row, b.n * b.of[k].size);
    }
    fl_signals_free(&a);
    fl_signals_free(&b);
}

/* The content moves against the camera; working px a frame. */
static void pan_shows_as_the_contents_shift(void **state)
{
    (void)state;
    const int moves[][2] = {{8, 0}, {-12, 4}, {0, -10}, {20, 14}};
    for (int m = 0; m < 4; m++) {
        struct fl_signals s = film(moves[m][0], moves[m][1], 1, FRAMES);
        float x = -(float)moves[m][0] / 2, y = -(float)moves[m][1] / 2, length = hypotf(x, y);
        for (size_t i = 3; i < s.n; i++) {
            const struct fl_scene_shift *shift = fl_scene_shifts(&s, i);
            assert_true(hypotf(shift->x - x, shift->y - y) < 0.2f);
            assert_true(shift->quality > 0.9f && shift->quality <= 1);
            assert_true(fl_changes(&s)[i] > 2);
            assert_int_equal(middle_still(&s, i), 0);
            for (int b = 6; b < s.grid.bands - 6; b++) {
                const struct fl_tile *tile = fl_tile_at(&s, i, b, 4);
                assert_true(fl_cost(tile->moved) < fl_cost(tile->still));
                assert_true(fabsf((float)tile->steps / FL_STEP_PARTS - 1) <=
                            1 / length + 0.5f / FL_STEP_PARTS);
            }
        }
        fl_signals_free(&s);
    }
}

/* Each picture twice: the scene's shift a frame is half the camera's, and every second frame stands
 * still in all its rows. */
static void repeated_pictures_stand_still(void **state)
{
    (void)state;
    struct fl_signals s = film(16, 0, 2, FRAMES);
    int middle = (s.grid.bands - 8) * (s.grid.tiles - 4);
    for (size_t i = 3; i < s.n; i++) {
        const struct fl_scene_shift *shift = fl_scene_shifts(&s, i);
        assert_true(fabsf(shift->x + 4) < 0.5f && fabsf(shift->y) < 0.5f);
        assert_int_equal(middle_still(&s, i), i % 2 ? middle : 0);
        assert_true(i % 2 ? fl_changes(&s)[i] == 0 : fl_changes(&s)[i] > 2);
    }
    fl_signals_free(&s);
}

static void what_nothing_can_say(void **state)
{
    (void)state;
    struct fl_signals s = film(8, 0, 1, 14);
    assert_true(isnan(fl_changes(&s)[0]));
    float quality = fl_scene_shifts(&s, 0)->quality;
    assert_true(quality >= 0 && quality <= 1);
    for (int k = 0; k < s.grid.bands * s.grid.tiles; k++)
        assert_int_equal(fl_tiles(&s, 0)[k].moved, FL_COST_NONE);
    for (size_t i = 0; i < s.n; i++)
        assert_int_equal(fl_key_frames(&s)[i], i % 12 == 0);
    fl_signals_free(&s);
    s = film(0, 0, 1, 14);
    for (size_t i = 0; i < s.n; i++)
        assert_true(fl_scene_shifts(&s, i)->quality < 0.5f && (i == 0 || fl_changes(&s)[i] == 0));
    fl_signals_free(&s);
    assert_null(s.of);
    fl_signals_free(&s);
}

static void short_footage_and_small_pictures(void **state)
{
    (void)state;
    for (int n = 0; n < 7; n++) {
        struct fl_signals s = film(8, 0, 1, n);
        fl_signals_free(&s);
    }
    const int sizes[][2] = {{2, 2}, {16, 16}, {1, 9}, {400, 7}, {70, 600}};
    for (int i = 0; i < 5; i++) {
        int w = sizes[i][0], h = sizes[i][1];
        uint8_t *luma = fl_calloc((size_t)w, (size_t)h);
        struct fl_signal_stream *stream = fl_signals_open(w, h);
        for (int k = 0; k < 6; k++) {
            memset(luma, 10 * k, (size_t)w * (size_t)h);
            fl_signals_push(stream, luma, w, false);
        }
        struct fl_signals s;
        fl_signals_finish(&stream, &s);
        assert_int_equal(s.n, 6);
        for (size_t k = 1; k < 6; k++) /* every pixel is 10 levels brighter */
            assert_true(fabsf(fl_changes(&s)[k] - 10) < 0.2f);
        fl_signals_free(&s);
        free(luma);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forgotten_frames_leave_the_rest_as_it_is),
        cmocka_unit_test(pan_shows_as_the_contents_shift),
        cmocka_unit_test(repeated_pictures_stand_still),
        cmocka_unit_test(what_nothing_can_say),
        cmocka_unit_test(short_footage_and_small_pictures),
    };
    return RUN_TESTS(tests);
}
