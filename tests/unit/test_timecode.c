#include "base/timecode.h"

#include <string.h>

#include <libavutil/timecode.h>

#include "test.h"

static const struct fl_timecode df30 = {{30000, 1001}, true}, df60 = {{60000, 1001}, true},
                                df120 = {{120000, 1001}, true};

static void check(const struct fl_timecode *tc, long frame, const char *want)
{
    char buf[FL_TIMECODE_SIZE];
    long back = -1;
    assert_string_equal(fl_timecode_label(buf, tc, frame), want);
    assert_int_equal(fl_timecode_parse(&back, tc, want, NULL), FLINCH_OK);
    assert_int_equal(back, frame);
}

/* SMPTE ST 12-1: labels 00 and 01 left out each minute but each tenth; 59.94 likewise with four.
 * Values by enumeration of all labels of a day, closed form and inverse, made outside the project.
 */
static void drop_frame_labels_of_a_day(void **state)
{
    (void)state;
    static const struct {
        long frame;
        const char *label;
    } at_30[] = {{0, "00:00:00;00"},      {1799, "00:00:59;29"},   {1800, "00:01:00;02"},
                 {3597, "00:01:59;29"},   {3598, "00:02:00;02"},   {12345, "00:06:51;27"},
                 {17981, "00:09:59;29"},  {17982, "00:10:00;00"},  {19781, "00:10:59;29"},
                 {19782, "00:11:00;02"},  {100000, "00:55:36;20"}, {107891, "00:59:59;29"},
                 {107892, "01:00:00;00"}, {2589407, "23:59:59;29"}},
      at_60[] = {{0, "00:00:00;00"},      {3599, "00:00:59;59"},   {3600, "00:01:00;04"},
                 {7195, "00:01:59;59"},   {7196, "00:02:00;04"},   {12345, "00:03:25;57"},
                 {35963, "00:09:59;59"},  {35964, "00:10:00;00"},  {39563, "00:10:59;59"},
                 {39564, "00:11:00;04"},  {100000, "00:27:48;20"}, {215783, "00:59:59;59"},
                 {215784, "01:00:00;00"}, {5178815, "23:59:59;59"}};
    for (size_t i = 0; i < sizeof at_30 / sizeof *at_30; i++)
        check(&df30, at_30[i].frame, at_30[i].label);
    for (size_t i = 0; i < sizeof at_60 / sizeof *at_60; i++)
        check(&df60, at_60[i].frame, at_60[i].label);
    char buf[FL_TIMECODE_SIZE];
    assert_string_equal(fl_timecode_label(buf, &df30, 2589408), "00:00:00;00"); /* the next day */
}

/* By hand: frames over frames per second. */
static void whole_rates_count_through(void **state)
{
    (void)state;
    check(&(struct fl_timecode){{25, 1}, false}, 1499, "00:00:59:24");
    check(&(struct fl_timecode){{25, 1}, false}, 90000, "01:00:00:00");
    check(&(struct fl_timecode){{60, 1}, false}, 90000, "00:25:00:00");
    check(&(struct fl_timecode){{24000, 1001}, false}, 24 * 3600, "01:00:00:00");
    check(&(struct fl_timecode){{30000, 1001}, false}, 1800, "00:01:00:00");
    check(&(struct fl_timecode){{120, 1}, false}, 120 * 61 + 119, "00:01:01:119");
    check(&(struct fl_timecode){{120, 1}, false}, 120 * 61 + 5, "00:01:01:005");
}

/* libavutil labels the same frames the same way. */
static void agrees_with_libavutil(void **state)
{
    (void)state;
    static const struct fl_timecode counts[] = {
        {{24000, 1001}, false}, {{24, 1}, false},        {{25, 1}, false},  {{30000, 1001}, true},
        {{30000, 1001}, false}, {{30, 1}, false},        {{48, 1}, false},  {{50, 1}, false},
        {{60000, 1001}, true},  {{60000, 1001}, false},  {{60, 1}, false},  {{100, 1}, false},
        {{120000, 1001}, true}, {{120000, 1001}, false}, {{120, 1}, false},
    };
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        const struct fl_timecode *tc = &counts[i];
        AVTimecode av;
        char want[AV_TIMECODE_STR_SIZE];
        long day = fl_rate_labels(tc->rate) * 86000; /* a little under */
        uint32_t flags = AV_TIMECODE_FLAG_24HOURSMAX | (tc->drop ? AV_TIMECODE_FLAG_DROPFRAME : 0);
        assert_int_equal(av_timecode_init(&av, (AVRational){(int)tc->rate.num, (int)tc->rate.den},
                                          (int)flags, 0, NULL),
                         0);
        for (long frame = 0; frame < 11000000; frame += frame < 20000 ? 1 : 997)
            check(tc, frame % day, av_timecode_make_string(&av, want, (int)(frame % day)));
    }
}

