/* Frames on a constant grid, and the vertical blank. */
#include "media/scan.h"

#include "test.h"

enum { FRAMES = 6 };

/* A timeline that owns nothing: constant with these slots, or at these times. */
static struct fl_timeline timeline(double rate_hz, double *time_s, long *slot, bool constant)
{
    return (struct fl_timeline){
        .n = FRAMES, .time_s = time_s, .slot = slot, .constant = constant, .rate_hz = rate_hz};
}

static void assert_places(const struct fl_timeline *t, const long want[FRAMES])
{
    struct fl_scan s;
    fl_scan_init(&s, t, 0.04);
    assert_int_equal(s.n, FRAMES);
    assert_near(s.period_s * t->rate_hz, 1, 1e-15);
    assert_true(s.time_s == t->time_s && s.blank == 0.04);
    for (int i = 0; i < FRAMES; i++)
        assert_int_equal(s.number[i], want[i]);
    fl_scan_finish(&s);
    assert_null(s.number);
}

static void a_constant_rate_keeps_its_gaps(void **state)
{
    (void)state;
    double time_s[FRAMES] = {0, 1 / 60.0, 2 / 60.0, 6 / 60.0, 7 / 60.0, 8 / 60.0};
    long slot[FRAMES] = {0, 1, 2, 6, 7, 8};
    const struct fl_timeline t = timeline(60, time_s, slot, true);
    assert_places(&t, slot);
}

/* At 100/s: by hand 0.012 is nearest to 1, 0.0149 to 1 as well and so moves on to 2, 0.031 to 3. */
static void other_times_take_the_nearest_free_place(void **state)
{
    (void)state;
    double time_s[FRAMES] = {0, 0.012, 0.0149, 0.031, 0.0666, 0.0667};
    long slot[FRAMES] = {0, 1, 2, 3, 4, 5}; /* not a grid's: times are not constant */
    const struct fl_timeline t = timeline(100, time_s, slot, false);
    assert_places(&t, (const long[FRAMES]){0, 1, 2, 3, 7, 8});
}

/* Twice a jump of 26.5 hours: on the grid it is a gap of a second. Shorter gaps stay as they are.
 */
static void a_jump_is_a_gap(void **state)
{
    (void)state;
    const double jump_s = 8589934592.0 / 90000;
    const long jump = 60 * 95443;
    double time_s[FRAMES] = {0, 1 / 60.0, 1.0, jump_s, jump_s + 1 / 60.0, 2 * jump_s};
    long slot[FRAMES] = {0, 1, 60, jump, jump + 1, 2 * jump};
    for (int constant = 0; constant < 2; constant++) {
        const struct fl_timeline t = timeline(60, time_s, slot, constant);
        struct fl_scan s;
        fl_scan_init(&s, &t, 0.04);
        assert_int_equal(s.number[2], 60);
        assert_true(s.number[3] >= 120 && s.number[3] <= 122);
        assert_int_equal(s.number[4], s.number[3] + 1);
        assert_true(s.number[5] - s.number[4] >= 60 && s.number[5] - s.number[4] <= 62);
        assert_near(s.longest_gap_s, jump_s, 0.1);
        fl_scan_finish(&s);
    }
}

/* Lines in all and blank of CTA-861 modes 16, 63, 97 and 118 and of VESA CVT reduced blanking at
 * 2560×1440 and 60, 120 and 144/s, as edid-decode prints them: the usual share lies among theirs,
 * and within a quarter of a millisecond of a frame's last row at 120/s of each. */
static void the_usual_blank_is_that_of_common_modes(void **state)
{
    (void)state;
    const int blank[] = {45, 45, 90, 90, 41, 85, 103},
              total[] = {1125, 1125, 2250, 2250, 1481, 1525, 1543};
    double least = 1, most = 0;
    for (int i = 0; i < 7; i++) {
        double share = (double)blank[i] / total[i];
        least = fmin(least, share);
        most = fmax(most, share);
        assert_true(fabs(share - FL_USUAL_BLANK) / 120 < 0.25e-3);
    }
    assert_true(least < FL_USUAL_BLANK && FL_USUAL_BLANK < most);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_constant_rate_keeps_its_gaps),
        cmocka_unit_test(other_times_take_the_nearest_free_place),
        cmocka_unit_test(a_jump_is_a_gap),
        cmocka_unit_test(the_usual_blank_is_that_of_common_modes),
    };
    return RUN_TESTS(tests);
}
