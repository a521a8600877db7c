/* How evenly a mouse was polled, against the rate that it is said to have. */
#ifndef FL_TRACE_POLLING_H
#define FL_TRACE_POLLING_H

#include "trace/trace.h"

struct fl_polling {
    double found_hz;  /* 1 / median time a turn while the hand moves; NaN if unknown */
    double jitter_us; /* robust spread of a report about its turn */
    double missed;    /* share of the turns in motion at which no report came; 0 to 1 */
    size_t turns;     /* looked at */
};

/* fl_polling_none: unknown.
 *
 * Turns are counted only where the hand surely moves: between reports of at least 3 counts that lie
 * less than 0.1 s apart. All NaN and no turns where there are under 100 of them. */
struct fl_polling fl_polling_none(void);
struct fl_polling fl_polling_find(const struct fl_trace *trace, double report_rate_hz);

#endif