/* Labels that the counting leaves out, and texts that are none. */
static void wrong_labels_are_refused(void **state)
{
    (void)state;
    static const struct fl_timecode plain = {{25, 1}, false};
    static const char *const wrong[] = {"",
                                        "1",
                                        "1:0:0:0",
                                        "01:00:00",
                                        "24:00:00:00",
                                        "00:60:00:00",
                                        "00:00:60:00",
                                        "00:00:00:25",
                                        "00:00:00:00x",
                                        "-1:00:00:00",
                                        "00;00:00:00",
                                        "00:00:00.00"};
    long frame;
    struct fl_error err;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        assert_int_equal(fl_timecode_parse(&frame, &plain, wrong[i], &err), FLINCH_ERR_USAGE);
    assert_int_equal(fl_timecode_parse(&frame, &df30, "00:01:00;01", &err), FLINCH_ERR_USAGE);
    assert_non_null(strstr(err.text, "begins with frame 02"));
    assert_int_equal(fl_timecode_parse(&frame, &df60, "00:01:00;03", &err), FLINCH_ERR_USAGE);
    assert_int_equal(fl_timecode_parse(&frame, &df120, "00:01:00;07", &err), FLINCH_ERR_USAGE);
    assert_int_equal(fl_timecode_parse(&frame, &df120, "00:01:00;08", &err), FLINCH_OK);
    assert_int_equal(fl_timecode_parse(&frame, &df30, "00:10:00;00", &err), FLINCH_OK);
}

static void same_rate(struct fl_rate got, long num, long den)
{
    assert_int_equal(got.num, num);
    assert_int_equal(got.den, den);
}

static void rates_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        long num, den;
        const char *shown;
    } good[] = {{"23.976", 24000, 1001, "23.976"},
                {"23.98", 24000, 1001, "23.976"},
                {"24", 24, 1, "24"},
                {"25", 25, 1, "25"},
                {"25.0", 25, 1, "25"},
                {"29.97", 30000, 1001, "29.97"},
                {"30000/1001", 30000, 1001, "29.97"},
                {"50", 50, 1, "50"},
                {"59.94", 60000, 1001, "59.94"},
                {"119.88", 120000, 1001, "119.88"},
                {"120", 120, 1, "120"},
                {"12.5", 25, 2, "12.5"},
                {"1000", 1000, 1, "1000"},
                {"120/2", 60, 1, "60"}};
    static const char *const bad[] = {"",
                                      "0",
                                      "-25",
                                      "0.5",
                                      "1001",
                                      "25fps",
                                      "25/0",
                                      "29,97",
                                      "1e2",
                                      ".",
                                      "1/2/3",
                                      "99999999999999999999",
                                      "30000/1001.5",
                                      " 25"};
    struct fl_rate rate;
    struct fl_error err;
    char buf[FL_RATE_SIZE];
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        assert_int_equal(fl_rate_parse(&rate, good[i].text, &err), FLINCH_OK);
        same_rate(rate, good[i].num, good[i].den);
        assert_string_equal(fl_rate_text(buf, rate), good[i].shown);
    }
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_int_equal(fl_rate_parse(&rate, bad[i], &err), FLINCH_ERR_USAGE);
}

static void measured_rates_find_their_fraction(void **state)
{
    (void)state;
    bool common;
    same_rate(fl_rate_near(119.8801, 72000, &common), 120000, 1001);
    assert_true(common);
    same_rate(fl_rate_near(120.0001, 1200, NULL), 120, 1);
    same_rate(fl_rate_near(59.9402, 600, NULL), 60000, 1001);
    same_rate(fl_rate_near(23.97603, 1000, NULL), 24000, 1001);
    /* 0.02 % off: after a minute the frames would no longer be the same. */
    same_rate(fl_rate_near(119.9, 7200, &common), 1199, 10);
    assert_false(common);
    same_rate(fl_rate_near(117.35, 100, &common), 2347, 20);
    assert_false(common);
    assert_int_equal(fl_rate_near(NAN, 100, NULL).den, 0);
    assert_int_equal(fl_rate_near(1e9, 100, NULL).den, 0);
    assert_true(isnan(fl_rate_hz((struct fl_rate){0, 0})));
}

/* The first frame of another rate that begins no earlier: by hand. */
static void frames_change_rates(void **state)
{
    (void)state;
    const struct fl_rate r120 = {120, 1}, r30 = {30, 1}, r120d = {120000, 1001}, r25 = {25, 1};
    assert_int_equal(fl_rate_convert(7, r120, r30), 2);
    assert_int_equal(fl_rate_convert(8, r120, r30), 2);
    assert_int_equal(fl_rate_convert(9, r120, r30), 3);
    assert_int_equal(fl_rate_convert(9, r120, r120), 9);
    /* 1 h: 431568.43 frames at 120/1.001; frame 431569 begins 4.7 ms after the hour, 431568 before
     * it. */
    assert_int_equal(fl_rate_convert(431569, r120d, r25), 90001);
    assert_int_equal(fl_rate_convert(431568, r120d, r25), 90000);
    assert_int_equal(fl_rate_convert(100000000, r120d, r120), 100100000);
}

static void only_multiples_of_29_97_drop(void **state)
{
    (void)state;
    assert_true(fl_rate_can_drop((struct fl_rate){30000, 1001}));
    assert_true(fl_rate_can_drop((struct fl_rate){120000, 1001}));
    assert_false(fl_rate_can_drop((struct fl_rate){24000, 1001}));
    assert_false(fl_rate_can_drop((struct fl_rate){30, 1}));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drop_frame_labels_of_a_day),
        cmocka_unit_test(whole_rates_count_through),
        cmocka_unit_test(agrees_with_libavutil),
        cmocka_unit_test(wrong_labels_are_refused),
        cmocka_unit_test(rates_are_read),
        cmocka_unit_test(measured_rates_find_their_fraction),
        cmocka_unit_test(frames_change_rates),
        cmocka_unit_test(only_multiples_of_29_97_drop),
    };
    return RUN_TESTS(tests);
}
