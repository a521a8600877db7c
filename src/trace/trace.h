/* Input traces as events. */
#ifndef FL_TRACE_TRACE_H
#define FL_TRACE_TRACE_H

#include <stdbool.h>
#include <stddef.h>

struct fl_event {
    double time_s; /* trace clock */
    float dx, dy;  /* counts since the event before; +x right, +y down (towards the user) */
    float wheel;
    int button, state;      /* button number and 1 down / 0 up; button 0: none */
    float stick_x, stick_y; /* deflection -1..1; NaN if the trace has none */
};

struct fl_trace {
    struct fl_event *events; /* n, malloc'ed, times strictly increasing */
    size_t n;
    bool has_motion, has_buttons, has_stick;
    size_t merged, backward, cut; /* rows merged, dropped, cut off at the end */
    size_t gaps;           /* silences over 0.1 s between rows of at least 3 counts: lost rows */
    double report_rate_hz; /* 1 / median gap between moving reports; NaN if unknown */
    double start_s, end_s; /* first and last event */
    char format[16];       /* name of the reader */
};

void fl_trace_finish(struct fl_trace *t);

#endif
