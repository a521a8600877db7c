/* Block matching along one line: tiles against the picture before, by mean absolute difference.
 *
 * The scene's direction is known, so a tile is searched along it only: unmoved, and at each step up
 * to where two more output frames would have taken it; the best step is refined to parts of a
 * pixel. */
#include "signal/bands.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "signal/scene_shift.h"

/* The search, working px but for the first. Choices. */
static const struct {
    float last_multiple; /* of the scene's mean shift a frame: with synthesis on a row shows one or
                            two output frames more, with it off none, one or two rendered ones */
    float first;         /* not a share of the scene's shift: where the scene has just slowed down,
                            rows that crept by a pixel must find their match, or they would pass for
                            still */
    float longest;       /* a fifth of the working width: past it little is shared */
    float finest_step, coarsest_step; /* the latter finer than the detail that pictures keep ... */
    float steps;                      /* ... and so many to the scene's shift */
    float refined_step;
} search = {.last_multiple = 3.2f,
            .first = 1,
            .longest = 110,
            .finest_step = 1,
            .coarsest_step = 2.5f,
            .steps = 6,
            .refined_step = 0.5f};
/* The code of costs: 23 steps an octave of 1 + 8 m, so that 0 to 263 levels fit a byte and a cost
 * is told to 3 % or to a 260th of a level. */
static const struct {
    float steps, scale;
} cost = {.steps = 23, .scale = 8};

uint8_t fl_cost_code(float m)
{
    float code = cost.steps * log2f(1 + cost.scale * m);
    return (uint8_t)(code < 0 ? 0 : code > 254 ? 254 : code + 0.5f);
}

static float cost_of[UINT8_MAX + 1];

/* Before the program begins: rows ask for costs by the million. */
__attribute__((constructor)) static void fill_costs(void)
{
    for (int code = 0; code <= UINT8_MAX; code++)
        cost_of[code] = (exp2f((float)code / cost.steps) - 1) / cost.scale;
}

float fl_cost(uint8_t code)
{
    return cost_of[code];
}

struct box {
    int x0, x1, y0, y1;
};

static unsigned row_difference(const uint8_t *restrict a, const uint8_t *restrict b, int n)
{
    unsigned sum = 0;
    for (int x = 0; x < n; x++)
        sum += (unsigned)abs(a[x] - b[x]);
    return sum;
}

/* Mean |now(x, y) - before(x - dx, y - dy)| over the part of the box that both pictures show; -1
 * when that is under half of it. */
static float cost_at(const struct fl_grid *g, const uint8_t *before, const uint8_t *now,
                     const struct box *box, int dx, int dy)
{
    int x0 = box->x0 > dx ? box->x0 : dx, x1 = box->x1 < g->width + dx ? box->x1 : g->width + dx;
    int y0 = box->y0 > dy ? box->y0 : dy, y1 = box->y1 < g->height + dy ? box->y1 : g->height + dy;
    if (x1 <= x0 || y1 <= y0 ||
        2 * (x1 - x0) * (y1 - y0) < (box->x1 - box->x0) * (box->y1 - box->y0))
        return -1;
    unsigned sum = 0;
    for (int y = y0; y < y1; y++)
        sum += row_difference(now + (ptrdiff_t)y * g->stride + x0,
                              before + (ptrdiff_t)(y - dy) * g->stride + x0 - dx, x1 - x0);
    return (float)sum / (float)((x1 - x0) * (y1 - y0));
}

struct line {
    float ux, uy, length, step;
};

static void try_shift(const struct fl_grid *g, const uint8_t *before, const uint8_t *now,
                      const struct box *box, const struct line *line, float s, float *best,
                      float *at)
{
    float c = cost_at(g, before, now, box, (int)lrintf(s * line->ux), (int)lrintf(s * line->uy));
    if (c >= 0 && (*best < 0 || c < *best)) {
        *best = c;
        *at = s;
    }
}

/* The best shift to a part of a pixel: mean absolute differences rise about alike on both sides of
 * their least, so two lines of one slope meet there (common practice, no source). Whole pixels
 * along the longer axis only: the line's other part is what rounding left. */
static float fine_shift(const struct fl_grid *g, const uint8_t *before, const uint8_t *now,
                        const struct box *box, const struct line *line, float at, float best)
{
    int dx = (int)lrintf(at * line->ux), dy = (int)lrintf(at * line->uy);
    bool across = fabsf(line->ux) >= fabsf(line->uy);
    float less = cost_at(g, before, now, box, dx - across, dy - !across),
          more = cost_at(g, before, now, box, dx + across, dy + !across);
    float whole = (float)dx * line->ux + (float)dy * line->uy, steeper = fmaxf(less, more) - best;
    if (less < best || more < best || steeper <= 0)
        return whole;
    return whole + (less - more) / (2 * steeper) * (across ? line->ux : line->uy);
}

