/* A clock as a line: the trace's time at a footage time, and back. */
#include "clock/clock.h"

#include <stdio.h>

void fl_clock_refuse(struct fl_clock *c, const char *why)
{
    c->known = false;
    c->offset_s = c->drift_ppm = c->residual_ms = FL_UNKNOWN;
    c->gain_x = c->gain_y = FL_UNKNOWN;
    snprintf(c->refused, sizeof c->refused, "%s", why);
}

double fl_clock_trace_time(const struct fl_clock *c, double footage_s)
{
    return c->offset_s + (1 + 1e-6 * c->drift_ppm) * footage_s;
}

double fl_clock_footage_time(const struct fl_clock *c, double trace_s)
{
    return (trace_s - c->offset_s) / (1 + 1e-6 * c->drift_ppm);
}
