/* The stream of signals: pictures in, one row of figures a frame out, a few frames later.
 *
 * A frame's shift is chosen among the peaks of the pairs around it: the scene's speed is
 * continuous, a chance peak is not, so a candidate's support is what its neighbours say to it. */
#include "signal/signals.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "signal/scene.h"

/* The scene's shift at a frame is settled when the pairs that reach AHEAD frames past it are in. */
enum { AHEAD = 3, REACH = 3, HELD = AHEAD + 2 };
enum { FIRST_ROOM = 4096, BETTER_HALF = 4 }; /* frames; pairs of the window that decide */

/* How candidates are weighed. Heights of peaks are as in signal/scene.c. Choices, but for the
 * chance, which is that of peaks between pictures that share nothing. */
static const struct {
    float like_share, like_px; /* of a shift, working px: two are of one speed */
    float beside;              /* weight of candidates that only the pairs beside have: motion sets
                                  in or ends there */
    float part;                /* of a candidate's height that a pair's own peak must have */
    float rests;               /* times a pair's highest peak that its rest must exceed */
    float other_way;           /* cosine under which two shifts go different ways */
    float chance; /* support of peaks that agree by chance: they reach 0.06 in one pair,
                     but seldom agree */
    float range;  /* support above it that makes a quality of 1 */
    float sure;   /* height at no shift that is far above chance */
} model = {.like_share = 0.25f,
           .like_px = 0.5f,
           .beside = 0.7f,
           .part = 0.5f,
           .rests = 2,
           .other_way = 0.8f,
           .chance = 0.02f,
           .range = 0.1f,
           .sure = 0.3f};

struct fl_signal_stream {
    struct fl_signals out;
    size_t cap;
    size_t pushed;
    struct fl_scene *scene;
    uint8_t *picture[HELD];
    struct fl_scene_match *match; /* a frame, whole footage: 48 bytes each */
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
    s->cap = s->cap ? s->cap + s->cap / 2 : FIRST_ROOM;
    struct fl_signals *o = &s->out;
    size_t tiles = (size_t)(o->grid.bands * o->grid.tiles);
    o->shift_x = fl_realloc(o->shift_x, s->cap, sizeof *o->shift_x);
    o->shift_y = fl_realloc(o->shift_y, s->cap, sizeof *o->shift_y);
    o->quality = fl_realloc(o->quality, s->cap, sizeof *o->quality);
    o->whole_x = fl_realloc(o->whole_x, s->cap, sizeof *o->whole_x);
    o->whole_y = fl_realloc(o->whole_y, s->cap, sizeof *o->whole_y);
    o->whole_quality = fl_realloc(o->whole_quality, s->cap, sizeof *o->whole_quality);
    o->change = fl_realloc(o->change, s->cap, sizeof *o->change);
    o->key = fl_realloc(o->key, s->cap, sizeof *o->key);
    o->tiles = fl_realloc(o->tiles, s->cap, tiles * sizeof *o->tiles);
    s->match = fl_realloc(s->match, s->cap, sizeof *s->match);
}

static int descending(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return x < y ? 1 : x > y ? -1 : 0;
}

/* Distance at which two candidates are no longer of one speed, working px a frame. */
static float alike(const struct fl_scene_peak *c)
{
    return model.like_share * hypotf(c->x, c->y) + model.like_px;
}

/* Support of a candidate by the peaks of the pairs around: the scene's speed is continuous, a
 * chance peak is not. The better half of the pairs decides, so that motion may set in or end. */
static float support(const struct fl_signal_stream *s, size_t frame, size_t last,
                     const struct fl_scene_peak *c)
{
    float width = alike(c), agree[REACH + AHEAD + 1], sum = 0;
    size_t from = frame > REACH ? frame - REACH : 0, n = 0;
    size_t to = frame + AHEAD < last ? frame + AHEAD : last;
    for (size_t i = from; i <= to; i++) {
        float best = 0;
        for (int k = 0; k < FL_SCENE_PEAKS; k++) {
            const struct fl_scene_peak *p = &s->match[i].peak[k];
            float d = hypotf(p->x - c->x, p->y - c->y) / width;
            best = fmaxf(best, p->height * expf(-0.5f * d * d));
        }
        assert(n <= REACH + AHEAD);
        agree[n++] = best;
    }
    qsort(agree, n, sizeof *agree, descending);
    for (size_t i = 0; i < BETTER_HALF && i < n; i++)
        sum += agree[i];
    return sum / BETTER_HALF;
}

/* What pair i says of a scene that moves about like c: the peak nearest to it, or, where motion
 * sets in or ends and the pair has no peak to speak of, its drift about zero. */
static const struct fl_scene_peak *peak_like(const struct fl_signal_stream *s, size_t i,
                                             const struct fl_scene_peak *c)
{
    const struct fl_scene_match *m = &s->match[i];
    const struct fl_scene_peak *found = NULL;
    float nearest = 2 * alike(c);
    for (int k = 0; k < FL_SCENE_PEAKS; k++) {
        float d = hypotf(m->peak[k].x - c->x, m->peak[k].y - c->y);
        if (m->peak[k].height > model.part * c->height && d < nearest) {
            nearest = d;
            found = &m->peak[k];
        }
    }
    return found || m->zero.height < model.part * c->height ||
                   m->zero.height < model.rests * m->peak[0].height
               ? found
               : &m->zero;
}

/* Two pairs hold a frame's shift, and that of the frame before and after: their mean is the frame's
 * own where speed changes. A pair of one frame needs no other. */
