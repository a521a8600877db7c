/* The kinds of signals that there are, and the columns of figures that they give each frame.
 *
 * From the columns follow ID-frames.csv, its reader and rounding, the page's readout, the public
 * library's columns and the list in docs/files.md (show/store/frame_columns.h). */
#ifndef FL_SIGNAL_KINDS_H
#define FL_SIGNAL_KINDS_H

#include "signal/rows.h"

/* Ends with NULL; a kind stands below those that it rests on. */
extern const struct fl_signal_kind *const fl_signal_kinds[];

/* The columns of all kinds, one after another. */
size_t fl_signal_column_count(void);
const struct fl_signal_column *fl_signal_column(size_t i);

/* The values of all columns of the kinds of s, s->n each; ends with NULL. */
float **fl_signal_columns_find(const struct fl_signals *s, const struct fl_rows *r);
void fl_signal_columns_free(float ***columns); /* NULL is fine; clears the pointer */
/* Of such, those of columns[i] of a kind. */
float *fl_signal_values(float *const *columns, const struct fl_signal_kind *kind, int i);

#endif
