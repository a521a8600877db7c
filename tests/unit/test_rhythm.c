#include "state/rhythm.h"

#include "test.h"

static void add_line(struct fl_stretches *s, double period_s, const double *at, size_t n)
{
    for (size_t i = 0; i < n; i++)
        fl_stretch_flip(s, at[i], 5 + period_s * at[i]);
    fl_stretch_end(s);
}

/* Flips between need not be known, nor where a stretch begins. */
static void flips_on_a_line_give_its_slope(void **state)
{
    (void)state;
    const double at[] = {100, 100.5, 104, 109.5}, later[] = {3, 4};
    struct fl_stretches s = {0};
    struct fl_rhythm r;
    add_line(&s, 0.014, at, 4);
    add_line(&s, 0.014, later, 2);
    fl_stretches_finish(&r, &s);
    assert_near(r.period_s, 0.014, 1e-12);
    assert_near(r.error, 0, 1e-9);
    assert_int_equal(r.flips, 6);
}

/* By the definition of least squares: slope of (0, 0), (1, 12), (2, 24), (3, 42) is 13.8. */
static void a_flip_off_the_line_moves_it_by_its_weight(void **state)
{
    (void)state;
    const double t[] = {0, 0.012, 0.024, 0.042};
    struct fl_stretches s = {0};
    struct fl_rhythm r;
    for (int i = 0; i < 4; i++)
        fl_stretch_flip(&s, i, t[i]);
    fl_stretches_finish(&r, &s);
    assert_near(r.period_s, 0.0138, 1e-12);
    assert_true(isnan(r.error)); /* one stretch says nothing of how they differ */
}

static void long_stretches_count_by_their_length(void **state)
{
    (void)state;
    double at[61];
    struct fl_stretches s = {0};
    struct fl_rhythm r;
    for (int i = 0; i <= 60; i++)
        at[i] = i;
    add_line(&s, 0.014, at, 61);
    add_line(&s, 0.015, at, 21);
    fl_stretches_finish(&r, &s);
    assert_near(r.period_s, (3 * 0.014 + 0.015) / 4, 2e-6);
    assert_true(r.error > 0.01 && r.error < 0.03);
}

static void nothing_and_lone_flips_tell_nothing(void **state)
{
    (void)state;
    struct fl_stretches s = {0};
    struct fl_rhythm r;
    fl_stretches_finish(&r, &s);
    assert_true(isnan(r.period_s) && isnan(r.error) && r.flips == 0);
    fl_stretch_flip(&s, 1, 1);
    fl_stretch_end(&s);
    fl_stretch_flip(&s, 9, 2);
    fl_stretches_finish(&r, &s);
    assert_true(isnan(r.period_s) && r.flips == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flips_on_a_line_give_its_slope),
        cmocka_unit_test(a_flip_off_the_line_moves_it_by_its_weight),
        cmocka_unit_test(long_stretches_count_by_their_length),
        cmocka_unit_test(nothing_and_lone_flips_tell_nothing),
    };
    return RUN_TESTS(tests);
}
