/* Nothing but the rule of three: takes differ, so more digits would promise too much. */
#include "cli/time_left.h"

#include <math.h>
#include <stdio.h>

#define LEAST_S 2.0
#define LEAST_DONE 0.02

const char *fl_time_left(char buf[FL_LEFT_SIZE], double elapsed_s, double done)
{
    buf[0] = 0;
    if (!(elapsed_s >= LEAST_S && done >= LEAST_DONE && done < 1))
        return buf;
    const double s = elapsed_s * (1 - done) / done;
    if (s < 90)
        snprintf(buf, FL_LEFT_SIZE, "%.0f s left", ceil(s));
    else if (s < 90 * 60)
        snprintf(buf, FL_LEFT_SIZE, "%.0f min left", s / 60);
    else if (s < 1e6)
        snprintf(buf, FL_LEFT_SIZE, "%.1f h left", s / 3600);
    return buf;
}
