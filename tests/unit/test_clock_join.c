/* Two clocks of one take, worked out by hand: trace = 5 + t for the hand, the picture 40 ms behind
 * it, the recorder's sound 30 ms behind its picture. */
#include "clock/clock_join.h"

#include <string.h>

#include "test.h"

static struct fl_clock motion(void)
{
    return (struct fl_clock){.known = true,
                             .offset_s = 5 - 0.040,
                             .error_ms = 1.5,
                             .off_minus_on_ms = -6,
                             .off_minus_on_low_ms = -8,
                             .off_minus_on_high_ms = -4,
                             .method = "motion"};
}

static struct fl_heard heard(void)
{
    struct fl_heard h;
    fl_heard_none(&h, "");
    h.clock = (struct fl_sound_clock){.known = true,
                                      .offset_s = 5 - 0.030,
                                      .confidence = 0.9,
                                      .error_ms = 0.8,
                                      .heard = 12,
                                      .presses = 14};
    return h;
}

/* The recorder's offset measured; the footage's own sound; a recorder with a start of its own. */
static const struct fl_sound_facts measured = {0.030, false, 60}, own = {NAN, true, 60},
                                   alone = {NAN, false, 60};

static void a_measured_offset_gives_the_delay_itself(void **state)
{
    (void)state;
    struct fl_clock c = motion();
    struct fl_heard h = heard();
    fl_clock_doubt(&c, &h, &measured);
    fl_clock_join(&c, &h, &measured);
    assert_true(c.known && h.join.compared && !h.join.at_odds && !h.join.code[0]);
    assert_near(h.join.on_ms, 40, 1e-9);
    assert_near(h.join.on_high_ms - h.join.on_ms, hypot(1.5, 0.8), 1e-9);
    assert_near(h.join.off_ms, 34, 1e-9);
    assert_near(h.join.off_high_ms - h.join.off_ms, sqrt(1.5 * 1.5 + 0.8 * 0.8 + 2 * 2), 1e-9);
    assert_string_equal(c.method, "motion");
    assert_near(c.offset_s, 4.96, 1e-12);
    h = heard();
    c.error_ms = NAN; /* not settled: how long the screen holds pictures is still in it */
    fl_clock_join(&c, &h, &measured);
    assert_near(h.join.behind_ms, 40, 1e-9);
    assert_true(isnan(h.join.on_ms) && isnan(h.join.off_ms));
}

static void without_it_only_the_difference_is_told(void **state)
{
    (void)state;
    struct fl_clock c = motion();
    struct fl_heard h = heard();
    fl_clock_join(&c, &h, &own);
    assert_near(h.join.behind_ms, 10, 1e-9);
    assert_true(isnan(h.join.on_ms) && isnan(h.join.off_ms) && !h.join.at_odds);
    h = heard();
    fl_clock_join(&c, &h, &alone);
    assert_true(isnan(h.join.behind_ms) && !h.join.compared);
    assert_near(h.join.drift_apart_ppm, 0, 1e-12);
}

static void clocks_that_contradict_each_other_are_none(void **state)
{
    (void)state;
    static const double late_s[] = {2, -1, 0.5};
    for (int k = 0; k < 3; k++) {
        struct fl_clock c = motion();
        struct fl_heard h = heard();
        h.clock.offset_s += late_s[k];
        fl_clock_doubt(&c, &h, &own);
        assert_true(h.join.at_odds && !c.known && isnan(c.offset_s));
        assert_non_null(strstr(c.refused, k == 0 ? "2.01 s apart" : "s apart"));
        fl_clock_join(&c, &h, &own); /* nor does sound stand in */
        assert_false(c.known);
        c = motion();
        h.join.at_odds = false;
        fl_clock_doubt(&c, &h, &alone); /* a recorder with a start of its own */
        assert_true(c.known && !h.join.at_odds);
    }
}

static void a_drift_apart_is_told(void **state)
{
    (void)state;
    struct fl_clock c = motion();
    struct fl_heard h = heard();
    h.clock.drift_ppm = 200;
    fl_clock_join(&c, &h, &alone);
    assert_true(c.known && h.join.at_odds);
    assert_string_equal(h.join.code, "sound_drift");
    h = heard(); /* a slate alone tells no drift: 5 ms over 30 s are 167 ppm */
    h.clock.drift_ppm = 200;
    h.clock.error_ms = 5;
    fl_clock_join(&c, &h, &alone);
    assert_false(h.join.at_odds);
}

static void sound_stands_in_where_it_is_placed(void **state)
{
    (void)state;
    struct fl_heard h = heard();
    struct fl_clock c = {.known = false, .refused = "the picture does not move"};
    fl_clock_join(&c, &h, &own); /* the recorder's own offset is not known */
    assert_false(c.known);
    assert_string_equal(h.join.code, "sound_unplaced");
    h = heard();
    fl_clock_join(&c, &h, &measured);
    assert_true(c.known);
    assert_near(c.offset_s, 5, 1e-9);
    assert_true(c.error_ms > 100); /* the delay from hand to picture is in it */
    assert_string_equal(c.method, "sound");
    assert_string_equal(h.join.code, "clock_by_sound");
    struct fl_heard none;
    fl_heard_none(&none, "nothing sudden is heard");
    c = motion();
    fl_clock_doubt(&c, &none, &measured);
    fl_clock_join(&c, &none, &measured);
    assert_true(c.known && !none.join.compared && !none.join.code[0]);
}

/* The hand leads the picture by 10 to 150 ms (common practice, no source), the recorder's sound
 * lies within 200 ms of its picture: the band holds all of that and not a second more. */
static void the_band_holds_every_usual_delay(void **state)
{
    (void)state;
    const struct fl_heard h = heard();
    struct fl_lag_band b;
    assert_false(fl_sound_band(&b, &h.clock, &alone));
    assert_true(fl_sound_band(&b, &h.clock, &own));
    for (double delay_s = 0.010; delay_s < 0.16; delay_s += 0.01)
        for (double recorder_s = -0.2; recorder_s < 0.21; recorder_s += 0.05)
            assert_true(4.97 + recorder_s - delay_s > b.least_s &&
                        4.97 + recorder_s - delay_s < b.most_s);
    assert_true(b.most_s - b.least_s < 1);
    struct fl_lag_band narrow;
    assert_true(fl_sound_band(&narrow, &h.clock, &measured));
    assert_near(narrow.most_s, 5 + 0.05 + 0.8e-3, 1e-9);
    assert_near(narrow.least_s, 5 - 0.25 - 0.8e-3, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_measured_offset_gives_the_delay_itself),
        cmocka_unit_test(without_it_only_the_difference_is_told),
        cmocka_unit_test(clocks_that_contradict_each_other_are_none),
        cmocka_unit_test(a_drift_apart_is_told),
        cmocka_unit_test(sound_stands_in_where_it_is_placed),
        cmocka_unit_test(the_band_holds_every_usual_delay),
    };
    return RUN_TESTS(tests);
}
