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
struct fl_middle_box fl_middle_box(const struct fl_grid *g, int strip)
{
    const int half = g->width / model.wide / 2, middle = g->width / 2,
              top = (g->height - strip_rows(g) * FL_MIDDLE_STRIPS) / 2 + strip * strip_rows(g);
    return (struct fl_middle_box){middle - half, middle + half, top, top + strip_rows(g)};
}

/* Most of the band lies in the strip. */
static bool band_in(const struct fl_grid *g, int band, const struct fl_middle_box *box)
{
    const int middle = (fl_band_row(g, band) + fl_band_row(g, band + 1)) / 2;
    return middle >= box->y0 && middle < box->y1;
}

/* ---- one strip ---- */

/* Where the strip is read in the two pictures: whole shifts, and what is left of it in the second.
 */
struct place {
    int before_x, before_y, now_x, now_y;
    float part_x, part_y; /* 0..1 */
};

static struct place place_of(double x, double y)
{
    struct place p = {.before_x = (int)floor(-x / 2 + 0.5), .before_y = (int)floor(-y / 2 + 0.5)};
    const double now_x = x + p.before_x, now_y = y + p.before_y;
    p.now_x = (int)floor(now_x);
    p.now_y = (int)floor(now_y);
    p.part_x = (float)(now_x - p.now_x);
    p.part_y = (float)(now_y - p.now_y);
    return p;
}

/* With a pixel to spare all round, for slopes and parts of a pixel. */
static bool inside(const struct fl_grid *g, const struct fl_middle_box *b, int dx, int dy)
{
    return b->x0 + dx >= 1 && b->x1 + dx + 2 <= g->width && b->y0 + dy >= 1 &&
           b->y1 + dy + 2 <= g->height;
}

struct sums {
    double xx, xy, yy, xe, ye; /* of slopes and differences, weighted */
    double n, abs_e;
    double a, b, aa, bb, ab; /* of the two pictures */
};

static float between(const uint8_t *p, int stride, float part_x, float part_y)
{
    const float top = (float)p[0] + part_x * (float)(p[1] - p[0]),
                low = (float)p[stride] + part_x * (float)(p[stride + 1] - p[stride]);
    return top + part_y * (low - top);
}

static void add_row(struct sums *s, const uint8_t *before, const uint8_t *now, int stride, int n,
                    const struct place *p, float limit)
{
    float xx = 0, xy = 0, yy = 0, xe = 0, ye = 0, abs_e = 0, a = 0, b = 0, aa = 0, bb = 0, ab = 0;
    for (int i = 0; i < n; i++) {
        const float u = (float)before[i], v = between(now + i, stride, p->part_x, p->part_y),
                    e = v - u;
        const float gx = 0.5f * (float)(before[i + 1] - before[i - 1]),
                    gy = 0.5f * (float)(before[i + stride] - before[i - stride]);
        const float w = fabsf(e) <= limit ? 1 : limit / fabsf(e);
        xx += w * gx * gx;
        xy += w * gx * gy;
        yy += w * gy * gy;
        xe += w * gx * e;
        ye += w * gy * e;
        abs_e += fabsf(e);
        a += u;
        b += v;
        aa += u * u;
        bb += v * v;
        ab += u * v;
    }
    s->xx += (double)xx;
    s->xy += (double)xy;
    s->yy += (double)yy;
    s->xe += (double)xe;
    s->ye += (double)ye;
    s->n += n;
    s->abs_e += (double)abs_e;
    s->a += (double)a;
    s->b += (double)b;
    s->aa += (double)aa;
    s->bb += (double)bb;
    s->ab += (double)ab;
}

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

static bool compare(struct sums *s, const struct fl_grid *g, const uint8_t *before,
                    const uint8_t *now, const struct fl_middle_box *box, double x, double y,
                    double limit)
{
    const struct place p = place_of(x, y);
    memset(s, 0, sizeof *s);
    if (!inside(g, box, p.before_x, p.before_y) || !inside(g, box, p.now_x, p.now_y))
        return false;
    for (int row = box->y0; row < box->y1; row++)
        add_row(s, before + (ptrdiff_t)(row + p.before_y) * g->stride + box->x0 + p.before_x,
                now + (ptrdiff_t)(row + p.now_y) * g->stride + box->x0 + p.now_x, g->stride,
                box->x1 - box->x0, &p, (float)limit);
    return true;
}

