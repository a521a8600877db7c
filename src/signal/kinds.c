/* The table of signals: whatever is done with all of them goes by its rows. */
#include "signal/kinds.h"

#include <stdlib.h>

#include "base/mem.h"
#include "signal/bands.h"
#include "signal/block_shift.h"
#include "signal/change.h"
#include "signal/interlace.h"
#include "signal/key_frames.h"
#include "signal/middle.h"
#include "signal/scene_shift.h"
#include "signal/shift.h"

const struct fl_signal_kind *const fl_signal_kinds[] = {
    &fl_key_frames_signal, &fl_field_lag_signal,   &fl_scene_shift_signal,
    &fl_bands_signal,      &fl_block_shift_signal, &fl_middle_signal,
    &fl_change_signal,     &fl_shift_signal,       NULL,
};

static size_t columns_of(const struct fl_signal_kind *kind)
{
    size_t n = 0;
    while (kind->columns && kind->columns[n].name)
        n++;
    return n;
}

size_t fl_signal_column_count(void)
{
    size_t n = 0;
    for (size_t k = 0; fl_signal_kinds[k]; k++)
        n += columns_of(fl_signal_kinds[k]);
    return n;
}

const struct fl_signal_column *fl_signal_column(size_t i)
{
    size_t k = 0;
    for (; i >= columns_of(fl_signal_kinds[k]); k++)
        i -= columns_of(fl_signal_kinds[k]);
    return &fl_signal_kinds[k]->columns[i];
}

static void copy_column(const struct fl_signals *s, const struct fl_signal_kind *kind, size_t i,
                        float *to)
{
    for (size_t frame = 0; frame < s->n; frame++) {
        const char *row = fl_signals_row(s, kind, frame);
        to[frame] = *(const float *)(const void *)(row + kind->columns[i].offset);
    }
}

float **fl_signal_columns_find(const struct fl_signals *s, const struct fl_rows *r)
{
    float **all = NULL, *column;
    size_t n = 0, cap = 0;
    for (size_t k = 0; k < s->n_kinds; k++) {
        const struct fl_signal_kind *kind = s->of[k].kind;
        size_t own = columns_of(kind);
        for (size_t i = 0; i < own; i++) {
            column = FL_NEW(float, s->n);
            FL_PUSH(all, n, cap, column);
            if (!kind->finish)
                copy_column(s, kind, i, column);
        }
        if (kind->finish)
            kind->finish(s, r, all + n - own);
    }
    FL_PUSH(all, n, cap, NULL);
    return all;
}

void fl_signal_columns_free(float ***columns)
{
    for (float **column = *columns; column && *column; column++)
        free(*column);
    free(*columns);
    *columns = NULL;
}

float *fl_signal_values(float *const *columns, const struct fl_signal_kind *kind, int i)
{
    size_t at = (size_t)i;
    for (size_t k = 0; fl_signal_kinds[k] != kind; k++) {
        assert(fl_signal_kinds[k]);
        at += columns_of(fl_signal_kinds[k]);
    }
    return columns[at];
}
