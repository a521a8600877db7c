/* Sequences of light with known flashes. Thresholds are those of WCAG 2.2, "general flash and red
 * flash thresholds", and of ITU-R BT.1702: more than three a second, 10 % of the most, darker below
 * 0.80, more than a quarter of the area. */
#include "media/flash.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "test.h"

enum { CELLS = 100, RATE = 60 };

struct lamp {
    double hz, low, high; /* square wave of grey light */
    int cells;            /* that flash; the others stay at low */
    double seconds;
    bool checks; /* every other cell flashes the other way round */
};

static struct fl_flash_report seen(const struct lamp *l)
{
    struct fl_cell_light cell[CELLS];
    struct fl_flash *f = fl_flash_new(CELLS);
    struct fl_flash_report r;
    for (int k = 0; k < (int)(l->seconds * RATE); k++) {
        const bool up = fmod((k + 0.5) / RATE * l->hz, 1) >= 0.5;
        for (int i = 0; i < CELLS; i++) {
            const bool mine = l->checks && i % 2 ? !up : up;
            const float v = (float)(i < l->cells && mine ? l->high : l->low);
            cell[i] = (struct fl_cell_light){v, v, v};
        }
        fl_flash_push(f, cell, (double)k / RATE);
    }
    fl_flash_finish(&f, &r);
    return r;
}

static void expect(const struct lamp *l, bool exceeds, int most)
{
    struct fl_flash_report r = seen(l);
    if ((r.n > 0) != exceeds || r.most != most)
        print_error("%g Hz from %g to %g on %d cells: %zu spans, %d a second\n", l->hz, l->low,
                    l->high, l->cells, r.n, r.most);
    assert_int_equal(r.n > 0, exceeds);
    assert_int_equal(r.most, most);
    free(r.span);
}

static void how_many_in_a_second(void **state)
{
    (void)state;
    expect(&(struct lamp){2, 0.1, 0.3, CELLS, 4}, false, 2);
    expect(&(struct lamp){3, 0.1, 0.3, CELLS, 4}, false, 3);
    expect(&(struct lamp){4, 0.1, 0.3, CELLS, 4}, true, 4);
    expect(&(struct lamp){10, 0.1, 0.3, CELLS, 4}, true, 10);
    expect(&(struct lamp){30, 0.1, 0.3, CELLS, 4}, true, 30);
    expect(&(struct lamp){10, 0.1, 0.3, CELLS, 0.25}, false, 2); /* a burst of few is no sequence */
}

static void how_large_a_change(void **state)
{
    (void)state;
    expect(&(struct lamp){8, 0.10, 0.19, CELLS, 3}, false, 0);
    expect(&(struct lamp){8, 0.10, 0.20, CELLS, 3}, true, 8);
    expect(&(struct lamp){8, 0.79, 0.99, CELLS, 3}, true, 8);
    expect(&(struct lamp){8, 0.80, 1.00, CELLS, 3}, false, 0);
    expect(&(struct lamp){8, 0.85, 1.00, CELLS, 3}, false, 0);
}

static void how_large_an_area(void **state)
{
    (void)state;
    expect(&(struct lamp){8, 0.1, 0.9, 20, 3}, false, 0);
    expect(&(struct lamp){8, 0.1, 0.9, 25, 3}, false, 0); /* no more than a quarter passes */
    expect(&(struct lamp){8, 0.1, 0.9, 26, 3}, true, 8);
    expect(&(struct lamp){8, 0.1, 0.9, 60, 3, true}, true, 8); /* 30 up as 30 go down */
    expect(&(struct lamp){8, 0.1, 0.9, 44, 3, true}, false, 0);
}

/* "An increase followed by a decrease": steps up, a fade and a slow swing are no flashes. */
static void what_is_no_pair(void **state)
{
    (void)state;
    struct fl_cell_light cell[CELLS];
    struct fl_flash *f = fl_flash_new(CELLS);
    struct fl_flash_report r;
    for (int k = 0; k < 4 * RATE; k++) {
        const float v = (float)(0.1 * (k / 15));
        for (int i = 0; i < CELLS; i++)
            cell[i] = (struct fl_cell_light){v, v, v};
        fl_flash_push(f, cell, (double)k / RATE);
    }
    fl_flash_finish(&f, &r);
    assert_int_equal(r.most, 0);
    expect(&(struct lamp){0.5, 0.0, 0.7, CELLS, 6}, false, 0);
}

/* A rise in many small steps counts as well as one in one step. */
static void slopes_count(void **state)
{
    (void)state;
    struct fl_cell_light cell[CELLS];
    struct fl_flash *f = fl_flash_new(CELLS);
    struct fl_flash_report r;
    for (int k = 0; k < 2 * 240; k++) {
        const float v = (float)(0.3 + 0.15 * sin(2 * 3.14159265358979 * 5 * k / 240.0));
        for (int i = 0; i < CELLS; i++)
            cell[i] = (struct fl_cell_light){v, v, v};
        fl_flash_push(f, cell, k / 240.0);
    }
    fl_flash_finish(&f, &r);
    assert_int_equal(r.n, 1);
    assert_int_equal(r.most, 5);
    assert_near(r.span[0].start_s, 0.02, 0.05);
    assert_near(r.span[0].end_s, 1.95, 0.1);
    free(r.span);
}

