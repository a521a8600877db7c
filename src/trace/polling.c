/* A hand in full motion has counts for every poll; a longer step between two such reports is a
 * whole number of turns, all but the last of them missed. */
#include "trace/polling.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/robust.h"

enum { MOVING_COUNTS = 3, LEAST_TURNS = 100, SAMPLES = 200000 };
static const double silence_s = 0.1;

static bool moving(const struct fl_event *e)
{
    return fabs((double)e->dx) + fabs((double)e->dy) >= MOVING_COUNTS;
}

struct fl_polling fl_polling_none(void)
{
    return (struct fl_polling){FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, 0};
}

struct fl_polling fl_polling_find(const struct fl_trace *t, double report_rate_hz)
{
    struct fl_polling p = fl_polling_none();
    double *gap = FL_NEW(double, SAMPLES), *late = FL_NEW(double, SAMPLES);
    size_t n = 0, came = 0;
    for (size_t i = 1; i < t->n && n < SAMPLES; i++) {
        const double d = t->events[i].time_s - t->events[i - 1].time_s;
        if (d >= silence_s || !moving(&t->events[i]) || !moving(&t->events[i - 1]))
            continue;
        const double turns = fmax(1, rint(d * report_rate_hz));
        gap[n] = d / turns;
        late[n++] = d - turns / report_rate_hz;
        p.turns += (size_t)turns;
        came++;
    }
    if (p.turns >= LEAST_TURNS) {
        p.found_hz = 1 / fl_median(gap, n);
        p.jitter_us = 1e6 * fl_mad_sigma(late, n);
        p.missed = 1 - (double)came / (double)p.turns;
    } else {
        p.turns = 0;
    }
    free(gap);
    free(late);
    return p;
}
