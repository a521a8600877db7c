/* A clock as a line: the trace's time at a footage time, and back. */
#include "clock/clock.h"

double fl_clock_trace_time(const struct fl_clock *c, double footage_s)
{
    return c->offset_s + (1 + 1e-6 * c->drift_ppm) * footage_s;
}

double fl_clock_footage_time(const struct fl_clock *c, double trace_s)
{
    return (trace_s - c->offset_s) / (1 + 1e-6 * c->drift_ppm);
}
