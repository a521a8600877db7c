/* By the rule of three, by hand. */
#include "cli/time_left.h"

#include "test.h"

static void reads(double elapsed_s, double done, const char *text)
{
    char buf[FL_LEFT_SIZE];
    assert_string_equal(fl_time_left(buf, elapsed_s, done), text);
}

static void the_pace_until_now_goes_on(void **state)
{
    (void)state;
    reads(30, 0.5, "30 s left");
    reads(10, 0.25, "30 s left");
    reads(60, 0.2, "4 min left");
    reads(3600, 1 / 3.5, "2.5 h left");
}

static void too_early_or_at_the_end_nothing_is_said(void **state)
{
    (void)state;
    reads(1, 0.5, "");
    reads(30, 0.01, "");
    reads(30, 1, "");
    reads(30, -1, "");
    reads(3e6, 0.02, ""); /* a clock that jumped */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_pace_until_now_goes_on),
        cmocka_unit_test(too_early_or_at_the_end_nothing_is_said),
    };
    return RUN_TESTS(tests);
}
