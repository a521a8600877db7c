/* What the columns of an unknown CSV header may mean, by their names: for a message, never used
 * to read by. */
#ifndef FL_TRACE_CSV_GUESS_H
#define FL_TRACE_CSV_GUESS_H

#include "trace/csv_cell.h"

/* Writes a mapping of the cells as fl_trace_columns_parse reads it. Returns how many cells name
 * something of a trace; what else the mapping holds is by order alone. */
int fl_csv_guess(char *out, size_t size, const struct fl_csv_cell *cell, int n);

#endif