static double correlation(const struct sums *s)
{
    const double aa = s->aa - s->a * s->a / s->n, bb = s->bb - s->b * s->b / s->n,
                 ab = s->ab - s->a * s->b / s->n;
    return aa > 0 && bb > 0 ? ab / sqrt(aa * bb) : 0;
}

/* Mean difference at whole pixels, every second row; negative where the strip does not lie inside.
 */
static double whole_difference(const struct fl_grid *g, const uint8_t *before, const uint8_t *now,
                               const struct fl_middle_box *b, int x, int y)
{
    const struct place p = place_of(x, y);
    unsigned sum = 0, n = 0;
    if (!inside(g, b, p.before_x, p.before_y) || !inside(g, b, p.now_x, p.now_y))
        return -1;
    for (int row = b->y0; row < b->y1; row += 2) {
        const uint8_t *u = before + (ptrdiff_t)(row + p.before_y) * g->stride + p.before_x,
                      *v = now + (ptrdiff_t)(row + p.now_y) * g->stride + p.now_x;
        for (int i = b->x0; i < b->x1; i++)
            sum += (unsigned)abs(v[i] - u[i]);
        n += (unsigned)(b->x1 - b->x0);
    }
    return (double)sum / n;
}

/* To the best whole pixel about the guess: what follows needs to begin within a pixel or so. */
static void search_near(struct fl_middle_strip *strip, const struct fl_grid *g,
                        const uint8_t *before, const uint8_t *now, const struct fl_middle_box *box)
{
    const int from_x = (int)lrintf(strip->x), from_y = (int)lrintf(strip->y),
              reach_x = 2 + (int)(model.share * fabs((double)from_x)),
              reach_y = 2 + (int)(model.share * fabs((double)from_y));
    double least = INFINITY;
    for (int y = from_y - reach_y; y <= from_y + reach_y; y++)
        for (int x = from_x - reach_x; x <= from_x + reach_x; x++) {
            const double d = whole_difference(g, before, now, box, x, y);
            if (d >= 0 && d < least) {
                least = d;
                strip->x = (float)x;
                strip->y = (float)y;
            }
        }
}

void fl_middle_match(struct fl_middle_strip *strip, const struct fl_grid *g, const uint8_t *before,
                     const uint8_t *now, const struct fl_middle_box *box)
{
    const double from_x = (double)strip->x, from_y = (double)strip->y;
    double x = from_x, y = from_y, limit = INFINITY;
    strip->fit = 0;
    for (int round = 0; round < ROUNDS; round++) {
        struct sums s;
        if (!compare(&s, g, before, now, box, x, y, limit))
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

/* ---- as a signal ---- */

/* What the tiles over a strip say. */
struct votes {
    unsigned steps[FL_TILES * MOST_BANDS], n; /* of those that moved */
    int moved, still;                         /* bands */
};

/* 1 moved, -1 stood, 0 cannot tell. */
static int band_vote(const struct fl_signal_view *v, int band, const struct fl_middle_box *box,
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

static void ask_tiles(const struct fl_signal_view *v, const struct fl_middle_box *box,
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
    const struct fl_middle_box box = fl_middle_box(g, k);
    struct votes votes;
    ask_tiles(v, &box, &votes);
    const bool moved = votes.moved > 0 && votes.n > 0;
    const float part = moved ? (float)middle_of(votes.steps, votes.n) / FL_STEP_PARTS : 0;
    *strip = (struct fl_middle_strip){
        part * shift->x, part * shift->y, 0,
        moved ? (float)votes.moved / (float)(votes.moved + votes.still) : 0};
    if (moved && votes.still)
        return; /* torn */
    if (moved)
        search_near(strip, g, v->before, v->now, &box);
    fl_middle_match(strip, g, v->before, v->now, &box);
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
