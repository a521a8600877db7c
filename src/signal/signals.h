/* The signals of one footage: a table of what each kind says of each capture frame.
 *
 * Row i speaks of capture frame i against frame i-1; row 0 says nothing. */
#ifndef FL_SIGNAL_SIGNALS_H
#define FL_SIGNAL_SIGNALS_H

#include <assert.h>

#include "signal/kind.h"

struct fl_signal_rows {
    const struct fl_signal_kind *kind;
    size_t size; /* bytes a frame */
    char *row;   /* of all frames */
};

struct fl_signals {
    struct fl_grid grid;
    size_t n, cap;
    struct fl_signal_rows *of; /* n_kinds, in the order of the table of kinds */
    size_t n_kinds;
};

/* No frames yet. kinds: ends with NULL. */
void fl_signals_init(struct fl_signals *s, const struct fl_grid *grid,
                     const struct fl_signal_kind *const *kinds);
/* One frame more, whose rows are zeros. */
void fl_signals_add(struct fl_signals *s);
/* Makes the frame say nothing, of whatever kind. */
void fl_signals_blank(struct fl_signals *s, size_t frame);
/* Frees what a kind of the table says of all frames: nothing may ask for it any more. */
void fl_signals_drop(struct fl_signals *s, const struct fl_signal_kind *kind);
void fl_signals_free(struct fl_signals *s);

/* What a kind of the table says of the frame, row_size bytes or a tile's row_size times bands ×
 * tiles; rows of frames lie one after another. Kinds have accessors of their own type. */
static inline void *fl_signals_row(const struct fl_signals *s, const struct fl_signal_kind *kind,
                                   size_t frame)
{
    size_t k = 0;
    while (k < s->n_kinds && s->of[k].kind != kind)
        k++;
    assert(k < s->n_kinds);
    assert(s->of[k].row || !s->n); /* not dropped */
    return s->of[k].row + frame * s->of[k].size;
}

#endif
