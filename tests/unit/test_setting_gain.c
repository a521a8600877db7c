#include "study/curve/setting_gain.h"

#include "fake_take.h"
#include "study/curve/setting.h"
#include "test.h"

/* A take of which the session says `given` and the picture shows `found` degrees a count; NaN: not.
 */
static void add(struct fl_session *s, const char *game, double cpi, double given, double found)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = game,
                                                          .condition = "default",
                                                          .counts_per_inch = cpi,
                                                          .v50_deg_s = 200,
                                                          .slope = 4,
                                                          .flicks = 4,
                                                          .flicks_only = true,
                                                          .seed = 1});
    t->spec.degrees_per_count = given;
    t->spec.trace = "a.csv";
    t->sensitivity.right.degrees = found;
    t->sensitivity.right.low = found * 0.98;
    t->sensitivity.right.high = found * 1.02;
    t->sensitivity.right.growth_low = t->sensitivity.right.growth_high = FL_UNKNOWN;
    t->sensitivity.right.growth = FL_UNKNOWN;
    fl_session_add(s, t);
}

static double of(const struct fl_session *s, size_t i)
{
    return fl_setting_gain(s, s->takes[i]).degrees;
}

static void what_is_given_stands(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("s");
    add(s, "A", 800, 0.022, 0.05);
    assert_near(of(s, 0), 0.022, 0);
    assert_false(fl_setting_gain(s, s->takes[0]).found);
    fl_session_free(&s);
}

/* 0.0220 and 0.0224 are 1.8 % apart, 0.0300 is another; their means to four digits by hand. */
static void found_ones_make_settings(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("s");
    struct fl_setting *settings;
    add(s, "A", 800, FL_UNKNOWN, 0.0220);
    add(s, "A", 800, FL_UNKNOWN, -0.0300); /* inverted */
    add(s, "A", 800, FL_UNKNOWN, 0.0224);
    add(s, "B", 800, FL_UNKNOWN, 0.0230);
    add(s, "A", 1600, FL_UNKNOWN, 0.0112);
    assert_near(of(s, 0), 0.0222, 1e-12);
    assert_near(of(s, 2), 0.0222, 1e-12);
    assert_near(of(s, 1), 0.03, 1e-12);
    assert_near(of(s, 3), 0.023, 1e-12);
    assert_near(of(s, 4), 0.0112, 1e-12);
    assert_int_equal(fl_settings(s, false, &settings), 4);
    assert_int_equal(settings[0].n, 2);
    assert_true(settings[0].degrees_found);
    assert_near(settings[0].degrees_per_count, 0.0222, 1e-12);
    assert_int_equal(fl_settings(s, true, &settings), 2);
    assert_false(settings[0].degrees_found);
    fl_session_free(&s);
}

static void one_that_is_given_elsewhere_and_agrees_is_joined(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("s");
    struct fl_setting *settings;
    add(s, "A", 800, 0.022, 0.0221);
    add(s, "A", 800, FL_UNKNOWN, 0.0223);
    assert_near(of(s, 1), 0.022, 0);
    assert_int_equal(fl_settings(s, false, &settings), 1);
    assert_false(settings[0].degrees_found); /* one of its takes says so */
    fl_session_free(&s);
}

static void what_shows_none_goes_with_the_others_if_they_are_one(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("s");
    add(s, "A", 800, FL_UNKNOWN, 0.022);
    add(s, "A", 800, FL_UNKNOWN, FL_UNKNOWN);
    add(s, "A", 800, FL_UNKNOWN, 0.0224);
    assert_near(of(s, 1), 0.0222, 1e-12);
    add(s, "A", 800, FL_UNKNOWN, 0.044);
    assert_true(isnan(of(s, 1)));
    fl_session_free(&s);
    s = fl_session_new("s");
    add(s, "A", 800, 0.022, 0.022);
    add(s, "A", 800, FL_UNKNOWN, FL_UNKNOWN);
    assert_true(isnan(of(s, 1)));
    fl_session_free(&s);
}

/* Acceleration: no one number says it. */
static void a_gain_that_grows_is_none(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("s");
    add(s, "A", 800, FL_UNKNOWN, 0.022);
    s->takes[0]->sensitivity.right.growth = 0.2;
    s->takes[0]->sensitivity.right.growth_low = 0.15;
    s->takes[0]->sensitivity.right.growth_high = 0.25;
    assert_true(isnan(of(s, 0)));
    assert_false(fl_setting_gain(s, s->takes[0]).found);
    fl_session_free(&s);
}

static void found_ones_of_two_folders_are_the_same_within_their_error(void **state)
{
    (void)state;
    const struct fl_setting_gain found = {0.022, true}, near = {0.0226, true}, far = {0.024, true},
                                 given = {0.022, false}, other = {0.0221, false};
    assert_true(fl_same_gain(found, near));
    assert_false(fl_same_gain(found, far));
    assert_true(fl_same_gain(given, near));
    assert_false(fl_same_gain(given, other));
    assert_true(fl_same_gain((struct fl_setting_gain){FL_UNKNOWN, false},
                             (struct fl_setting_gain){FL_UNKNOWN, false}));
    assert_false(fl_same_gain(found, (struct fl_setting_gain){FL_UNKNOWN, false}));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_given_stands),
        cmocka_unit_test(found_ones_make_settings),
        cmocka_unit_test(one_that_is_given_elsewhere_and_agrees_is_joined),
        cmocka_unit_test(what_shows_none_goes_with_the_others_if_they_are_one),
        cmocka_unit_test(a_gain_that_grows_is_none),
        cmocka_unit_test(found_ones_of_two_folders_are_the_same_within_their_error),
    };
    return RUN_TESTS(tests);
}
