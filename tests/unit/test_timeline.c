/* Constant grids under container rounding, gaps, mended times, variable times. */
#include "media/timeline.h"

#include <stdlib.h>
#include <string.h>

#include "maths/random.h"
#include "test.h"

enum { MANY = 2000 };

static double rounded(double t, double tick)
{
    return tick * floor(t / tick + 0.5);
}

static struct fl_timeline fitted(const double *pts, size_t n, double nominal, double tick)
{
    struct fl_timeline t;
    struct fl_error err = {0};
    assert_int_equal(fl_timeline_fit(&t, pts, n, nominal, tick, &err), FLINCH_OK);
    assert_int_equal(t.n, n);
    for (size_t i = 1; i < n; i++)
        assert_true(t.time_s[i] > t.time_s[i - 1]);
    assert_true(n == 0 || t.time_s[0] == 0);
    return t;
}

/* Every common rate under a 1 ms time base, by rounding and by truncation, declared or not. */
static void a_millisecond_time_base_is_seen_through(void **state)
{
    (void)state;
    const double rates[] = {
        24000.0 / 1001, 30, 50, 60000.0 / 1001, 60, 100, 120000.0 / 1001, 120, 144, 240};
    double pts[MANY];
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (int mode = 0; mode < 4; mode++) {
            for (int i = 0; i < MANY; i++)
                pts[i] = 3.217 + (mode & 1 ? floor(1000 * i / rates[r]) / 1000
                                           : rounded(i / rates[r], 1e-3));
            struct fl_timeline t = fitted(pts, MANY, mode & 2 ? rates[r] : 0, 1e-3);
            assert_true(t.constant);
            assert_int_equal(t.missing + t.mended, 0);
            assert_near(t.rate_hz / rates[r], 1, mode & 2 ? 1e-12 : 3e-6);
            for (int i = 0; i < MANY; i++)
                assert_near(t.time_s[i], i / rates[r], 1e-4);
            fl_timeline_finish(&t);
        }
}

static void a_declared_rate_is_not_believed_against_the_times(void **state)
{
    (void)state;
    double pts[MANY];
    for (int i = 0; i < MANY; i++)
        pts[i] = rounded(i / 119.88, 1e-3);
    struct fl_timeline t = fitted(pts, MANY, 120, 1e-3);
    assert_true(t.constant);
    assert_near(t.rate_hz, 119.88, 1e-6);
    fl_timeline_finish(&t);
}

static void missing_slots_are_counted_not_closed(void **state)
{
    (void)state;
    struct fl_random random;
    fl_random_seed(&random, 5);
    double pts[MANY];
    long slot[MANY], s = 0, missing = 0;
    for (int i = 0; i < MANY; i++) {
        const long skip =
            i > 0 && fl_random_uniform(&random) < 0.1 ? 1 + (long)fl_random_below(&random, 30) : 0;
        missing += skip;
        s += i > 0 ? 1 + skip : 0;
        slot[i] = s;
        pts[i] = rounded((double)s / 120, 1e-3);
    }
    struct fl_timeline t = fitted(pts, MANY, 0, 1e-3);
    assert_true(t.constant);
    assert_int_equal(t.missing, missing);
    for (int i = 0; i < MANY; i++)
        assert_int_equal(t.slot[i], slot[i]);
    fl_timeline_finish(&t);
}

/* A millisecond file copied into a container with a fine time base. */
static void inherited_rounding_is_seen(void **state)
{
    (void)state;
    double pts[300];
    for (int i = 0; i < 300; i++)
        pts[i] = rounded(i / 120.0, 1e-3);
    struct fl_timeline t = fitted(pts, 300, 0, 1.0 / 90000);
    assert_true(t.constant);
    assert_near(t.rounding_s, 1e-3, 1e-12);
    fl_timeline_finish(&t);
}

static void absent_repeated_and_backward_times_are_mended(void **state)
{
    (void)state;
    double pts[400];
    for (int i = 0; i < 400; i++)
        pts[i] = rounded(i / 120.0, 1e-3);
    pts[0] = NAN;
    pts[50] = pts[49];
    pts[100] = 99;
    pts[200] = 0.5;
    pts[250] = pts[251];
    pts[300] = pts[301] = NAN;
    pts[399] = INFINITY;
    struct fl_timeline t = fitted(pts, 400, 120, 1e-3);
    assert_true(t.constant);
    assert_int_equal(t.mended, 10);
    assert_int_equal(t.missing, 0);
    for (int i = 0; i < 400; i++)
        assert_near(t.time_s[i], i / 120.0, 1e-9);
    fl_timeline_finish(&t);
}

static void variable_times_are_taken_as_given(void **state)
{
    (void)state;
    struct fl_random random;
    fl_random_seed(&random, 9);
    double pts[MANY], at = 1;
    for (int i = 0; i < MANY; i++) {
        pts[i] = rounded(at, 1e-6);
        at += (1 + 0.3 * fl_random_uniform(&random)) / 140;
    }
    for (int round = 0; round < 2; round++) {
        struct fl_timeline t = fitted(pts, MANY, round ? 120 : 0, 1e-6);
        assert_false(t.constant);
        for (int i = 0; i < MANY; i++) {
            assert_near(t.time_s[i], pts[i] - pts[0], 1e-12);
            assert_int_equal(t.slot[i], i);
        }
        assert_near(t.rate_hz, 140 / 1.15, 0.02);
        fl_timeline_finish(&t);
    }
    const double hole = (pts[9] + pts[11]) / 2 - pts[0];
    pts[10] = NAN;
    struct fl_timeline t = fitted(pts, MANY, 0, 1e-6);
    assert_near(t.time_s[10], hole, 1e-12);
    assert_int_equal(t.mended, 1);
    fl_timeline_finish(&t);
}

