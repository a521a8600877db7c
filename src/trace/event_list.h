/* Reports → the events of a trace: in order of time, one event a report.
 *
 * Reports of one time are one report: counts and steps are summed, the later stick position
 * stands. A second button at one time becomes an event of its own, as close behind as a double
 * can say. What runs backward by up to a reach is sorted in (streams of several devices come
 * interleaved), what runs back further is dropped and counted. */
#ifndef FL_TRACE_EVENT_LIST_H
#define FL_TRACE_EVENT_LIST_H

#include "trace/trace.h"

/* An hour at 8,000 reports a second, the longest trace that can be lined up; a longer one is read
 * up to there. */
#define FL_TRACE_MOST_EVENTS ((size_t)8000 * 3600)

struct fl_event_list {
    struct fl_trace *out; /* events, n, merged and backward are filled */
    size_t cap;
    double last_s; /* latest time so far */
    bool full;     /* holds FL_TRACE_MOST_EVENTS and said so: stop reading */
};

/* e.time_s must be finite. */
void fl_event_list_add(struct fl_event_list *list, struct fl_event e, double reach_s);

#endif
