#include "base/monotonic.h"

#include <time.h>

#include "test.h"

/* Between two readings of the system's own clock, and never back. */
static void tells_the_clock_that_never_goes_back(void **state)
{
    (void)state;
    for (int i = 0; i < 1000; i++) {
        struct timespec before, after;
        clock_gettime(CLOCK_MONOTONIC, &before);
        const double now = fl_now_s(), later = fl_now_s();
        clock_gettime(CLOCK_MONOTONIC, &after);
        /* to a microsecond, of which a double holds far less than a part in a century */
        assert_true(now >= (double)before.tv_sec + 1e-9 * (double)before.tv_nsec - 1e-6);
        assert_true(later >= now);
        assert_true(later <= (double)after.tv_sec + 1e-9 * (double)after.tv_nsec + 1e-6);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(tells_the_clock_that_never_goes_back)};
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
