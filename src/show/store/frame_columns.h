/* The columns of takes/ID-frames.csv, one row each.
 *
 * From the rows follow the file as it is written, read back and rounded, what the page's readout
 * shows of a frame, the public library's columns and the list in docs/files.md. Those of signals
 * are the rows of signal/kinds.h, those of motion quantities, which come last, of
 * fl_quantity_info. The shift's columns have a settled place, those of other signals follow the
 * confidence. */
#ifndef FL_SHOW_STORE_FRAME_COLUMNS_H
#define FL_SHOW_STORE_FRAME_COLUMNS_H

#include "show/store/fields.h"

enum fl_frame_column_kind {
    FL_COLUMN_NUMBER, /* the frame's own */
    FL_COLUMN_TIME,   /* double, six decimals */
    FL_COLUMN_FIGURE, /* float, seven significant digits */
    FL_COLUMN_STATE   /* enum fl_state, by name */
};

struct fl_frame_column {
    char name[FL_COLUMN_SIZE]; /* in the header row, with its unit */
    enum fl_frame_column_kind kind;
    size_t offset;       /* in struct fl_take, of the pointer to the values; NULL: none known */
    bool of_signals;     /* in struct fl_take's `signal` instead */
    bool of_states;      /* states.n_frames values, malloc'ed; else `frames`, in the arena */
    bool of_quantity;    /* there only when the take has measured it */
    const char *unit;    /* for people; "": none, and so it may be left out of a row */
    const char *label;   /* for people, on the page; NULL: not there */
    const char *meaning; /* one sentence */
};

/* All columns in the file's order, malloc'ed; *n becomes their number. */
struct fl_frame_column *fl_frame_columns(size_t *n);

/* Frame i's value: a state as its number, FL_STATE_UNSEEN or NaN where not known. */
double fl_frame_value(const struct fl_take *t, const struct fl_frame_column *c, long i);
/* Makes room for the column's values, which are unknown until they are set. A quantity only where
 * its pointer is not NULL. */
void fl_frame_column_alloc(struct fl_take *t, const struct fl_frame_column *c);
void fl_frame_set(struct fl_take *t, const struct fl_frame_column *c, long i, double value);
/* Rounds all values to what the file holds. */
void fl_frame_column_round(struct fl_take *t, const struct fl_frame_column *c);

#endif
