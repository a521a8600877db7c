#include "signal/strip_sums.h"

#include <math.h>
#include <stdlib.h>

#include "maths/random.h"
#include "test.h"

enum { WIDTH = 96, HEIGHT = 60 };

struct pair {
    struct fl_grid g;
    uint8_t before[WIDTH * HEIGHT], now[WIDTH * HEIGHT];
};

static void fill(struct pair *p, uint64_t seed)
{
    struct fl_random r;
    fl_random_seed(&r, seed);
    p->g = (struct fl_grid){.width = WIDTH, .height = HEIGHT, .stride = WIDTH};
    for (int i = 0; i < WIDTH * HEIGHT; i++) {
        p->before[i] = (uint8_t)(255 * fl_random_uniform(&r));
        p->now[i] = (uint8_t)(255 * fl_random_uniform(&r));
    }
}

/* The sums by their definition, pixel by pixel: each row in single precision, so that they must be
 * the same to the last bit. */
static void by_definition(struct fl_strip_sums *s, const struct pair *p,
                          const struct fl_strip_box *box, double x, double y, float limit)
{
    const int bx = (int)floor(-x / 2 + 0.5), by = (int)floor(-y / 2 + 0.5), nx = (int)floor(x + bx),
              ny = (int)floor(y + by);
    const float px = (float)(x + bx - nx), py = (float)(y + by - ny);
    *s = (struct fl_strip_sums){0};
    for (int row = box->y0; row < box->y1; row++) {
        const uint8_t *u = p->before + (row + by) * WIDTH + bx,
                      *v = p->now + (row + ny) * WIDTH + nx;
        float xx = 0, xy = 0, yy = 0, xe = 0, ye = 0, abs_e = 0, a = 0, b = 0, aa = 0, bb = 0,
              ab = 0;
        for (int i = box->x0; i < box->x1; i++) {
            const float top = (float)v[i] + px * (float)(v[i + 1] - v[i]),
                        low = (float)v[i + WIDTH] + px * (float)(v[i + WIDTH + 1] - v[i + WIDTH]),
                        is = top + py * (low - top), was = (float)u[i], e = is - was,
                        gx = 0.5f * (float)(u[i + 1] - u[i - 1]),
                        gy = 0.5f * (float)(u[i + WIDTH] - u[i - WIDTH]),
                        w = fabsf(e) <= limit ? 1 : limit / fabsf(e);
            xx += w * gx * gx;
            xy += w * gx * gy;
            yy += w * gy * gy;
            xe += w * gx * e;
            ye += w * gy * e;
            abs_e += fabsf(e);
            a += was;
            b += is;
            aa += was * was;
            bb += is * is;
            ab += was * is;
        }
        const float row_sum[] = {xx, xy, yy, xe, ye, abs_e, a, b, aa, bb, ab};
        double *const to[] = {&s->xx, &s->xy, &s->yy, &s->xe, &s->ye, &s->abs_e,
                              &s->a,  &s->b,  &s->aa, &s->bb, &s->ab};
        for (int k = 0; k < 11; k++)
            *to[k] += (double)row_sum[k];
        s->n += box->x1 - box->x0;
    }
}

static void assert_same(const struct fl_strip_sums *a, const struct fl_strip_sums *b)
{
    const double va[] = {a->xx,    a->xy, a->yy, a->xe, a->ye, a->n,
                         a->abs_e, a->a,  a->b,  a->aa, a->bb, a->ab},
                 vb[] = {b->xx,    b->xy, b->yy, b->xe, b->ye, b->n,
                         b->abs_e, b->a,  b->b,  b->aa, b->bb, b->ab};
    for (int k = 0; k < 12; k++)
        assert_true(va[k] == vb[k]);
}

/* Heights that fill no whole number of lanes among them; back where it was read before, too. */
static void sums_are_those_of_the_definition(void **state)
{
    (void)state;
    struct pair p;
    fill(&p, 4);
    for (int high = 1; high < 18; high++) {
        const struct fl_strip_box box = {30, 30 + 7 * (high % 5 + 1), 20, 20 + high};
        const double at[][2] = {{0, 0}, {0.3, -0.6}, {4.7, 2.2}, {-7.5, 3.1}, {0.3, -0.6}};
        struct fl_strip s;
        fl_strip_open(&s, &p.g, p.before, p.now, &box);
        for (int k = 0; k < 5; k++) {
            const float limit = k % 2 ? 20 : INFINITY;
            struct fl_strip_sums found, expected;
            assert_true(fl_strip_compare(&s, at[k][0], at[k][1], (double)limit, &found));
            by_definition(&expected, &p, &box, at[k][0], at[k][1], limit);
            assert_same(&found, &expected);
        }
        fl_strip_close(&s);
    }
}

/* The same picture, 4 px further on, differs by nothing there. */
static void whole_pixels_are_found(void **state)
{
    (void)state;
    struct pair p;
    fill(&p, 9);
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 4; x < WIDTH; x++)
            p.now[y * WIDTH + x] = p.before[y * WIDTH + x - 4];
    const struct fl_strip_box box = {30, 60, 20, 35};
    struct fl_strip s;
    fl_strip_open(&s, &p.g, p.before, p.now, &box);
    assert_true(fl_strip_whole_difference(&s, 4, 0) == 0);
    assert_true(fl_strip_whole_difference(&s, 3, 0) > 50); /* 85 for chance */
    fl_strip_close(&s);
}

static void what_lies_outside_is_not_compared(void **state)
{
    (void)state;
    struct pair p;
    fill(&p, 2);
    const struct fl_strip_box box = {30, 60, 20, 35};
    struct fl_strip_sums sums;
    struct fl_strip s;
    fl_strip_open(&s, &p.g, p.before, p.now, &box);
    /* half of the shift before, half after; a pixel to spare: 60 + 35 + 2 > 96 */
    assert_true(fl_strip_compare(&s, 68, 0, 20, &sums) == false);
    assert_true(fl_strip_compare(&s, -68, 0, 20, &sums) == false);
    assert_true(fl_strip_compare(&s, 0, 60, 20, &sums) == false);
    assert_true(fl_strip_whole_difference(&s, 0, -60) < 0);
    fl_strip_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sums_are_those_of_the_definition),
        cmocka_unit_test(whole_pixels_are_found),
        cmocka_unit_test(what_lies_outside_is_not_compared),
    };
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
