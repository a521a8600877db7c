/* What a signal is: a row of figures for each capture frame, found while the pictures pass.
 *
 * A kind of signal is a `const struct fl_signal_kind` in a file of its own and a row in
 * fl_signal_kinds (signal/kinds.c). The stream (signal/stream.h) shows it each frame in order, up
 * to three times:
 *
 *   band     each band of the native picture from the top, while its rows are in the cache: for
 *            what needs native pixels
 *   push     the frame, once its working picture is made
 *   settle   the frame again, when FL_SIGNAL_AHEAD more have been pushed or the footage has ended:
 *            for what rests on frames to come, or on kinds that do
 *
 * Each may fill in the frame's row, which starts as zeros. The rows of kinds that stand before it
 * in the table hold what these have said of the same frame. What a kind has to remember it keeps in
 * its state. It must hold no native picture, and cost little where nothing moves. One thread. */
#ifndef FL_SIGNAL_KIND_H
#define FL_SIGNAL_KIND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "signal/picture.h"

struct fl_signals; /* signal/signals.h */
struct fl_rows;    /* signal/rows.h */

enum { FL_SIGNAL_AHEAD = 3 }; /* frames */

/* What a kind is shown of a frame. */
struct fl_signal_view {
    const struct fl_signals *s;  /* its grid, and all rows up to the newest frame's, s->n - 1 */
    size_t frame;                /* the frame's number */
    bool key;                    /* coded as a key frame; not when it settles */
    const uint8_t *luma;         /* native picture; NULL when it settles */
    ptrdiff_t luma_stride;       /* bytes a row */
    const uint8_t *before, *now; /* working pictures, of grid.stride bytes a row: of the frame
                                    before, NULL at the first; of this frame, not yet in band() */
};

/* A figure that each capture frame has in the files: a column of ID-frames.csv. */
struct fl_signal_column {
    const char *name;    /* in the header row, with its unit; NULL ends a list */
    const char *unit;    /* for people; NULL: none */
    const char *label;   /* for people, on the page; NULL: not there */
    const char *meaning; /* one sentence */
    size_t offset;       /* of the float in the kind's row; not used by kinds with finish() */
};

/* What is not said is zero or NULL: no such thing. */
struct fl_signal_kind {
    size_t row_size;   /* bytes a frame */
    bool of_tiles;     /* bytes a tile instead: bands × tiles of them a frame, row-major */
    size_t state_size; /* bytes; zeros when open() is called */

    void (*open)(void *state, const struct fl_grid *grid);
    void (*band)(void *state, const struct fl_signal_view *v, int band, void *row);
    void (*push)(void *state, const struct fl_signal_view *v, void *row);
    void (*settle)(void *state, const struct fl_signal_view *v, void *row);
    void (*close)(void *state);

    /* Makes the row of a frame outside the spans in use say nothing. */
    void (*blank)(const struct fl_grid *grid, void *row);

    const struct fl_signal_column *columns;
    /* Fills the columns, column[i] that of columns[i], one value a frame, NaN where unknown, once
     * the rows of all frames are judged. Without it they are copied from the kind's rows. */
    void (*finish)(const struct fl_signals *s, const struct fl_rows *r, float *const *column);
};

#endif
