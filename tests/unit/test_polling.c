/* Polling of a staged mouse: rate, jitter and missed turns come out as put in. */
#include "trace/polling.h"

#include <stdlib.h>

#include "base/mem.h"
#include "maths/random.h"
#include "test.h"

/* n turns at a rate; some missed, each late by a normal error; a rest after each 50. */
static struct fl_trace polled(long n, double rate_hz, double missed, double jitter_s)
{
    struct fl_trace t = {0};
    struct fl_random r;
    size_t cap = 0;
    fl_random_seed(&r, 1);
    double at = 10;
    for (long i = 0; i < n; i++) {
        at += 1 / rate_hz;
        if (i % 50 == 49)
            at += 0.7; /* the hand rests */
        if (i % 50 != 0 && i % 50 != 49 && fl_random_uniform(&r) < missed)
            continue;
        const struct fl_event e = {.time_s = at + jitter_s * fl_random_normal(&r),
                                   .dx = i % 50 == 49 || i % 50 == 0 ? 1 : 9};
        FL_PUSH(t.events, t.n, cap, e);
    }
    return t;
}

static void what_is_put_in_comes_out(void **state)
{
    (void)state;
    struct fl_trace t = polled(40000, 1000, 0, 0);
    struct fl_polling p = fl_polling_find(&t, 1000);
    assert_near(p.found_hz, 1000, 1e-6);
    assert_near(p.missed, 0, 1e-12);
    assert_near(p.jitter_us, 0, 1e-3);
    fl_trace_finish(&t);
    t = polled(40000, 1000, 0.1, 20e-6);
    p = fl_polling_find(&t, 1000);
    assert_near(p.found_hz, 1000, 0.002);
    assert_near(p.missed, 0.1, 0.008); /* three standard errors of 10 % of 38,000 are 0.005 */
    assert_near(p.jitter_us, 20 * sqrt(2), 1 / 28.0); /* of a difference of two */
    p = fl_polling_find(&t, 2000); /* said to be twice as fast: every other turn is missed */
    assert_near(p.missed, 0.55, 0.01);
    fl_trace_finish(&t);
}

static void too_little_motion_tells_nothing(void **state)
{
    (void)state;
    struct fl_trace t = polled(60, 1000, 0, 0);
    const struct fl_polling p = fl_polling_find(&t, 1000);
    assert_true(isnan(p.found_hz) && isnan(p.missed) && p.turns == 0);
    fl_trace_finish(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_put_in_comes_out),
        cmocka_unit_test(too_little_motion_tells_nothing),
    };
    return RUN_TESTS(tests);
}
