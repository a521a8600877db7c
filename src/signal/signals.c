#include "signal/signals.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "signal/scene.h"

/* The scene's shift at a frame is settled when the pairs that reach AHEAD frames past it are in. */
enum { AHEAD = 3, REACH = 3, HELD = AHEAD + 2 };

struct fl_signal_stream {
    struct fl_signals out;
    size_t cap;
    size_t pushed;
    struct fl_scene *scene;
    uint8_t *picture[HELD];
    struct fl_scene_peak (*peaks)[FL_SCENE_PEAKS]; /* a frame, whole footage: 36 bytes each */
};

struct fl_signal_stream *fl_signals_open(int width, int height)
{
    struct fl_signal_stream *s = FL_NEW(struct fl_signal_stream, 1);
    struct fl_grid *g = &s->out.grid;
    fl_grid_init(g, width, height);
    s->scene = fl_scene_new(g);
    for (int i = 0; i < HELD; i++)
        s->picture[i] = fl_calloc((size_t)g->height, (size_t)g->stride);
    return s;
}

static void grow(struct fl_signal_stream *s)
{
    if (s->pushed < s->cap)
        return;
    s->cap = s->cap ? s->cap + s->cap / 2 : 4096;
    struct fl_signals *o = &s->out;
    size_t tiles = (size_t)(o->grid.bands * o->grid.tiles);
    o->shift_x = fl_realloc(o->shift_x, s->cap, sizeof *o->shift_x);
    o->shift_y = fl_realloc(o->shift_y, s->cap, sizeof *o->shift_y);
    o->quality = fl_realloc(o->quality, s->cap, sizeof *o->quality);
    o->change = fl_realloc(o->change, s->cap, sizeof *o->change);
    o->key = fl_realloc(o->key, s->cap, sizeof *o->key);
    o->tiles = fl_realloc(o->tiles, s->cap * tiles, sizeof *o->tiles);
    s->peaks = fl_realloc(s->peaks, s->cap, sizeof *s->peaks);
}

static int descending(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return x < y ? 1 : x > y ? -1 : 0;
}

/* Support of a candidate by the peaks of the pairs around: the scene's speed is continuous, a
 * chance peak is not. The better half of the pairs decides, so that motion may set in or end. */
static float support(const struct fl_signal_stream *s, size_t frame, size_t last,
                     const struct fl_scene_peak *c)
{
    enum { HALF = 4 };
    float width = 0.25f * hypotf(c->x, c->y) + 1, agree[REACH + AHEAD + 1], sum = 0;
    size_t from = frame > REACH ? frame - REACH : 0, n = 0;
    size_t to = frame + AHEAD < last ? frame + AHEAD : last;
    for (size_t i = from; i <= to; i++) {
        float best = 0;
        for (int k = 0; k < FL_SCENE_PEAKS; k++) {
            const struct fl_scene_peak *p = &s->peaks[i][k];
            float d = hypotf(p->x - c->x, p->y - c->y) / width;
            best = fmaxf(best, p->height * expf(-0.5f * d * d));
        }
        agree[n++] = best;
    }
    qsort(agree, n, sizeof *agree, descending);
    for (size_t i = 0; i < HALF && i < n; i++)
        sum += agree[i];
    return sum / HALF;
}

static void settle_shift(struct fl_signal_stream *s, size_t frame, size_t last)
{
    float best = 0, x = 0, y = 0;
    /* Pairs are two frames long: those that end at frame and frame + 1 hold this frame's shift. Where
     * motion sets in or ends it may be too small to see there; then the pairs beside lend theirs. */
    for (size_t i = frame ? frame - 1 : 0; i <= frame + AHEAD && i <= last; i++)
        for (int k = 0; k < FL_SCENE_PEAKS; k++) {
            const struct fl_scene_peak *p = &s->peaks[i][k];
            bool beside = i != frame && i != frame + 1;
            float v = p->height > 0 ? support(s, frame, last, p) * (beside ? 0.7f : 1) : 0;
            if (v > best) {
                best = v;
                x = p->x / 2;
                y = p->y / 2;
            }
        }
    /* Chance peaks reach 0.06 in one pair, but seldom agree: their support stays near 0.02. */
    s->out.quality[frame] = best < 0.02f ? 0 : fminf(1, (best - 0.02f) / 0.1f);
    s->out.shift_x[frame] = best < 0.02f ? 0 : x;
    s->out.shift_y[frame] = best < 0.02f ? 0 : y;
}

static void measure_frame(struct fl_signal_stream *s, size_t frame, size_t last)
{
    struct fl_signals *o = &s->out;
    size_t tiles = (size_t)(o->grid.bands * o->grid.tiles);
    struct fl_tile *row = o->tiles + frame * tiles;
    settle_shift(s, frame, last);
    if (frame == 0) {
        for (size_t i = 0; i < tiles; i++) {
            row[i].still = 0;
            row[i].moved = FL_COST_NONE;
            row[i].steps = 0;
        }
        o->change[0] = NAN;
        return;
    }
    fl_bands_measure(&o->grid, s->picture[(frame - 1) % HELD], s->picture[frame % HELD],
                     o->shift_x[frame], o->shift_y[frame], row);
    float sum = 0;
    for (size_t i = 0; i < tiles; i++)
        sum += fl_cost(row[i].still);
    o->change[frame] = sum / (float)tiles;
}

/* Band by band, so that native rows pass through the cache once. */
static void read_luma(const struct fl_signals *o, const uint8_t *luma, ptrdiff_t stride, uint8_t *picture,
                      struct fl_tile *tiles)
{
    const struct fl_grid *g = &o->grid;
    for (int b = 0; b < g->bands; b++) {
        fl_picture_reduce_rows(g, luma, stride, fl_band_row(g, b), fl_band_row(g, b + 1), picture);
        fl_band_detail(g, luma, stride, b, tiles + b * g->tiles);
    }
}

void fl_signals_push(struct fl_signal_stream *s, const uint8_t *luma, ptrdiff_t stride, bool key)
{
    grow(s);
    size_t i = s->pushed;
    uint8_t *picture = s->picture[i % HELD];
    read_luma(&s->out, luma, stride, picture, s->out.tiles + i * (size_t)(s->out.grid.bands * s->out.grid.tiles));
    float zero;
    memset(s->peaks[i], 0, sizeof s->peaks[i]);
    if (s->scene)
        fl_scene_push(s->scene, picture, s->peaks[i], &zero);
    s->out.key[i] = key;
    s->pushed++;
    if (i >= AHEAD)
        measure_frame(s, i - AHEAD, i);
}

void fl_signals_finish(struct fl_signal_stream **sp, struct fl_signals *out)
{
    struct fl_signal_stream *s = *sp;
    size_t n = s->pushed, first = n > AHEAD ? n - AHEAD : 0;
    for (size_t i = first; i < n; i++)
        measure_frame(s, i, n - 1);
    s->out.n = n;
    *out = s->out;
    fl_scene_free(&s->scene);
    for (int i = 0; i < HELD; i++)
        free(s->picture[i]);
    free(s->peaks);
    free(s);
    *sp = NULL;
}

void fl_signals_free(struct fl_signals *s)
{
    free(s->shift_x);
    free(s->shift_y);
    free(s->quality);
    free(s->change);
    free(s->key);
    free(s->tiles);
    *s = (struct fl_signals){0};
}
