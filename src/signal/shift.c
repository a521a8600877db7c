/* The whole picture's shift and the rows' mean shift, each with what speaks against it.
 *
 * Near things and the edges of a wide view move further than its middle: how much is learned tile
 * by tile over the take, in which tears average out, and taken out of the rows' mean. A shift is
 * only as good as the share of tiles that move along it. */
#include "signal/shift.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/robust.h"
#include "signal/bands.h"
#include "signal/change.h"
#include "signal/scene_shift.h"

/* Which of the two can tell, and when both say the same. Lengths in working px. Choices, but for
 * the first two, which follow from the rows' search. */
static const struct {
    float rows_reach; /* rows are searched no further (signal/bands.c): past it the whole picture */
    float drift;      /* a shift under a pixel is too small for rows to show */
    float sure;       /* quality from which a resting picture's drift is taken, 0..1 */
    float same, share; /* the two agree within so much, and so much of the shift: what the rows'
                          coarser search leaves */
    float still;       /* verdict of a band that stood, as in signal/rows.c */
    float inside;      /* shifts that what shows must have lain within the picture a frame before */
} model = {.rows_reach = 100,
           .drift = 1,
           .sure = 0.5f,
           .same = 0.25f,
           .share = 0.03f,
           .still = 0.5f,
           .inside = 1.5f};
/* What speaks against a shift: shares of tiles up to which it stands, and from which it falls.
 * Choices. */
static const struct {
    float noises, drift_px; /* a drift leaves a tile no more than so many times the noise and what
                               its detail makes of the drift and this much more, working px */
    float left_none, left_all;   /* tiles left over by a drift */
    float changed;               /* noises from which a tile changed */
    float moved, unmoved, still; /* cost moved over unmoved: below, it goes along; between the next
                                    two it does not; above, its row stood still */
    float apart_none, apart_all; /* tiles that do not go along */
} against = {.noises = 3,
             .drift_px = 0.02f,
             .left_none = 0.15f,
             .left_all = 0.35f,
             .changed = 4,
             .moved = 0.8f,
             .unmoved = 0.9f,
             .still = 1.5f,
             .apart_none = 0.35f,
             .apart_all = 0.5f};
/* Frames that teach how fast tiles are: quality 0..1, working px a frame. Choices. */
static const struct {
    float quality, px;
} teaching = {.quality = 0.6f, .px = 3};
enum { TELLING_PART = 4 }; /* of a frame's bands, one in so many must tell */

struct judge {
    const struct fl_signals *s;
    const struct fl_rows *r;
    float noise;   /* grey levels by which tiles differ at rest */
    float *factor; /* bands × tiles: how fast a tile moves when the far scene at the middle moves by
                      1 */
};

/* NULL for overlay. */
static const struct fl_tile *tile_at(const struct judge *j, size_t frame, int band, int t)
{
    bool scene = j->r->tile_weight[band * j->s->grid.tiles + t] > 0;
    return scene ? fl_tile_at(j->s, frame, band, t) : NULL;
}

/* Whether what shows at [from, to) of n lay within the picture a frame before, and half as far
 * again. */
static bool was_inside(int from, int to, int n, float shift)
{
    shift *= model.inside;
    return (float)from - shift >= 0 && (float)to - shift <= (float)n;
}

static bool band_was_inside(const struct judge *j, size_t frame, int band)
{
    const struct fl_grid *g = &j->s->grid;
    return was_inside(fl_band_row(g, band), fl_band_row(g, band + 1), g->height,
                      fl_scene_shifts(j->s, frame)->y);
}

/* A scene tile that moved and was inside the picture before; NULL if not. */
static const struct fl_tile *moved_tile(const struct judge *j, size_t frame, int band, int t)
{
    const struct fl_grid *g = &j->s->grid;
    const struct fl_tile *tile = tile_at(j, frame, band, t);
    bool moved = tile && tile->moved < tile->still && tile->steps > 0;
    return moved && was_inside(fl_tile_column(g, t), fl_tile_column(g, t + 1), g->width,
                               fl_scene_shifts(j->s, frame)->x)
               ? tile
               : NULL;
}

static bool fast_and_sure(const struct fl_signals *s, size_t i)
{
    const struct fl_scene_shift *shift = fl_scene_shifts(s, i);
    return shift->quality > teaching.quality && hypotf(shift->x, shift->y) > teaching.px;
}

/* As a multiple of the scene's shift; NaN where the band cannot tell. */
static float band_move(const struct judge *j, size_t frame, int band)
{
    float verdict = j->r->verdict[frame * (size_t)j->r->bands + (size_t)band];
    if (verdict == 0 || !band_was_inside(j, frame, band))
        return NAN;
    if (verdict > model.still)
        return 0;
    double steps[FL_TILES];
    size_t n = 0;
    for (int t = 0; verdict < 0 && t < j->s->grid.tiles; t++) {
        const struct fl_tile *tile = moved_tile(j, frame, band, t);
        if (tile)
            steps[n++] = (double)tile->steps / (double)j->factor[band * j->s->grid.tiles + t];
    }
    return n ? (float)fl_median(steps, n) / FL_STEP_PARTS : NAN;
}