/* Red with the luminance of the grey beside it: no general flash, but a red one. 0.2126 is that of
 * full red. */
static void red_counts_by_itself(void **state)
{
    (void)state;
    static const struct fl_cell_light red = {1, 0, 0}, grey = {0.2126f, 0.2126f, 0.2126f},
                                      pink = {0.5f, 0.15f, 0.15f};
    for (int pale = 0; pale < 2; pale++) {
        struct fl_cell_light cell[CELLS];
        struct fl_flash *f = fl_flash_new(CELLS);
        struct fl_flash_report r;
        for (int k = 0; k < 3 * RATE; k++) {
            for (int i = 0; i < CELLS; i++)
                cell[i] = k / 5 % 2 ? grey : pale ? pink : red;
            fl_flash_push(f, cell, (double)k / RATE);
        }
        fl_flash_finish(&f, &r);
        assert_int_equal(r.most, 0);
        assert_int_equal(r.most_red, pale ? 0 : 6);
        assert_int_equal(r.n, pale ? 0 : 1);
        assert_true(pale || r.span[0].red);
        free(r.span);
    }
}

static void two_stretches_are_told_apart(void **state)
{
    (void)state;
    struct fl_cell_light cell[CELLS];
    struct fl_flash *f = fl_flash_new(CELLS);
    struct fl_flash_report r;
    for (int k = 0; k < 10 * RATE; k++) {
        const double t = (double)k / RATE;
        const bool on = (t < 2 || (t >= 6 && t < 8)) && k / 3 % 2;
        for (int i = 0; i < CELLS; i++)
            cell[i].r = cell[i].g = cell[i].b = on ? 0.6f : 0.1f;
        fl_flash_push(f, cell, t);
    }
    fl_flash_finish(&f, &r);
    assert_int_equal(r.n, 2);
    assert_near(r.span[0].end_s, 2, 0.06);
    assert_near(r.span[1].start_s, 6.05, 0.02);
    assert_int_equal(r.span[1].most, 10);
    free(r.span);
}

/* Light of coded levels: IEC 61966-2-1 (18.4 % grey is 119 of 255), SMPTE ST 2084 (58 % signal is
 * 203 cd/m², ITU-R BT.2408), limited range (ITU-R BT.709: 16 and 235). */
static void light_of_pictures(void **state)
{
    (void)state;
    uint8_t luma[64 * 64], chroma[2][32 * 32];
    struct fl_canvas c = {{luma, chroma[0], chroma[1]}, {64, 32, 32}, 64, 64};
    struct fl_cell_light cell[4];
    memset(chroma, 128, sizeof chroma);
    const struct fl_coding full = fl_coding_of(1, 1, 1, true, 64),
                           limited = fl_coding_of(1, 1, 1, false, 64);
    const struct fl_coding pq = fl_coding_of(9, 16, 9, false, 64);
    memset(luma, 119, sizeof luma);
    fl_flash_cells(cell, &c, &full, 2, 2);
    assert_near(cell[3].g, 0.184, 0.002);
    memset(luma, 235, sizeof luma);
    fl_flash_cells(cell, &c, &limited, 2, 2);
    assert_near(cell[0].r, 1, 1e-6);
    memset(luma, 16, sizeof luma);
    fl_flash_cells(cell, &c, &limited, 2, 2);
    assert_near(cell[0].r, 0, 1e-6);
    memset(luma, 16 + 127, sizeof luma); /* 58 % */
    fl_flash_cells(cell, &c, &pq, 2, 2);
    assert_near(cell[2].b, 203.0 / 200, 0.03);
    double level[3];
    fl_coding_levels(&full, 1, 0, 0, level);
    memset(luma, (int)lrint(level[0]), sizeof luma);
    memset(chroma[0], (int)lrint(level[1]), sizeof chroma[0]);
    memset(chroma[1], (int)lrint(level[2]) > 255 ? 255 : (int)lrint(level[2]), sizeof chroma[1]);
    fl_flash_cells(cell, &c, &full, 2, 2);
    assert_near(cell[1].r, 1, 0.02);
    assert_near(cell[1].g, 0, 0.01);
    assert_near(cell[1].b, 0, 0.01);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(how_many_in_a_second),
        cmocka_unit_test(how_large_a_change),
        cmocka_unit_test(how_large_an_area),
        cmocka_unit_test(what_is_no_pair),
        cmocka_unit_test(slopes_count),
        cmocka_unit_test(red_counts_by_itself),
        cmocka_unit_test(two_stretches_are_told_apart),
        cmocka_unit_test(light_of_pictures),
    };
    return RUN_TESTS(tests);
}
