/* Where two motions part, by hand. */
#include "clock/parting.h"

#include "test.h"

enum { FRAMES = 60 };
static const struct fl_parting_use use = {.window_s = 0.09, .least = 4};

struct film {
    double time_s[FRAMES];
    double trace[FRAMES], picture[FRAMES]; /* across; down they both rest. NaN: not known */
    enum fl_parting parting[FRAMES];
};

static bool pair_at(const void *ctx, size_t i, struct fl_motion_pair *out)
{
    const struct film *f = ctx;
    *out = (struct fl_motion_pair){{f->trace[i], 0}, {f->picture[i], 0}};
    return !isnan(f->trace[i]) && !isnan(f->picture[i]);
}

/* 100 frames/s: a window holds nine frames, four on each side. */
static void compare(struct film *f, double trace, double picture)
{
    for (int i = 0; i < FRAMES; i++) {
        f->time_s[i] = 0.01 * i;
        f->trace[i] = trace;
        f->picture[i] = picture;
    }
    fl_parting_find(f->parting, f->time_s, FRAMES, &use, pair_at, f);
}

static void apart_is_a_share_of_the_larger_and_a_least(void **state)
{
    (void)state;
    const struct {
        double trace, picture;
        enum fl_parting want;
    } cases[] = {{20, 20, FL_TOGETHER},   {20, 13.1, FL_TOGETHER}, {20, 12.9, FL_APART},
                 {13.1, 20, FL_TOGETHER}, {12.9, 20, FL_APART},    {3.9, 0, FL_TOGETHER},
                 {4.1, 0, FL_APART},      {0, 0, FL_TOGETHER},     {20, -20, FL_APART},
                 {-20, -14, FL_TOGETHER}};
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        struct film f;
        compare(&f, cases[k].trace, cases[k].picture);
        for (int i = 0; i < FRAMES; i++)
            assert_int_equal(f.parting[i], cases[k].want);
    }
}

/* The picture stops for four frames. A window of nine that holds all of them sees 5/9 of the hand's
 * motion, one that holds three sees 2/3. */
static void means_are_over_the_window(void **state)
{
    (void)state;
    struct film f;
    compare(&f, 20, 20);
    for (int i = 30; i < 34; i++)
        f.picture[i] = 0;
    fl_parting_find(f.parting, f.time_s, FRAMES, &use, pair_at, &f);
    for (int i = 0; i < FRAMES; i++) {
        if (i >= 29 && i <= 34)
            assert_int_equal(f.parting[i], FL_APART);
        if (i <= 28 || i >= 35)
            assert_int_equal(f.parting[i], FL_TOGETHER);
    }
}

static void few_known_frames_say_nothing(void **state)
{
    (void)state;
    struct film f;
    compare(&f, 20, 0);
    for (int i = 20; i < 40; i++)
        f.picture[i] = NAN;
    fl_parting_find(f.parting, f.time_s, FRAMES, &use, pair_at, &f);
    assert_int_equal(f.parting[30], FL_PARTING_UNKNOWN);
    assert_int_equal(f.parting[10], FL_APART);
    fl_parting_find(f.parting, f.time_s, 2, &use, pair_at, &f); /* two frames in all */
    assert_int_equal(f.parting[0], FL_PARTING_UNKNOWN);
    fl_parting_find(f.parting, f.time_s, 0, &use, pair_at, &f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(apart_is_a_share_of_the_larger_and_a_least),
        cmocka_unit_test(means_are_over_the_window),
        cmocka_unit_test(few_known_frames_say_nothing),
    };
    return RUN_TESTS(tests);
}
