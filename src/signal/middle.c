/* Image registration by Gauss and Newton's steps on the differences (Lucas and Kanade 1981), with
 * Huber's weights against what does not go along: cross hairs, held objects.
 *
 * The first guess is what the tiles there were found to move by. The strip is taken half a shift
 * before the middle in the one picture and half a shift past it in the other, so that what it shows
 * lies about the middle on the whole, and none of it is lost in fast turns. */
#include "signal/middle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "signal/bands.h"
#include "signal/scene_shift.h"
#include "signal/strip_sums.h"

/* Choices. */
static const struct {
    double settled;  /* a step that moves the strip by less ends the search, working px */
    double farthest; /* from the first guess, working px */
    double share;    /* of a shift, by which tiles may have got it wrong */
    double clear;    /* ratio of costs from which a band moved, or stood, for certain */
    double fit;      /* correlation below which the pictures do not fit at all */
    double inlier;   /* times the mean difference, from which a pixel has less say */
    int wide, high;  /* the strip is one in so many of the picture's columns; all strips one in so
                        many of its rows */
} model = {.settled = 0.005,
           .farthest = 3,
           .share = 0.1,
           .clear = 0.75,
           .fit = 0.6,
           .inlier = 1.5,
           .wide = 6,
           .high = 2};
enum { ROUNDS = 12, LEAST_WIDTH = 32, LEAST_HEIGHT = 16, MOST_BANDS = 64 };

static int strip_rows(const struct fl_grid *g)
{
    return g->height / model.high / FL_MIDDLE_STRIPS;
}

/* Symmetric about the picture's middle: a turn with the camera tilted then cancels out over them.
 */
struct fl_strip_box fl_middle_box(const struct fl_grid *g, int strip)
{
    const int half = g->width / model.wide / 2, middle = g->width / 2,
              top = (g->height - strip_rows(g) * FL_MIDDLE_STRIPS) / 2 + strip * strip_rows(g);
    return (struct fl_strip_box){middle - half, middle + half, top, top + strip_rows(g)};
}

/* Most of the band lies in the strip. */
static bool band_in(const struct fl_grid *g, int band, const struct fl_strip_box *box)
{
    const int middle = (fl_band_row(g, band) + fl_band_row(g, band + 1)) / 2;
    return middle >= box->y0 && middle < box->y1;
}

/* ---- one strip ---- */

static int by_size(const void *a, const void *b)
{
    const unsigned x = *(const unsigned *)a, y = *(const unsigned *)b;
    return (x > y) - (x < y);
}

static unsigned middle_of(unsigned *v, unsigned n)
{
    qsort(v, n, sizeof *v, by_size);
    return v[n / 2];
}

static double correlation(const struct fl_strip_sums *s)
{
    const double aa = s->aa - s->a * s->a / s->n, bb = s->bb - s->b * s->b / s->n,
                 ab = s->ab - s->a * s->b / s->n;
    return aa > 0 && bb > 0 ? ab / sqrt(aa * bb) : 0;
}

/* To the best whole pixel about the guess: what follows needs to begin within a pixel or so. */
static void search_near(struct fl_middle_strip *strip, const struct fl_strip *pixels)
{
    const int from_x = (int)lrintf(strip->x), from_y = (int)lrintf(strip->y),
              reach_x = 2 + (int)(model.share * fabs((double)from_x)),
              reach_y = 2 + (int)(model.share * fabs((double)from_y));
    double least = INFINITY;
    for (int y = from_y - reach_y; y <= from_y + reach_y; y++)
        for (int x = from_x - reach_x; x <= from_x + reach_x; x++) {
            const double d = fl_strip_whole_difference(pixels, x, y);
            if (d >= 0 && d < least) {
                least = d;
                strip->x = (float)x;
                strip->y = (float)y;
            }
        }
}