/* Mean shift of a frame's rows, as a multiple of the scene's; bands that cannot tell take after the
 * nearest that can. NaN when fewer than a quarter can. */
static float mean_of_rows(const struct judge *j, size_t frame)
{
    float sum = 0, last_move = 0;
    int known = 0, last = -1, bands = j->r->bands;
    for (int b = 0; b < bands; b++) {
        float move = band_move(j, frame, b);
        if (isnan(move))
            continue;
        int gap = b - last - 1, before = last < 0 ? 0 : gap / 2;
        sum += move * (float)(1 + gap - before) + last_move * (float)before;
        last = b;
        last_move = move;
        known++;
    }
    if (TELLING_PART * known < bands || last < 0)
        return NAN;
    return (sum + last_move * (float)(bands - 1 - last)) / (float)bands;
}

/* ---- how fast each tile moves beside the others: near things and the edges of a wide view are
 * faster ---- */

/* A histogram of a tile's moves over the mean: parts of it, up to eight times; frames that are
 * enough for a median. */
enum { PARTS = 16, BINS = 8 * PARTS, ENOUGH = 20 };

/* Counts, tile by tile, of its move over the mean move of the frame. */
static void count_moves(const struct judge *j, size_t frame, unsigned *count)
{
    int tiles = j->s->grid.bands * j->s->grid.tiles, n = 0;
    float sum = 0;
    for (int pass = 0; pass < 2; pass++)
        for (int k = 0; k < tiles; k++) {
            int band = k / j->s->grid.tiles;
            const struct fl_tile *tile = moved_tile(j, frame, band, k % j->s->grid.tiles);
            if (!tile || !band_was_inside(j, frame, band))
                continue;
            if (pass == 0) {
                sum += tile->steps;
                n++;
            } else {
                int bin = (int)lrintf(PARTS * tile->steps * (float)n / sum);
                assert(bin >= 0); /* a moved tile has steps, so the sum has */
                count[k * BINS + (bin < BINS ? bin : BINS - 1)]++;
            }
        }
}

/* Median of one tile's counts between the bins; 0 when it was seldom seen. */
static float middle_of(const unsigned *count)
{
    unsigned total = 0, below = 0;
    for (int b = 0; b < BINS; b++)
        total += count[b];
    if (total < ENOUGH)
        return 0;
    int b = 0;
    for (; 2 * (below + count[b]) < total; b++)
        below += count[b];
    return ((float)b - 0.5f + (0.5f * (float)total - (float)below) / (float)count[b]) / PARTS;
}

static float hann(int at, int n)
{
    return 0.5f - 0.5f * cosf(2 * (float)FL_PI * ((float)at + 0.5f) / (float)n);
}

static int by_factor(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return x < y ? -1 : x > y;
}

/* Median of the known factors, weighted towards the middle of the picture as the whole picture's
 * shift is; 0 if none is known. */
static float middle_factor(const struct judge *j)
{
    const struct fl_grid *g = &j->s->grid;
    struct {
        float factor, weight;
    } *v = fl_calloc((size_t)(g->bands * g->tiles), sizeof *v);
    float total = 0, below = 0, found = 0;
    int n = 0;
    for (int k = 0; k < g->bands * g->tiles; k++)
        if (j->factor[k] > 0) {
            v[n].factor = j->factor[k];
            v[n].weight = hann(k / g->tiles, g->bands) * hann(k % g->tiles, g->tiles);
            total += v[n++].weight;
        }
    qsort(v, (size_t)n, sizeof *v, by_factor);
    for (int k = 0; k < n && 2 * below < total; k++) {
        below += v[k].weight;
        found = v[k].factor;
    }
    free(v);
    return found;
}

/* Tears average out over time, so that what is left of a tile's move is where it looks. */
static void learn_factors(struct judge *j)
{
    size_t tiles = (size_t)(j->s->grid.bands * j->s->grid.tiles);
    unsigned *count = FL_NEW(unsigned, tiles *BINS);
    for (size_t i = 1; i < j->r->frames; i++)
        if (fast_and_sure(j->s, i))
            count_moves(j, i, count);
    for (size_t k = 0; k < tiles; k++)
        j->factor[k] = middle_of(count + k * BINS);
    float middle = middle_factor(j);
    for (size_t k = 0; k < tiles; k++)
        j->factor[k] = middle > 0 && j->factor[k] > 0 ? j->factor[k] / middle : 1;
    free(count);
}