static struct fl_scene_peak refine(const struct fl_signal_stream *s, size_t frame, size_t last,
                                   const struct fl_scene_peak *c)
{
    const struct fl_scene_peak *a = peak_like(s, frame, c),
                               *b = frame < last ? peak_like(s, frame + 1, c) : NULL;
    if (a && a->back == 1)
        return *a;
    if (a && b && b->back == 1)
        b = NULL;
    if (a && b)
        return (struct fl_scene_peak){(a->x + b->x) / 2, (a->y + b->y) / 2, c->height, a->back};
    return a ? *a : b ? *b : *c;
}

/* A texture that repeats has peaks in other directions that are as good. Tears and things nearby
 * have theirs in the scene's own. */
static bool other_way(const struct fl_scene_peak *a, const struct fl_scene_peak *b)
{
    float dot = a->x * b->x + a->y * b->y, product = hypotf(a->x, a->y) * hypotf(b->x, b->y);
    return dot < model.other_way * product && hypotf(a->x - b->x, a->y - b->y) > 2 * alike(a);
}

struct choice {
    struct fl_scene_peak best, fine; /* fine: the frame's own, from both pairs that hold it */
    float support, rival;            /* rival: of the best candidate that goes another way */
};

/* Pairs are two frames long: those that end at frame and frame + 1 hold this frame's shift. Where
 * motion sets in or ends it may be too small to see there; then the pairs beside lend theirs. */
static struct choice choose(const struct fl_signal_stream *s, size_t frame, size_t last)
{
    enum { SPAN = AHEAD + 2 };
    const struct fl_scene_peak *peak[SPAN * FL_SCENE_PEAKS];
    float value[SPAN * FL_SCENE_PEAKS];
    struct choice c = {0};
    int n = 0, best = -1;
    for (size_t i = frame ? frame - 1 : 0; i <= frame + AHEAD && i <= last; i++)
        for (int k = 0; k < FL_SCENE_PEAKS && s->match[i].peak[k].height > 0; k++, n++) {
            bool beside = i != frame && i != frame + 1;
            assert(n < SPAN * FL_SCENE_PEAKS);
            peak[n] = &s->match[i].peak[k];
            value[n] = support(s, frame, last, peak[n]) * (beside ? model.beside : 1);
            if (best < 0 || value[n] > value[best])
                best = n;
        }
    if (best < 0)
        return c;
    c.best = *peak[best];
    c.fine = refine(s, frame, last, peak[best]);
    c.support = value[best];
    for (int i = 0; i < n; i++)
        if (value[i] > c.rival && other_way(&c.best, peak[i]))
            c.rival = value[i];
    return c;
}

/* Falls from 1 to 0 as what speaks against comes up from half of what speaks for to all of it. */
static float outweighs(float for_it, float against)
{
    return for_it > 0 ? fminf(1, fmaxf(0, 2 - 2 * against / for_it)) : 0;
}

/* The frame's own shift: that of the candidate, or where it explains the pairs better, the drift
 * about zero. Where neither clearly does, neither is to be trusted. */
static void settle_whole(struct fl_signal_stream *s, size_t frame, size_t last,
                         const struct choice *c)
{
    struct fl_signals *o = &s->out;
    float least = 1, x = 0, y = 0;
    int n = 0;
    for (size_t i = frame; i <= frame + 1 && i <= last; i++, n++) {
        const struct fl_scene_peak *z = &s->match[i].zero;
        least = fmaxf(0, fminf(least, z->height));
        x += z->x;
        y += z->y;
    }
    float moves = o->quality[frame] * outweighs(c->support, fmaxf(c->rival, least));
    float rests = fminf(1, least / model.sure) * outweighs(least, 2 * c->support);
    o->whole_x[frame] = rests > moves ? x / (float)n : c->fine.x;
    o->whole_y[frame] = rests > moves ? y / (float)n : c->fine.y;
    o->whole_quality[frame] = fmaxf(rests, moves);
}

static void settle_shift(struct fl_signal_stream *s, size_t frame, size_t last)
{
    struct choice c = choose(s, frame, last);
    bool seen = c.support >= model.chance;
    s->out.quality[frame] = seen ? fminf(1, (c.support - model.chance) / model.range) : 0;
    s->out.shift_x[frame] = seen ? c.best.x : 0;
    s->out.shift_y[frame] = seen ? c.best.y : 0;
    settle_whole(s, frame, last, &c);
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
    assert(last - (frame - 1) < HELD); /* its pictures are not overwritten yet */
    fl_bands_measure(&o->grid, s->picture[(frame - 1) % HELD], s->picture[frame % HELD],
                     o->shift_x[frame], o->shift_y[frame], row);
    float sum = 0;
    for (size_t i = 0; i < tiles; i++)
        sum += fl_cost(row[i].still);
    o->change[frame] = sum / (float)tiles;
}

/* Band by band, so that native rows pass through the cache once. */
static void read_luma(const struct fl_signals *o, const uint8_t *luma, ptrdiff_t stride,
                      uint8_t *picture, struct fl_tile *tiles)
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
    read_luma(&s->out, luma, stride, picture,
              s->out.tiles + i * (size_t)(s->out.grid.bands * s->out.grid.tiles));
    s->match[i] = (struct fl_scene_match){0};
    if (s->scene)
        fl_scene_push(s->scene, picture, &s->match[i]);
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
    free(s->match);
    free(s);
    *sp = NULL;
}

void fl_signals_free(struct fl_signals *s)
{
    free(s->shift_x);
    free(s->shift_y);
    free(s->quality);
    free(s->whole_x);
    free(s->whole_y);
    free(s->whole_quality);
    free(s->change);
    free(s->key);
    free(s->tiles);
    *s = (struct fl_signals){0};
}
