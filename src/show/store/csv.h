/* takes/ID-frames.csv, -flips.csv and -flicks.csv: one header row, decimal points, empty cells
 * for unknown numbers, rows end in a line feed. Columns are those of frame_columns.h and of the
 * tables of take_fields.h. */
#ifndef FL_SHOW_STORE_CSV_H
#define FL_SHOW_STORE_CSV_H

#include <stdio.h>

#include "show/store/writer.h"

extern const struct fl_writer fl_csv_writer;

/* folder/takes/ID<ending>, malloc'ed: "-frames.csv", ".json". */
char *fl_take_path(const char *folder, const char *id, const char *ending);
/* The header rows. */
void fl_put_frames_header(FILE *out);
void fl_put_flips_header(FILE *out);

/* Read back into t. t->frames and t->quantity (non-NULL: wanted, frames long) are set before. */
enum flinch_code fl_frames_load(struct fl_take *t, const char *path, struct fl_error *err);
enum flinch_code fl_flips_load(struct fl_take *t, const char *path, size_t expected,
                               struct fl_error *err);

#endif