/* 1 up to `none`, 0 from `all`. */
static float falls(float x, float none, float all)
{
    return fminf(1, fmaxf(0, (all - x) / (all - none)));
}

/* How well a drift explains what tiles differ by unmoved: no more than their detail, moved so far,
 * makes. */
static float drift_explains(const struct judge *j, size_t frame, float drift)
{
    const struct fl_grid *g = &j->s->grid;
    int seen = 0, left = 0;
    for (int b = 0; b < g->bands; b++)
        for (int t = 0; t < g->tiles; t++) {
            const struct fl_tile *tile = tile_at(j, frame, b, t);
            if (!tile)
                continue;
            float most =
                expf(fl_detail(tile->detail)) * (float)g->factor * (drift + against.drift_px);
            seen++;
            left += fl_cost(tile->still) > against.noises * (j->noise + most);
        }
    return seen ? falls((float)left / (float)seen, against.left_none, against.left_all) : 0;
}

/* How many of the tiles that changed match along the scene's direction: all of a pan's, about half
 * of a zoom's. */
static float tiles_agree(const struct judge *j, size_t frame)
{
    const struct fl_grid *g = &j->s->grid;
    int yes = 0, no = 0;
    for (int b = 0; b < g->bands; b++)
        for (int t = 0; t < g->tiles; t++) {
            const struct fl_tile *tile = tile_at(j, frame, b, t);
            if (!tile || tile->moved == FL_COST_NONE ||
                fl_cost(tile->still) < against.changed * j->noise)
                continue;
            float ratio = fl_cost(tile->moved) / fl_cost(tile->still);
            yes += ratio < against.moved;
            no += ratio > against.unmoved && ratio < against.still;
        }
    return yes + no ? falls((float)no / (float)(yes + no), against.apart_none, against.apart_all)
                    : 1;
}

/* Torn frames hold less or more than a frame's worth of motion; in others the two differ by what
 * the rows' coarser search leaves. */
static bool agree(float ax, float ay, float bx, float by)
{
    return hypotf(ax - bx, ay - by) <= model.same + model.share * hypotf(ax, ay);
}

struct answer {
    float x, y, quality;
};

static struct answer settle(const struct judge *j, size_t i)
{
    const struct fl_scene_shift *seen = fl_scene_shifts(j->s, i);
    float length = hypotf(seen->whole_x, seen->whole_y), along = mean_of_rows(j, i);
    struct answer whole = {seen->whole_x, seen->whole_y, seen->whole_quality};
    struct answer rows = {along * seen->x, along * seen->y,
                          isnan(along) ? 0 : seen->quality * tiles_agree(j, i)};
    if (length < model.drift) {
        whole.quality *= drift_explains(j, i, length);
        return whole.quality >= model.sure || rows.quality < model.sure ? whole : rows;
    }
    if (length > model.rows_reach)
        return whole;
    whole.quality = fminf(whole.quality, tiles_agree(j, i));
    rows.quality = fminf(rows.quality, whole.quality);
    return isnan(along) || agree(whole.x, whole.y, rows.x, rows.y) ? whole : rows;
}

void fl_shift_combine(const struct fl_signals *s, const struct fl_rows *r, float *x, float *y,
                      float *quality)
{
    struct judge j = {.s = s, .r = r};
    assert(r->frames == s->n && r->bands == s->grid.bands && s->grid.tiles <= FL_TILES);
    j.noise = fmaxf(r->noise, (float)fl_quantile_f(fl_changes(s), s->n, 0.1));
    j.factor = FL_NEW(float, (size_t)(s->grid.bands * s->grid.tiles));
    learn_factors(&j);
    for (size_t i = 0; i < r->frames; i++) {
        struct answer a = i ? settle(&j, i) : (struct answer){0}; /* the first has none before it */
        x[i] = a.x * (float)s->grid.factor;
        y[i] = a.y * (float)s->grid.factor;
        quality[i] = a.quality;
    }
    free(j.factor);
}

/* ---- as a signal ---- */

static const struct fl_signal_column columns[] = {
    [FL_SHIFT_X_PX] = {.name = "shift_x_px",
                       .unit = "px",
                       .meaning = "Shift of the scene to the right since the frame before, native "
                                  "px; a camera that turns right moves it to the left."},
    [FL_SHIFT_Y_PX] = {.name = "shift_y_px", .unit = "px", .meaning = "The same, downwards."},
    [FL_SHIFT_QUALITY] = {.name = "shift_quality",
                          .meaning = "How well the two pictures fit at that shift, 0..1."},
    {0},
};

static void finish(const struct fl_signals *s, const struct fl_rows *r, float *const *column)
{
    fl_shift_combine(s, r, column[FL_SHIFT_X_PX], column[FL_SHIFT_Y_PX], column[FL_SHIFT_QUALITY]);
}

const struct fl_signal_kind fl_shift_signal = {.columns = columns, .finish = finish};
