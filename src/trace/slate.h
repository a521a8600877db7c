/* The slate: a few clicks, then a quick shake, by which recordings are lined up.
 *
 * Clicks of the left button, each within 1.5 s of the one before; the shake begins within 5 s of
 * the last and turns round at least four times, each stroke within 0.3 s of the one before. */
#ifndef FL_TRACE_SLATE_H
#define FL_TRACE_SLATE_H

#include "trace/trace.h"

enum { FL_SLATE_CLICKS = 3 };

struct fl_slate {
    bool found;
    double first_click_s, last_click_s; /* trace time, of the button going down */
    double shake_start_s, shake_end_s;  /* first and last turn of direction */
    int clicks, turns;
};

/* The first slate of at least so many clicks; FL_SLATE_CLICKS where 0. With a stick in place of a
 * mouse the shake is the stick's. */
struct fl_slate fl_slate_find(const struct fl_trace *trace, int clicks);

#endif
