/* A frame's shift is chosen among the peaks of the pairs around it: the scene's speed is
 * continuous, a chance peak is not, so a candidate's support is what its neighbours say to it. */
#include "signal/scene_shift.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "signal/scene.h"

/* A frame's shift is settled by the pairs that reach up to AHEAD frames past it and REACH before:
 * RING holds these. */
enum { AHEAD = FL_SIGNAL_AHEAD, REACH = 3, RING = 8 };
enum { BETTER_HALF = 4 }; /* pairs of the window that decide */
_Static_assert(RING > REACH + AHEAD, "pairs around a frame");

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

struct picker {
    struct fl_scene *scene; /* NULL: pictures too small for a shift */
    struct fl_scene_match match[RING];
};

static const struct fl_scene_match *match_at(const struct picker *p, size_t frame)
{
    return &p->match[frame % RING];
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
static float support(const struct picker *p, size_t frame, size_t last,
                     const struct fl_scene_peak *c)
{
    float width = alike(c), agree[REACH + AHEAD + 1], sum = 0;
    size_t from = frame > REACH ? frame - REACH : 0, n = 0;
    size_t to = frame + AHEAD < last ? frame + AHEAD : last;
    for (size_t i = from; i <= to; i++) {
        float best = 0;
        for (int k = 0; k < FL_SCENE_PEAKS; k++) {
            const struct fl_scene_peak *near = &match_at(p, i)->peak[k];
            float d = hypotf(near->x - c->x, near->y - c->y) / width;
            best = fmaxf(best, near->height * expf(-0.5f * d * d));
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
static const struct fl_scene_peak *peak_like(const struct picker *p, size_t i,
                                             const struct fl_scene_peak *c)
{
    const struct fl_scene_match *m = match_at(p, i);
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
static struct fl_scene_peak refine(const struct picker *p, size_t frame, size_t last,
                                   const struct fl_scene_peak *c)
{
    const struct fl_scene_peak *a = peak_like(p, frame, c),
                               *b = frame < last ? peak_like(p, frame + 1, c) : NULL;
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
static struct choice choose(const struct picker *p, size_t frame, size_t last)
{
    enum { SPAN = AHEAD + 2 };
    const struct fl_scene_peak *peak[SPAN * FL_SCENE_PEAKS];
    float value[SPAN * FL_SCENE_PEAKS];
    struct choice c = {0};
    int n = 0, best = -1;
    for (size_t i = frame ? frame - 1 : 0; i <= frame + AHEAD && i <= last; i++)
        for (int k = 0; k < FL_SCENE_PEAKS && match_at(p, i)->peak[k].height > 0; k++, n++) {
            bool beside = i != frame && i != frame + 1;
            assert(n < SPAN * FL_SCENE_PEAKS);
            peak[n] = &match_at(p, i)->peak[k];
            value[n] = support(p, frame, last, peak[n]) * (beside ? model.beside : 1);
            if (best < 0 || value[n] > value[best])
                best = n;
        }
    if (best < 0)
        return c;
    c.best = *peak[best];
    c.fine = refine(p, frame, last, peak[best]);
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
static void settle_whole(struct fl_scene_shift *out, const struct picker *p, size_t frame,
                         size_t last, const struct choice *c)
{
    float least = 1, x = 0, y = 0;
    int n = 0;
    for (size_t i = frame; i <= frame + 1 && i <= last; i++, n++) {
        const struct fl_scene_peak *z = &match_at(p, i)->zero;
        least = fmaxf(0, fminf(least, z->height));
        x += z->x;
        y += z->y;
    }
    float moves = out->quality * outweighs(c->support, fmaxf(c->rival, least));
    float rests = fminf(1, least / model.sure) * outweighs(least, 2 * c->support);
    out->whole_x = rests > moves ? x / (float)n : c->fine.x;
    out->whole_y = rests > moves ? y / (float)n : c->fine.y;
    out->whole_quality = fmaxf(rests, moves);
}

static void settle(void *state, const struct fl_signal_view *v, void *row)
{
    const struct picker *p = state;
    struct fl_scene_shift *out = row;
    size_t last = v->s->n - 1;
    struct choice c = choose(p, v->frame, last);
    bool seen = c.support >= model.chance;
    out->quality = seen ? fminf(1, (c.support - model.chance) / model.range) : 0;
    out->x = seen ? c.best.x : 0;
    out->y = seen ? c.best.y : 0;
    settle_whole(out, p, v->frame, last, &c);
}

static void open_scene(void *state, const struct fl_grid *grid)
{
    ((struct picker *)state)->scene = fl_scene_new(grid);
}

static void push(void *state, const struct fl_signal_view *v, void *row)
{
    (void)row;
    struct picker *p = state;
    struct fl_scene_match *m = &p->match[v->frame % RING];
    *m = (struct fl_scene_match){0};
    if (p->scene)
        fl_scene_push(p->scene, v->now, m);
}

static void close_scene(void *state)
{
    fl_scene_free(&((struct picker *)state)->scene);
}

static void blank(const struct fl_grid *grid, void *row)
{
    (void)grid;
    struct fl_scene_shift *out = row;
    out->x = out->y = out->quality = out->whole_quality = 0;
}

const struct fl_signal_kind fl_scene_shift_signal = {
    .row_size = sizeof(struct fl_scene_shift),
    .state_size = sizeof(struct picker),
    .open = open_scene,
    .push = push,
    .settle = settle,
    .close = close_scene,
    .blank = blank,
};
