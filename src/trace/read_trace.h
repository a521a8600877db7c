/* A file → its trace, by whichever reader knows its content; names of files say nothing.
 *
 * What every reader does. Reports of one time are one report and are summed; two buttons at one
 * time stay two events, the second one rounding step later. What runs backward in time is dropped
 * and counted (in streams of several devices: by more than a second; by less it is sorted in).
 * What is cut off at the end is dropped and counted. Where a file stops making sense, what came
 * before is kept and the place is said in a note. Silences in the middle of motion are counted. No
 * more than an hour at 8,000 reports a second is read (FL_TRACE_MOST_EVENTS).
 *
 * Tables (CSV). Comma, semicolon or tab is found; with the latter two a comma may stand for the
 * decimal point. Cells may stand in quotes, lines end in LF or CRLF; a byte order mark, lines that
 * begin with # or // and empty ones are skipped. The header names the columns, in flinch's own
 * names or in those of a mapping (columns.h); others are left out with one note. Positions (x, y)
 * become steps, with a note. A mapped stick may come in units of its own, whose range and centre
 * are then found. A cell that is no number is an error with its line (inf and nan are none); an
 * empty cell says that the row has nothing of that kind. A last line without its line end may be
 * half of one; so may be what begins with a zero byte.
 *
 * Linux evdev streams: evdev.c. USB captures: usb_capture.c. */
#ifndef FL_TRACE_READ_TRACE_H
#define FL_TRACE_READ_TRACE_H

#include "base/error.h"
#include "trace/columns.h"
#include "trace/trace.h"

/* On an error *out is empty. */
enum flinch_code fl_trace_read(struct fl_trace *out, const char *path, struct fl_error *err);
/* The same with names of columns for tables; NULL: none. */
enum flinch_code fl_trace_read_as(struct fl_trace *out, const char *path,
                                  const struct fl_trace_columns *columns, struct fl_error *err);

/* A trace of n events that are there already, at least one, times strictly increasing; takes them
 * over. */
void fl_trace_of_events(struct fl_trace *out, struct fl_event *events, size_t n);

#endif