static void measure_moved(const struct fl_grid *g, const uint8_t *before, const uint8_t *now,
                          const struct box *box, const struct line *line, struct fl_tile *tile)
{
    float best = -1, at = 0;
    float first = search.first;
    float last = fminf(search.last_multiple * line->length, search.longest);
    for (float s = first; s <= last; s += line->step)
        try_shift(g, before, now, box, line, s, &best, &at);
    if (best < 0)
        return;
    if (line->step > search.finest_step) {
        float middle = at;
        for (float s = fmaxf(middle - line->step + search.refined_step, first);
             s < middle + line->step; s += search.refined_step)
            try_shift(g, before, now, box, line, s, &best, &at);
    }
    tile->moved = fl_cost_code(best);
    float parts = FL_STEP_PARTS * fine_shift(g, before, now, box, line, at, best) / line->length;
    tile->steps = (int8_t)(parts > 127 ? 127 : parts < 0 ? 0 : lrintf(parts));
}

void fl_bands_measure(const struct fl_grid *g, const uint8_t *before, const uint8_t *now,
                      float shift_x, float shift_y, struct fl_tile *tiles)
{
    float length = hypotf(shift_x, shift_y);
    bool moving = length >= FL_BANDS_MIN_SHIFT;
    struct line line = {0};
    if (moving)
        line = (struct line){
            shift_x / length, shift_y / length, length,
            fminf(fmaxf(length / search.steps, search.finest_step), search.coarsest_step)};
    for (int b = 0; b < g->bands; b++) {
        for (int t = 0; t < g->tiles; t++) {
            struct box box = {fl_tile_column(g, t), fl_tile_column(g, t + 1), fl_band_row(g, b),
                              fl_band_row(g, b + 1)};
            struct fl_tile *tile = &tiles[b * g->tiles + t];
            tile->moved = FL_COST_NONE;
            tile->steps = 0;
            tile->still = fl_cost_code(cost_at(g, before, now, &box, 0, 0));
            if (moving)
                measure_moved(g, before, now, &box, &line, tile);
        }
    }
}

/* The code of detail: grey levels of code 0, codes an octave; 0.4 to 100 levels fit a byte. */
static const float detail_least = 0.4f, detail_steps = 32;

float fl_detail(uint8_t code)
{
    return logf(detail_least) + (float)code / detail_steps * (float)M_LN2;
}

static uint8_t tile_detail(const uint8_t *luma, ptrdiff_t stride, int rows, int n)
{
    enum { EVERY = 2 }; /* every second row is enough */
    unsigned sum = 0, lines = 0;
    for (int y = 0; y < rows; y += EVERY, lines++)
        sum += row_difference(luma + y * stride, luma + y * stride + 1, n);
    float mean = (float)sum / (float)(lines * (unsigned)n);
    float code = mean > detail_least ? detail_steps * log2f(mean / detail_least) : 0;
    return (uint8_t)(code > 255 ? 255 : code + 0.5f);
}

void fl_band_detail(const struct fl_grid *g, const uint8_t *luma, ptrdiff_t stride, int band,
                    struct fl_tile *tiles)
{
    int y = fl_band_row(g, band) * g->factor, rows = fl_band_row(g, band + 1) * g->factor - y;
    for (int t = 0; t < g->tiles; t++) {
        int x = fl_tile_column(g, t) * g->factor, n = fl_tile_column(g, t + 1) * g->factor - x - 1;
        tiles[t].detail = tile_detail(luma + y * stride + x, stride, rows, n);
    }
}

/* ---- as a signal ---- */

static void see_band(void *state, const struct fl_signal_view *v, int band, void *row)
{
    (void)state;
    const struct fl_grid *g = &v->s->grid;
    fl_band_detail(g, v->luma, v->luma_stride, band, (struct fl_tile *)row + band * g->tiles);
}

/* Of a row that says nothing of the picture before. */
static void forget_moves(const struct fl_grid *grid, void *row)
{
    struct fl_tile *tile = row;
    for (int i = 0; i < grid->bands * grid->tiles; i++)
        tile[i].moved = FL_COST_NONE;
}

static void settle(void *state, const struct fl_signal_view *v, void *row)
{
    (void)state;
    const struct fl_scene_shift *shift = fl_scene_shifts(v->s, v->frame);
    if (v->frame)
        fl_bands_measure(&v->s->grid, v->before, v->now, shift->x, shift->y, row);
    else
        forget_moves(&v->s->grid, row);
}

const struct fl_signal_kind fl_bands_signal = {
    .row_size = sizeof(struct fl_tile),
    .of_tiles = true,
    .band = see_band,
    .settle = settle,
    .blank = forget_moves,
};
