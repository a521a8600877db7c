/* Rows lie kind by kind, so that a pass over one figure touches nothing else. */
#include "signal/signals.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

enum { FIRST_ROOM = 4096 }; /* frames */

void fl_signals_init(struct fl_signals *s, const struct fl_grid *grid,
                     const struct fl_signal_kind *const *kinds)
{
    size_t tiles = (size_t)(grid->bands * grid->tiles), n = 0;
    while (kinds[n])
        n++;
    *s = (struct fl_signals){.grid = *grid, .of = FL_NEW(struct fl_signal_rows, n), .n_kinds = n};
    for (size_t k = 0; k < n; k++) {
        s->of[k].kind = kinds[k];
        s->of[k].size = kinds[k]->row_size * (kinds[k]->of_tiles ? tiles : 1);
    }
}

static void grow(struct fl_signals *s)
{
    s->cap = s->cap ? s->cap + s->cap / 2 : FIRST_ROOM;
    for (size_t k = 0; k < s->n_kinds; k++)
        if (s->of[k].size)
            s->of[k].row = fl_realloc(s->of[k].row, s->cap, s->of[k].size);
}

void fl_signals_add(struct fl_signals *s)
{
    if (s->n == s->cap)
        grow(s);
    for (size_t k = 0; k < s->n_kinds; k++)
        if (s->of[k].size)
            memset(s->of[k].row + s->n * s->of[k].size, 0, s->of[k].size);
    s->n++;
}

void fl_signals_blank(struct fl_signals *s, size_t frame)
{
    for (size_t k = 0; k < s->n_kinds; k++) {
        const struct fl_signal_rows *r = &s->of[k];
        if (r->kind->blank)
            r->kind->blank(&s->grid, r->row + frame * r->size);
    }
}

void fl_signals_drop(struct fl_signals *s, const struct fl_signal_kind *kind)
{
    for (size_t k = 0; k < s->n_kinds; k++)
        if (s->of[k].kind == kind) {
            free(s->of[k].row);
            s->of[k].row = NULL;
        }
}

void fl_signals_free(struct fl_signals *s)
{
    for (size_t k = 0; k < s->n_kinds; k++)
        free(s->of[k].row);
    free(s->of);
    *s = (struct fl_signals){0};
}
