/* Contract of the trace readers, one a format; read_trace.c holds the registry.
 *
 * A reader fills events (times strictly increasing), n, has_*, merged, backward and cut; the
 * registry adds the rest. On an error it leaves *out to fl_trace_finish. */
#ifndef FL_TRACE_READER_H
#define FL_TRACE_READER_H

#include <stdio.h>

#include "base/error.h"
#include "trace/trace.h"

struct fl_trace_reader {
    const char *name;
    /* True if the first size bytes of a file look like this format. */
    bool (*recognise)(const char *head, size_t size);
    /* stream stands at the start; path is for messages. */
    enum flinch_code (*read)(struct fl_trace *out, FILE *stream, const char *path,
                             struct fl_error *err);
};

extern const struct fl_trace_reader fl_trace_csv;

#endif
