/* Median cut on colours that are known: what it must keep, by arithmetic. */
#include "show/draw/colour_cut.h"

#include <stdlib.h>
#include <string.h>

#include "media/canvas.h"
#include "test.h"

static uint32_t count[FL_COLOUR_CELLS];

static int setup(void **state)
{
    (void)state;
    memset(count, 0, sizeof count);
    return 0;
}

static int distance(uint32_t a, uint32_t b)
{
    int most = 0;
    for (int shift = 0; shift < 24; shift += 8) {
        int d = abs((int)(a >> shift & 255) - (int)(b >> shift & 255));
        most = d > most ? d : most;
    }
    return most;
}

static int nearest(const uint32_t *colour, int n, uint32_t rgb)
{
    int best = 256;
    for (int i = 0; i < n; i++)
        best = distance(colour[i], rgb) < best ? distance(colour[i], rgb) : best;
    return best;
}

/* Cells of five bits: a colour and its cell's are at most 7 levels apart. */
static void few_colours_stay(void **state)
{
    (void)state;
    static const uint32_t wanted[] = {0xff0000, 0x00ff00, 0x0000ff, 0x000000, 0xffffff, 0x806020};
    uint32_t colour[16];
    for (size_t i = 0; i < 6; i++)
        count[fl_colour_cell(wanted[i])] += 1 + 1000 * (i == 0);
    int n = fl_colour_cut(count, colour, 16);
    assert_int_equal(n, 6);
    for (size_t i = 0; i < 6; i++)
        assert_true(nearest(colour, n, wanted[i]) <= 7);
}

static void nothing_gives_nothing(void **state)
{
    (void)state;
    uint32_t colour[4];
    assert_int_equal(fl_colour_cut(count, colour, 4), 0);
    count[0] = 1;
    assert_int_equal(fl_colour_cut(count, colour, 0), 0);
    assert_int_equal(fl_colour_cut(count, colour, 4), 1);
    assert_int_equal(colour[0], 0x000000);
}

/* An even ramp of one channel, 32 cells, in 8 boxes: four cells each, so none is over two away. */
static void a_ramp_is_cut_evenly(void **state)
{
    (void)state;
    uint32_t colour[8];
    for (uint32_t r = 0; r < 256; r++)
        count[fl_colour_cell(r << 16)]++;
    int n = fl_colour_cut(count, colour, 8);
    assert_int_equal(n, 8);
    for (uint32_t r = 0; r < 256; r++)
        assert_true(nearest(colour, n, r << 16) <= 24);
}

/* ITU-R BT.709: studio black is 16, white 235, no colour 128; there and back gives the colour. */
static void coded_colours_come_back(void **state)
{
    (void)state;
    static const uint32_t rgb[] = {0xff0000, 0x00ff00, 0x0000ff, 0x123456, 0xfcfcfa};
    for (int full = 0; full < 2; full++) {
        const struct fl_coding c = fl_coding_of(1, 1, 1, full, 1080);
        assert_int_equal(fl_coding_rgb(&c, (const double[]){full ? 0 : 16, 128, 128}), 0x000000);
        assert_int_equal(fl_coding_rgb(&c, (const double[]){full ? 255 : 235, 128, 128}), 0xffffff);
        for (size_t i = 0; i < sizeof rgb / sizeof *rgb; i++) {
            double level[3];
            fl_coding_levels(&c, (rgb[i] >> 16) / 255.0, (rgb[i] >> 8 & 255) / 255.0,
                             (rgb[i] & 255) / 255.0, level);
            assert_int_equal(fl_coding_rgb(&c, level), rgb[i]);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(few_colours_stay, setup),
        cmocka_unit_test_setup(nothing_gives_nothing, setup),
        cmocka_unit_test_setup(a_ramp_is_cut_evenly, setup),
        cmocka_unit_test(coded_colours_come_back),
    };
    return RUN_TESTS(tests);
}
