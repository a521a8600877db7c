/* Cells of a line of CSV as loggers write it. */
#ifndef FL_TRACE_CSV_CELL_H
#define FL_TRACE_CSV_CELL_H

#include <stdbool.h>
#include <stddef.h>

struct fl_csv_cell {
    const char *text; /* not terminated */
    size_t size;
};

/* Next cell of [*at, end): blanks around it and a pair of double quotes taken off; a separator
 * within quotes is text (RFC 4180). *at is NULL after the last. Doubled quotes stay doubled. */
struct fl_csv_cell fl_csv_next(const char **at, const char *end, char separator);
bool fl_csv_is(struct fl_csv_cell cell, const char *text);
/* One number; with decimal_comma, a comma stands for the point. See parse_number.h. */
bool fl_csv_number(struct fl_csv_cell cell, bool decimal_comma, double *value);

#endif
