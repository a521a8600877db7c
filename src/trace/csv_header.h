/* The header of a CSV trace: which cell of a row is what. */
#ifndef FL_TRACE_CSV_HEADER_H
#define FL_TRACE_CSV_HEADER_H

#include "base/error.h"
#include "trace/columns.h"
#include "trace/trace.h"

enum { FL_CSV_CELLS = 256 };

struct fl_csv_header {
    char separator;                      /* comma, semicolon or tab */
    int n;                               /* cells; 0: not read yet */
    enum fl_column column[FL_CSV_CELLS]; /* of each cell; FL_TRACE_COLUMNS: not used */
    bool has[FL_TRACE_COLUMNS];
    int time; /* the time column */
};

/* Reads the header from [line, end). The separator is the one by which most columns are known.
 * Columns that mean nothing are left out and noted in *out. The error for a header that cannot be
 * used lists its columns and shows the mapping that would read it; path and number are for
 * messages. */
enum flinch_code fl_csv_header_read(struct fl_csv_header *h, struct fl_trace *out, const char *line,
                                    const char *end, const struct fl_trace_columns *columns,
                                    const char *path, size_t number, struct fl_error *err);

#endif
