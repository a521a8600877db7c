/* Which column of a CSV trace is what, where its header does not say so in flinch's own names.
 *
 * Own names: time_s, time_ms, time_us or time_ns; dx, dy; x, y (positions instead of steps); wheel;
 * button, state; stick_x, stick_y. */
#ifndef FL_TRACE_COLUMNS_H
#define FL_TRACE_COLUMNS_H

#include <stddef.h>

#include "base/error.h"

enum fl_column {
    FL_TRACE_COLUMN_TIME_S,
    FL_TRACE_COLUMN_TIME_MS,
    FL_TRACE_COLUMN_TIME_US,
    FL_TRACE_COLUMN_TIME_NS,
    FL_TRACE_COLUMN_DX,
    FL_TRACE_COLUMN_DY,
    FL_TRACE_COLUMN_X,
    FL_TRACE_COLUMN_Y,
    FL_TRACE_COLUMN_WHEEL,
    FL_TRACE_COLUMN_BUTTON,
    FL_TRACE_COLUMN_STATE,
    FL_TRACE_COLUMN_STICK_X,
    FL_TRACE_COLUMN_STICK_Y,
    FL_TRACE_COLUMNS
};

extern const char *const fl_column_names[FL_TRACE_COLUMNS];

/* The file's name of each column; "": not mapped. All zero is no mapping. */
struct fl_trace_columns {
    char named[FL_TRACE_COLUMNS][64];
};

/* True if anything is mapped. */
bool fl_trace_columns_any(const struct fl_trace_columns *c);
/* Maps one column: known is an own name, named the file's, both without quotes. FLINCH_ERR_USAGE
 * for an own name that there is not, one given twice, a second time column, an empty or overlong
 * name. */
enum flinch_code fl_trace_columns_map(struct fl_trace_columns *c, const char *known,
                                      const char *named, struct fl_error *err);
/* Reads "time_ms=Stamp (ms),dx=Move X,dy=Move Y"; a name that holds a comma stands in double
 * quotes. *c need not be cleared before. */
enum flinch_code fl_trace_columns_parse(struct fl_trace_columns *c, const char *text,
                                        struct fl_error *err);

#endif
