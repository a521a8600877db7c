/* CLOCK_MONOTONIC (POSIX.1-2008, clock_gettime) in seconds: a double tells microseconds of it for
 * centuries. */
#include "base/monotonic.h"

#include <time.h>

double fl_now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}
