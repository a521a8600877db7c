/* Streams on an invented clock: pictures 60 a second, in bursts as recorders write them, measured
 * by machines of any speed. */
#include "pace.h"

#include <math.h>

#include "test.h"

enum { RATE = 60, SECONDS = 120 };

/* How many pictures are skipped: bursts of so many seconds, each there when its last picture is; a
 * picture takes cost_s to measure, and a tenth of that to skip. stream: waits are known. */
static int skipped(double burst_s, double cost_s, bool stream)
{
    struct fl_pace p = {.began = false};
    double wall = 0;
    int64_t waits = 0;
    int out = 0;
    for (int i = 0; i < RATE * SECONDS; i++) {
        const double pts = (double)i / RATE;
        const double there = burst_s > 0 ? (floor(pts / burst_s) + 1) * burst_s : pts;
        if (wall < there) {
            wall = there;
            waits += stream;
        }
        const bool skip = fl_pace_skips(&p, wall, pts, waits);
        out += skip;
        wall += skip ? cost_s / 10 : cost_s;
    }
    return out;
}

/* A recorder that flushes every 5 or 10 s is not a machine that is too slow. */
static void bursts_are_not_late(void **state)
{
    (void)state;
    const double bursts[] = {0, 0.5, 2, 5, 10, 30};
    for (int k = 0; k < 6; k++)
        for (double load = 0.1; load < 0.95; load += 0.2)
            assert_int_equal(skipped(bursts[k], load / RATE, true), 0);
}

/* Half again as slow as the stream: a third of the pictures cannot be measured, less what comes of
 * skipping being quick; and never all of them. */
static void a_slow_machine_skips_what_it_must(void **state)
{
    (void)state;
    const double bursts[] = {0, 2, 5, 10};
    for (int k = 0; k < 4; k++) {
        const int n = skipped(bursts[k], 1.5 / RATE, true);
        assert_true(n > RATE * SECONDS / 5 && n < RATE * SECONDS / 2);
    }
    assert_true(skipped(0, 1.5 / RATE, false) > RATE * SECONDS / 5);
}

static void times_that_jump_begin_anew(void **state)
{
    (void)state;
    struct fl_pace p = {.began = false};
    assert_false(fl_pace_skips(&p, 0, 1e6, 0));
    assert_false(fl_pace_skips(&p, 1, 5, 0));
    assert_false(fl_pace_skips(&p, 2, 6, 0));
    assert_true(fl_pace_skips(&p, 7, 7, 0)); /* 4 s behind */
    assert_true(fl_pace_skips(&p, 7, 10.5, 0));
    assert_false(fl_pace_skips(&p, 7, 10.9, 0)); /* 0.1 s */
    assert_true(fl_pace_skips(&p, 12, 11, 0));
    assert_false(fl_pace_skips(&p, 13, 11.1, 1)); /* it was waited for */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bursts_are_not_late),
        cmocka_unit_test(a_slow_machine_skips_what_it_must),
        cmocka_unit_test(times_that_jump_begin_anew),
    };
    return RUN_TESTS(tests);
}
