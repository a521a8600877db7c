/* Input traces as events. */
#ifndef FL_TRACE_TRACE_H
#define FL_TRACE_TRACE_H

#include <stdbool.h>
#include <stddef.h>

struct fl_event {
    double time_s;     /* trace clock */
    float dx, dy;      /* counts since the event before; +x right, +y down (towards the user) */
    float wheel;       /* steps, + away from the user */
    int button, state; /* button number and 1 down / 0 up; button 0: none */
    float stick_x, stick_y; /* deflection -1..1, +x right, +y down; NaN: not told in this event */
};

/* Button numbers: 1 left, 2 right, 3 middle and up for a mouse; a pad's own from this one on. */
#define FL_PAD_BUTTON 17

/* Which axes stick_x and stick_y were, and how their values became -1..1. */
struct fl_stick {
    bool known;
    char name[24];                     /* "Rx, Ry" */
    double low[2], high[2], centre[2]; /* across, down: in the axis' own units */
    double rest_noise; /* half the width that held 95 % of the time at rest, -1..1 */
    bool guessed;      /* the file does not tell the range; taken from its values */
};

/* Something that a reader says of a file that it could read, in one line with a full stop. */
struct fl_trace_note {
    char code[24]; /* as warning codes are: lower case, _ */
    char text[232];
};

enum { FL_TRACE_NOTES = 8 };

struct fl_trace {
    struct fl_event *events; /* n, malloc'ed, times strictly increasing */
    size_t n;
    bool has_motion, has_buttons, has_stick;
    size_t merged, backward, cut; /* rows merged, dropped, cut off at the end */
    size_t lost;                  /* times that a buffer overran before the file was written */
    size_t gaps;           /* silences over 0.1 s between rows of at least 3 counts: lost rows */
    double report_rate_hz; /* 1 / median gap between moving reports; NaN if unknown */
    double start_s, end_s; /* first and last event */
    char format[16];       /* name of the reader */
    struct fl_stick stick;
    struct fl_trace_note note[FL_TRACE_NOTES];
    int n_notes;
};

/* Adds a note, once a code; past FL_TRACE_NOTES it is left out. */
void fl_trace_say(struct fl_trace *t, const char *code, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));
void fl_trace_finish(struct fl_trace *t);

#endif