/* From fuzzing: so far from zero, doubles cannot tell two frames between neighbours. */
static void times_far_from_zero_still_rise(void **state)
{
    (void)state;
    double pts[24];
    for (int i = 0; i < 24; i++)
        pts[i] = 1.4e9 + i * (i % 3 ? 0.0061 : 0.006);
    for (int i = 1; i < 23; i++)
        if (i != 8)
            pts[i] = NAN;
    pts[8] = 1.4e9 + 5e-7;
    struct fl_timeline t = fitted(pts, 24, 0, 1e-9);
    for (int i = 1; i < 24; i++)
        assert_true(t.time_s[i] > t.time_s[i - 1]);
    fl_timeline_finish(&t);
}

static void a_few_frames_are_enough(void **state)
{
    (void)state;
    const double pts[] = {7.0, 7.008};
    struct fl_timeline t = fitted(pts, 1, 120, 1e-3);
    assert_near(t.rate_hz, 120, 1e-12);
    fl_timeline_finish(&t);
    t = fitted(pts, 1, 0, 1e-3);
    assert_false(t.constant);
    assert_true(isnan(t.rate_hz));
    fl_timeline_finish(&t);
    t = fitted(pts, 2, 120, 1e-3);
    assert_near(t.time_s[1], 1 / 120.0, 1e-12);
    fl_timeline_finish(&t);
    t = fitted(pts, 2, 0, 1e-3);
    assert_near(t.time_s[1], 0.008, 1e-9);
    fl_timeline_finish(&t);
}

static void without_times_the_declared_rate_counts(void **state)
{
    (void)state;
    const double pts[] = {NAN, NAN, NAN, NAN};
    struct fl_timeline t = fitted(pts, 4, 60, 1e-3);
    assert_near(t.time_s[3], 0.05, 1e-12);
    assert_int_equal(t.mended, 4);
    fl_timeline_finish(&t);
    struct fl_error err = {0};
    assert_int_equal(fl_timeline_fit(&t, pts, 4, 0, 1e-3, &err), FLINCH_ERR_FORMAT);
    assert_int_equal(fl_timeline_fit(&t, pts, 0, 60, 1e-3, &err), FLINCH_ERR_EMPTY);
}

static void assert_refused(const double *pts, size_t n, double nominal_hz, double tick_s,
                           const char *why)
{
    struct fl_timeline t;
    struct fl_error err = {0};
    assert_int_equal(fl_timeline_fit(&t, pts, n, nominal_hz, tick_s, &err), FLINCH_ERR_FORMAT);
    assert_non_null(strstr(err.text, why));
    assert_null(t.time_s);
    assert_null(t.slot);
}

/* A jump of 26.5 hours, as where a transport stream's clock of 33 bits at 90 kHz wraps (ISO/IEC
 * 13818-1: 2^33 / 90000 s), is a gap. Spans of days and years
 * and rates of gigahertz are no recording's. */
static void times_of_no_recording_are_refused(void **state)
{
    (void)state;
    double pts[400];
    const double jumps[] = {8589934592.0 / 90000, 3 * 86400, 3e9, 1e11};
    for (int k = 0; k < 4; k++) {
        for (int i = 0; i < 400; i++)
            pts[i] = rounded(i / 120.0, 1e-3) + (i < 200 ? 0 : jumps[k]);
        if (k) {
            assert_refused(pts, 400, 120, 1e-3, "hours apart");
            continue;
        }
        struct fl_timeline t = fitted(pts, 400, 120, 1e-3);
        assert_true(t.constant);
        assert_near(t.time_s[399], 399 / 120.0 + jumps[0], 1e-3);
        fl_timeline_finish(&t);
    }
    for (int i = 0; i < 400; i++)
        pts[i] = 1e-9 * i;
    assert_refused(pts, 400, 0, 1e-9, "frames a second");
    for (int i = 0; i < 400; i++)
        pts[i] = 1764583200 + i / 120.0; /* time of day, as some network cameras count */
    struct fl_timeline t = fitted(pts, 400, 120, 1e-6);
    assert_true(t.constant);
    fl_timeline_finish(&t);
    for (int i = 0; i < 400; i++)
        pts[i] = 4611686018427387904.0 / 64000 + i / 120.0; /* 2^62 ticks: doubles tell 16 ms */
    assert_refused(pts, 400, 120, 1 / 64000.0, "from zero");
    const double none[] = {NAN, NAN};
    assert_refused(none, 2, 90000, 1e-3, "frames a second"); /* a time base passed off as a rate */
    assert_refused(none, 2, 1e-6, 1e-3, "hours apart");
    double ends[40]; /* most frames without a time, each as far from the next as two are */
    for (int i = 0; i < 40; i++)
        ends[i] = i == 20 ? 0 : i == 21 ? 10000 : NAN;
    assert_refused(ends, 40, 0, 1, "hours apart");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_millisecond_time_base_is_seen_through),
        cmocka_unit_test(a_declared_rate_is_not_believed_against_the_times),
        cmocka_unit_test(missing_slots_are_counted_not_closed),
        cmocka_unit_test(inherited_rounding_is_seen),
        cmocka_unit_test(absent_repeated_and_backward_times_are_mended),
        cmocka_unit_test(variable_times_are_taken_as_given),
        cmocka_unit_test(times_of_no_recording_are_refused),
        cmocka_unit_test(times_far_from_zero_still_rise),
        cmocka_unit_test(a_few_frames_are_enough),
        cmocka_unit_test(without_times_the_declared_rate_counts),
    };
    return RUN_TESTS(tests);
}
