#include "signal/middle.h"

#include <stdlib.h>

#include "base/mem.h"
#include "signal/stream.h"
#include "stills.h"
#include "test.h"

enum { W = 480, H = 272, FINE = 4, MARGIN = 40 }; /* FINE: source px a picture px */

/* The part of a fine texture at (x, y), in parts of a picture pixel, as box means: shifts by
 * quarters of a pixel are exact by construction. */
static void expose(const struct still *s, int x, int y, int stride, uint8_t *out)
{
    for (int row = 0; row < H; row++)
        for (int column = 0; column < W; column++) {
            unsigned sum = 0;
            for (int k = 0; k < FINE * FINE; k++)
                sum += s->luma[(FINE * (row + MARGIN) + y + k / FINE) * s->width +
                               FINE * (column + MARGIN) + x + k % FINE];
            out[row * stride + column] = (uint8_t)(sum / (FINE * FINE));
        }
}

struct pair {
    struct fl_grid g;
    struct still s;
    uint8_t *before, *now;
};

static struct pair pair_new(uint64_t seed)
{
    struct pair p;
    fl_grid_init(&p.g, W, H);
    p.s = still_texture(FINE * (W + 2 * MARGIN), FINE * (H + 2 * MARGIN), 12, seed);
    p.before = fl_calloc((size_t)p.g.stride, H);
    p.now = fl_calloc((size_t)p.g.stride, H);
    expose(&p.s, 0, 0, p.g.stride, p.before);
    return p;
}

static void pair_free(struct pair *p)
{
    still_free(&p->s);
    free(p->before);
    free(p->now);
}

/* Content moves by (x, y) quarters. */
static void move(struct pair *p, int x, int y)
{
    expose(&p->s, -x, -y, p->g.stride, p->now);
}

static void strips_lie_about_the_middle(void **state)
{
    (void)state;
    const int sizes[][2] = {{480, 270}, {1280, 720}, {1920, 1080}, {3840, 2160}, {800, 448}};
    for (int i = 0; i < 5; i++) {
        struct fl_grid g;
        fl_grid_init(&g, sizes[i][0], sizes[i][1]);
        int last = 0;
        for (int k = 0; k < FL_MIDDLE_STRIPS; k++) {
            const struct fl_strip_box b = fl_middle_box(&g, k);
            assert_int_equal(b.x0 + b.x1, g.width / 2 * 2);
            assert_true(b.y0 >= last && b.y1 > b.y0);
            last = b.y1;
        }
        const struct fl_strip_box top = fl_middle_box(&g, 0),
                                  low = fl_middle_box(&g, FL_MIDDLE_STRIPS - 1);
        assert_true(abs(top.y0 + low.y1 - g.height) <= 1);
        assert_true(low.y1 - top.y0 <= g.height / 2);
    }
}

static void a_shift_is_found_to_a_tenth_of_a_pixel(void **state)
{
    (void)state;
    const int shifts[][2] = {{0, 0},  {1, 0},   {2, -1},  {3, 2},    {20, 0},   {-41, 6},
                             {0, 33}, {-90, 3}, {7, -50}, {122, -9}, {-133, 21}};
    for (int i = 0; i < 11; i++) {
        struct pair p = pair_new(7 + (uint64_t)i);
        move(&p, shifts[i][0], shifts[i][1]);
        for (int k = 0; k < FL_MIDDLE_STRIPS; k++) {
            const struct fl_strip_box box = fl_middle_box(&p.g, k);
            const float x = (float)shifts[i][0] / FINE, y = (float)shifts[i][1] / FINE;
            struct fl_middle_strip strip = {x + 0.6f, y - 0.4f, 0, 0};
            fl_middle_match(&strip, &p.g, p.before, p.now, &box);
            assert_true(strip.fit > 0.95f);
            assert_near((double)strip.x, (double)x, 0.1);
            assert_near((double)strip.y, (double)y, 0.1);
        }
        pair_free(&p);
    }
}

/* A cross hair that stays is a few pixels of many, with all the contrast there is. */
static void a_cross_hair_does_not_hold_it_back(void **state)
{
    (void)state;
    struct pair p = pair_new(3);
    move(&p, 26, 0);
    const struct fl_strip_box box = fl_middle_box(&p.g, 1);
    const int x = W / 2, y = (box.y0 + box.y1) / 2;
    for (int k = -6; k <= 6; k++) {
        p.before[y * p.g.stride + x + k] = p.now[y * p.g.stride + x + k] = 255;
        p.before[(y + k) * p.g.stride + x] = p.now[(y + k) * p.g.stride + x] = 255;
    }
    struct fl_middle_strip strip = {6.5f, 0, 0, 0};
    fl_middle_match(&strip, &p.g, p.before, p.now, &box);
    assert_true(strip.fit > 0);
    assert_near((double)strip.x, 6.5, 0.02);
    pair_free(&p);
}

static void other_pictures_do_not_fit(void **state)
{
    (void)state;
    struct pair p = pair_new(11), q = pair_new(12);
    const struct fl_strip_box box = fl_middle_box(&p.g, 2);
    struct fl_middle_strip strip = {4, 0, 0, 0};
    fl_middle_match(&strip, &p.g, p.before, q.before, &box);
    assert_true(strip.fit == 0);
    assert_true(strip.x == 4 && strip.y == 0); /* the guess stays */
    for (int i = 0; i < p.g.stride * H; i++)
        p.before[i] = p.now[i] = 90; /* nothing to go by */
    fl_middle_match(&strip, &p.g, p.before, p.now, &box);
    assert_true(strip.fit == 0);
    pair_free(&p);
    pair_free(&q);
}

/* Through the stream: a pan whose speed the tiles must tell first. */
static void a_pan_is_followed(void **state)
{
    (void)state;
    enum { FRAMES = 20 };
    struct still s = still_texture(W * 2 + 600, H * 2, 6, 21);
    struct fl_signals out;
    struct fl_signal_stream *stream = fl_signals_open(2 * W, 2 * H);
    int at = 600;
    for (int i = 0; i < FRAMES; i++) {
        fl_signals_push(stream, s.luma + at, s.width, i == 0);
        at -= i < 4 ? 0 : 22; /* content goes right, 11 working px a frame */
    }
    fl_signals_finish(&stream, &out);
    for (size_t i = 1; i < FRAMES; i++)
        for (int k = 0; k < FL_MIDDLE_STRIPS; k++) {
            const struct fl_middle_strip *m = &fl_middle_of(&out, i)->strip[k];
            if (i == 4 || i == 5)
                continue; /* motion sets in: tiles may not know yet */
            assert_true(m->fit > 0.9f);
            assert_near((double)m->x, i < 5 ? 0 : 11, 0.02);
            assert_near((double)m->y, 0, 0.02);
        }
    fl_signals_free(&out);
    still_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strips_lie_about_the_middle),
        cmocka_unit_test(a_shift_is_found_to_a_tenth_of_a_pixel),
        cmocka_unit_test(a_cross_hair_does_not_hold_it_back),
        cmocka_unit_test(other_pictures_do_not_fit),
        cmocka_unit_test(a_pan_is_followed),
    };
    return RUN_TESTS(tests);
}