static void match(struct fl_middle_strip *strip, struct fl_strip *pixels)
{
    const double from_x = (double)strip->x, from_y = (double)strip->y;
    double x = from_x, y = from_y, limit = INFINITY;
    strip->fit = 0;
    for (int round = 0; round < ROUNDS; round++) {
        struct fl_strip_sums s;
        if (!fl_strip_compare(pixels, x, y, limit, &s))
            return;
        const double det = s.xx * s.yy - s.xy * s.xy;
        if (!(det > 1e-6 * s.xx * s.yy))
            return;
        const double step_x = -(s.yy * s.xe - s.xy * s.ye) / det,
                     step_y = -(s.xx * s.ye - s.xy * s.xe) / det;
        limit = model.inlier * s.abs_e / s.n + 1e-3;
        if (hypot(step_x, step_y) < model.settled && round > 0) {
            const double fit = correlation(&s);
            if (fit >= model.fit)
                *strip = (struct fl_middle_strip){(float)x, (float)y, (float)fit, strip->moved};
            return;
        }
        x += fl_clamp(step_x, -1, 1);
        y += fl_clamp(step_y, -1, 1);
        if (hypot(x - from_x, y - from_y) > model.farthest)
            return;
    }
}

void fl_middle_match(struct fl_middle_strip *strip, const struct fl_grid *g, const uint8_t *before,
                     const uint8_t *now, const struct fl_strip_box *box)
{
    struct fl_strip pixels;
    fl_strip_open(&pixels, g, before, now, box);
    match(strip, &pixels);
    fl_strip_close(&pixels);
}

/* ---- as a signal ---- */

/* What the tiles over a strip say. */
struct votes {
    unsigned steps[FL_TILES * MOST_BANDS], n; /* of those that moved */
    int moved, still;                         /* bands */
};

/* 1 moved, -1 stood, 0 cannot tell. */
static int band_vote(const struct fl_signal_view *v, int band, const struct fl_strip_box *box,
                     struct votes *out)
{
    const struct fl_grid *g = &v->s->grid;
    double moved = 0, still = 0;
    for (int t = 0; t < g->tiles; t++) {
        const struct fl_tile *tile = fl_tile_at(v->s, v->frame, band, t);
        if (fl_tile_column(g, t + 1) <= box->x0 || fl_tile_column(g, t) >= box->x1 ||
            tile->moved == FL_COST_NONE)
            continue;
        moved += (double)fl_cost(tile->moved);
        still += (double)fl_cost(tile->still);
        if (tile->moved < tile->still && tile->steps > 0 && out->n < FL_TILES * MOST_BANDS)
            out->steps[out->n++] = (unsigned)tile->steps;
    }
    return moved < model.clear * still ? 1 : still < model.clear * moved ? -1 : 0;
}

static void ask_tiles(const struct fl_signal_view *v, const struct fl_strip_box *box,
                      struct votes *out)
{
    const struct fl_grid *g = &v->s->grid;
    out->n = 0;
    out->moved = out->still = 0;
    for (int b = 0; b < g->bands; b++) {
        const int vote = band_in(g, b, box) ? band_vote(v, b, box, out) : 0;
        out->moved += vote > 0;
        out->still += vote < 0;
    }
}

static void settle_strip(const struct fl_signal_view *v, int k, struct fl_middle_strip *strip)
{
    const struct fl_grid *g = &v->s->grid;
    const struct fl_scene_shift *shift = fl_scene_shifts(v->s, v->frame);
    const struct fl_strip_box box = fl_middle_box(g, k);
    struct votes votes;
    ask_tiles(v, &box, &votes);
    const bool moved = votes.moved > 0 && votes.n > 0;
    const float part = moved ? (float)middle_of(votes.steps, votes.n) / FL_STEP_PARTS : 0;
    *strip = (struct fl_middle_strip){
        part * shift->x, part * shift->y, 0,
        moved ? (float)votes.moved / (float)(votes.moved + votes.still) : 0};
    if (moved && votes.still)
        return; /* torn */
    struct fl_strip pixels;
    fl_strip_open(&pixels, g, v->before, v->now, &box);
    if (moved)
        search_near(strip, &pixels);
    match(strip, &pixels);
    fl_strip_close(&pixels);
}

static void settle(void *state, const struct fl_signal_view *v, void *row)
{
    (void)state;
    const struct fl_grid *g = &v->s->grid;
    struct fl_middle *out = row;
    if (!v->before || strip_rows(g) < LEAST_HEIGHT || g->width < model.wide * LEAST_WIDTH)
        return;
    for (int k = 0; k < FL_MIDDLE_STRIPS; k++)
        settle_strip(v, k, &out->strip[k]);
}

static void blank(const struct fl_grid *grid, void *row)
{
    (void)grid;
    memset(row, 0, sizeof(struct fl_middle));
}

const struct fl_signal_kind fl_middle_signal = {
    .row_size = sizeof(struct fl_middle), .settle = settle, .blank = blank};
