/* Input reports → events; what every reader of a binary format ends with.
 *
 * Sticks are known only once the whole file was seen, so a file with pads is gone through twice:
 * first everything is taken and the axes are surveyed, then, if there is a stick, once more with
 * its choice. */
#ifndef FL_TRACE_REPORT_EVENTS_H
#define FL_TRACE_REPORT_EVENTS_H

#include "trace/event_list.h"
#include "trace/input_report.h"
#include "trace/stick_survey.h"

struct fl_report_events {
    struct fl_event_list list;
    struct fl_stick_survey *survey;
    struct fl_stick_choice choice;
    double reach_s;   /* how far back a report is sorted in */
    bool second_pass; /* choice is made */
};

void fl_report_events_init(struct fl_report_events *e, struct fl_trace *out, double reach_s);
void fl_report_events_add(struct fl_report_events *e, const struct fl_input_report *report);
/* After the first pass: true if a second one is needed; the events are then taken back. */
bool fl_report_events_again(struct fl_report_events *e);
/* Says in the trace what was found; sets has_* and stick. */
void fl_report_events_finish(struct fl_report_events *e);

#endif
