/* The next speed to try at the desk: sharp thresholds are closed in on as by halving, and what is
 * said of V50 is what the posterior holds. */
#include "study/plan/next_speed.h"

#include "test.h"

#define WANTED 0.1

static void nothing_known_asks_for_the_middle(void **state)
{
    (void)state;
    struct fl_next_speed n;
    struct fl_next_speed_answer a;
    fl_next_speed_init(&n);
    fl_next_speed_answer(&n, WANTED, &a);
    assert_true(isnan(a.v50) && isnan(a.low) && isnan(a.high));
    assert_false(a.enough);
    assert_true(a.next > 180 && a.next < 290); /* the middle of 40 to 1280 is 226 */
    fl_next_speed_finish(&n);
}

static void one_side_alone_leaves_the_other_open(void **state)
{
    (void)state;
    struct fl_next_speed n;
    struct fl_next_speed_answer a, b;
    fl_next_speed_init(&n);
    fl_next_speed_answer(&n, WANTED, &a);
    for (int i = 0; i < 4; i++)
        fl_next_speed_add(&n, 226, false);
    fl_next_speed_answer(&n, WANTED, &b);
    assert_true(isnan(b.v50) && isnan(b.high) && b.low > 100);
    assert_true(b.next > a.next); /* none tripped: faster */
    assert_false(b.enough);
    fl_next_speed_finish(&n);
}

/* A threshold without a slope at all. Halving five octaves down to an interval of a quarter of one
 * takes over four steps at the least (log2(5/0.275) = 4.2). */
static void a_sharp_threshold_is_closed_in_on(void **state)
{
    (void)state;
    for (double v50 = 70; v50 < 800; v50 *= 1.7) {
        struct fl_next_speed n;
        struct fl_next_speed_answer a;
        int flicks = 0;
        fl_next_speed_init(&n);
        for (fl_next_speed_answer(&n, WANTED, &a); !a.enough && flicks < 40; flicks++) {
            fl_next_speed_add(&n, a.next, a.next > v50);
            fl_next_speed_answer(&n, WANTED, &a);
        }
        assert_true(a.enough);
        assert_true(flicks >= 5 && flicks <= 20);
        assert_true(a.low < v50 && v50 < a.high);
        assert_true(a.v50 / v50 < 1.1 && v50 / a.v50 < 1.1);
        assert_true(a.high / a.low <= 1.1 * 1.1 + 1e-9);
        assert_int_equal(n.flicks, flicks);
        fl_next_speed_finish(&n);
    }
}

/* What cannot be a speed says nothing. */
static void no_speed_is_left_out(void **state)
{
    (void)state;
    struct fl_next_speed n;
    fl_next_speed_init(&n);
    fl_next_speed_add(&n, NAN, true);
    fl_next_speed_add(&n, 0, true);
    assert_int_equal(n.flicks, 0);
    fl_next_speed_finish(&n);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_known_asks_for_the_middle),
        cmocka_unit_test(one_side_alone_leaves_the_other_open),
        cmocka_unit_test(a_sharp_threshold_is_closed_in_on),
        cmocka_unit_test(no_speed_is_left_out),
    };
    return RUN_TESTS(tests);
}
