/* A CSV trace that is still being written, or comes through a pipe: rows as they come.
 *
 * Other formats are read when they are whole (read_trace.h). One thread. */
#ifndef FL_TRACE_FOLLOW_TRACE_H
#define FL_TRACE_FOLLOW_TRACE_H

#include "base/error.h"
#include "trace/columns.h"
#include "trace/trace.h"

struct fl_follow_trace; /* opaque */

/* "-" is standard input. columns may be NULL; it and path are borrowed. keep: a file that is not
 * there yet, into which everything is copied; NULL: none. Errors: missing, a folder, a copy that
 * cannot be made. */
enum flinch_code fl_follow_trace_open(struct fl_follow_trace **out, const char *path,
                                      const struct fl_trace_columns *columns, const char *keep,
                                      struct fl_error *err);
/* What has come since the last call, without waiting; *events is the follower's own until the next
 * call. An error says what cannot be read; what comes later may be readable again. */
enum flinch_code fl_follow_trace_poll(struct fl_follow_trace *f, const struct fl_event **events,
                                      size_t *n, struct fl_error *err);
void fl_follow_trace_close(struct fl_follow_trace **f); /* NULL is fine; clears the pointer */

#endif
