/* The mean of what the tiles differ by unmoved (signal/bands.h), which are about of one size. */
#include "signal/change.h"

#include <math.h>

#include "signal/bands.h"

static void settle(void *state, const struct fl_signal_view *v, void *row)
{
    (void)state;
    const struct fl_tile *tile = fl_tiles(v->s, v->frame);
    int n = v->s->grid.bands * v->s->grid.tiles;
    float sum = 0;
    for (int i = 0; i < n; i++)
        sum += fl_cost(tile[i].still);
    *(float *)row = v->frame ? sum / (float)n : NAN;
}

static void blank(const struct fl_grid *grid, void *row)
{
    (void)grid;
    *(float *)row = NAN;
}

const struct fl_signal_kind fl_change_signal = {
    .row_size = sizeof(float), .settle = settle, .blank = blank};
