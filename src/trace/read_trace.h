/* A file → its trace, by whichever reader knows the format.
 *
 * Stated behaviour of the CSV reader: rows at one time are one report and are summed;
 * a row whose time runs backward is dropped and counted; an unknown column is an error;
 * a cell that is no number is an error with its line (inf and nan are none); an empty cell says
 * that the row has nothing of that kind; a last line without its line end may be half of one and
 * is dropped and counted. Cells may stand in quotes, lines end in LF or CRLF, a byte order mark
 * is skipped. Two buttons at one time stay two events, the second one rounding step later. */
#ifndef FL_TRACE_READ_TRACE_H
#define FL_TRACE_READ_TRACE_H

#include "base/error.h"
#include "trace/trace.h"

/* On an error *out is empty. */
enum flinch_code fl_trace_read(struct fl_trace *out, const char *path, struct fl_error *err);

#endif
