/* Contract of the trace readers, one a format; read_trace.c holds the registry.
 *
 * A reader fills events (times strictly increasing), n, has_*, stick, merged, backward, lost and
 * cut, and says what else there is to say in notes; the registry adds the rest. What follows a
 * place that cannot be read is left out and said; what came before is kept. Memory is bounded
 * whatever the file's length: events stop at FL_TRACE_MOST_EVENTS, all else is streamed. On an
 * error it leaves *out to fl_trace_finish. */
#ifndef FL_TRACE_READER_H
#define FL_TRACE_READER_H

#include <stdio.h>

#include "base/error.h"
#include "trace/columns.h"
#include "trace/trace.h"

struct fl_trace_reader {
    const char *name;
    /* True if the first size bytes of a file look like this format. */
    bool (*recognise)(const char *head, size_t size);
    /* stream stands at the start and can be rewound; path is for messages; columns is for tables,
     * never NULL. */
    enum flinch_code (*read)(struct fl_trace *out, FILE *stream, const char *path,
                             const struct fl_trace_columns *columns, struct fl_error *err);
};

#endif
