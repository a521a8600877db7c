/* Windowed phase correlation (Kuglin and Hines 1975) of half-size working pictures, with a mask.
 *
 * The cross-power spectrum of two pictures, whitened, has a peak at each shift that a part of them
 * shares. A Hann window keeps the picture's edges from being one; the mask, learned as what does
 * not change while the scene moves, keeps overlay from being another. */
#include "signal/scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/transform.h"

/* Pictures: compared over BACK, two of which even out a flip more or less; the mask over
 * LEARN_BACK, in which slow motion shows; RING holds both. */
enum { BACK = 2, RING = 8, LEARN_BACK = 6 };
enum { LEAST_WIDTH = 32, LEAST_HEIGHT = 16 }; /* of a window that can hold a shift, half-size px */

/* Which peaks are shifts. Heights are of the whitened surface, 1: identical. Choices. */
static const struct {
    float rest_change; /* grey levels by which no pixel of two half-size pictures differs at rest */
    float longest_share;    /* of the picture, over BACK: past it the windows share too little, and
                               half    of it may as well be a shift the other way */
    float long_share;       /* past it neighbouring pictures are compared as well ... */
    float weak;             /* ... as where the highest peak is lower, ... */
    float rest;             /* ... unless it rests: the height at no shift */
    float same, same_share; /* half-size px, and share of a shift, within which two peaks are one */
} peak = {.rest_change = 1,
          .longest_share = 0.4f,
          .long_share = 0.25f,
          .weak = 0.25f,
          .rest = 0.5f,
          .same = 1,
          .same_share = 0.05f};
/* What is overlay. Choices. */
static const struct {
    float take;       /* share of the newest picture in the running means: 25 pictures' memory */
    float enough;     /* pictures seen moving before the mask is used */
    float height, px; /* of a peak, working px a frame: surely moving */
    float noise;      /* grey levels of change that coding makes */
    float gain;       /* a pixel counts in full from 1/gain of its detail's change on */
} mask = {.take = 0.04f, .enough = 25, .height = 0.06f, .px = 2, .noise = 0.4f, .gain = 3};

struct fl_scene {
    struct fl_grid g;
    int w, h, left, top; /* half-size window, cropped to a transform size */
    struct fl_fft2 *fft;
    float *window;      /* Hann */
    float *small[RING]; /* last half-size pictures */
    float *spectrum[BACK + 1];
    bool transformed[BACK + 1]; /* spectra are made when first wanted */
    float *change, *detail;     /* running means that make the mask */
    float *weighted, *surface;
    float learned; /* pictures that the mask has seen moving */
    long pushed;
};

static int transform_size(int limit)
{
    static const int odd[] = {1, 3, 5, 9, 15};
    int best = 0;
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++)
        for (int n = odd[i] * 8; n <= limit; n *= 2)
            if (n > best)
                best = n;
    return best;
}

struct fl_scene *fl_scene_new(const struct fl_grid *g)
{
    int w = transform_size(g->width / 2), h = transform_size(g->height / 2);
    if (w < LEAST_WIDTH || h < LEAST_HEIGHT)
        return NULL;
    struct fl_scene *s = FL_NEW(struct fl_scene, 1);
    size_t n = (size_t)w * (size_t)h;
    s->g = *g;
    s->w = w;
    s->h = h;
    s->left = (g->width / 2 - w) / 2;
    s->top = (g->height / 2 - h) / 2;
    s->fft = fl_fft2_new(w, h);
    s->window = FL_NEW(float, n);
    for (size_t i = 0; i < n; i++)
        s->window[i] = 1;
    fl_hann2(s->window, w, h);
    for (int i = 0; i < RING; i++)
        s->small[i] = FL_NEW(float, n);
    for (int i = 0; i <= BACK; i++)
        s->spectrum[i] = FL_NEW(float, 2 * fl_fft2_bins(s->fft));
    s->change = FL_NEW(float, n);
    s->detail = FL_NEW(float, n);
    s->weighted = FL_NEW(float, n);
    s->surface = FL_NEW(float, n);
    return s;
}

void fl_scene_free(struct fl_scene **sp)
{
    struct fl_scene *s = *sp;
    if (!s)
        return;
    fl_fft2_free(&s->fft);
    free(s->window);
    for (int i = 0; i < RING; i++)
        free(s->small[i]);
    for (int i = 0; i <= BACK; i++)
        free(s->spectrum[i]);
    free(s->change);
    free(s->detail);
    free(s->weighted);
    free(s->surface);
    free(s);
    *sp = NULL;
}

static void reduce_by_two(const struct fl_scene *s, const uint8_t *picture, float *out)
{
    for (int y = 0; y < s->h; y++) {
        const uint8_t *a = picture + (size_t)(2 * (y + s->top)) * (size_t)s->g.stride + 2 * s->left;
        const uint8_t *b = a + s->g.stride;
        float *to = out + (size_t)y * (size_t)s->w;
        for (int x = 0; x < s->w; x++)
            to[x] = 0.25f * (float)(a[2 * x] + a[2 * x + 1] + b[2 * x] + b[2 * x + 1]);
    }
}

/* Where the scene moves but a pixel does not change although it has detail, it is overlay. */
static void learn_mask(struct fl_scene *s, const float *now, const float *before)
{
    const float take = mask.take, keep = 1 - take;
    for (int y = 0; y < s->h; y++) {
        const float *up = now + (size_t)(y ? y - 1 : 0) * (size_t)s->w;
        const float *down = now + (size_t)(y + 1 < s->h ? y + 1 : y) * (size_t)s->w;
        const float *row = now + (size_t)y * (size_t)s->w;
        const float *old = before + (size_t)y * (size_t)s->w;
        float *change = s->change + (size_t)y * (size_t)s->w;
        float *detail = s->detail + (size_t)y * (size_t)s->w;
        for (int x = 1; x + 1 < s->w; x++) {
            float d = fabsf(row[x] - old[x]);
            float g = fabsf(row[x + 1] - row[x - 1]) + fabsf(down[x] - up[x]);
            change[x] = keep * change[x] + take * d;
            detail[x] = keep * detail[x] + take * g;
        }
    }
    s->learned += 1;
}

static void weigh(struct fl_scene *s, const float *now)
{
    size_t n = (size_t)s->w * (size_t)s->h;
    bool masked = s->learned >= mask.enough;
    float sum = 0, weights = 0;
    for (size_t i = 0; i < n; i++) {
        float w = masked ? mask.gain * (s->change[i] - mask.noise) / (s->detail[i] + 1) : 1;
        w = (w < 0 ? 0 : w > 1 ? 1 : w) * s->window[i];
        s->weighted[i] = w;
        sum += w * now[i];
        weights += w;
    }
    float mean = weights > 0 ? sum / weights : 0;
    for (size_t i = 0; i < n; i++)
        s->weighted[i] *= now[i] - mean;
}

static const float *spectrum_of(struct fl_scene *s, long picture)
{
    long slot = picture % (BACK + 1);
    if (!s->transformed[slot]) {
        weigh(s, s->small[picture % RING]);
        fl_fft2_forward(s->fft, s->weighted, s->spectrum[slot]);
        s->transformed[slot] = true;
    }
    return s->spectrum[slot];
}

static bool at_rest(const struct fl_scene *s, const float *now, const float *before)
{
    for (int y = 0; y < s->h; y++) {
        float most = 0;
        for (int x = 0; x < s->w; x++) {
            float d = fabsf(now[y * s->w + x] - before[y * s->w + x]);
            most = d > most ? d : most;
        }
        if (most >= peak.rest_change)
            return false;
    }
    return true;
}

/* Puts a candidate in its place by height; one that is there already counts once. */
static void add_peak(struct fl_scene_match *m, struct fl_scene_peak p)
{
    for (int k = 0; k < FL_SCENE_PEAKS; k++) {
        struct fl_scene_peak *q = &m->peak[k];
        if (q->height > 0 &&
            hypotf(p.x - q->x, p.y - q->y) < peak.same + peak.same_share * hypotf(p.x, p.y)) {
            if (q->height >= p.height)
                return;
            memmove(q, q + 1, (size_t)(FL_SCENE_PEAKS - 1 - k) * sizeof *q);
            m->peak[FL_SCENE_PEAKS - 1] = (struct fl_scene_peak){0};
        }
    }
    for (int k = 0; k < FL_SCENE_PEAKS; k++)
        if (p.height > m->peak[k].height) {
            struct fl_scene_peak t = m->peak[k];
            m->peak[k] = p;
            p = t;
        }
}

/* Matches the last picture with the one `back` before. Returns false when a peak lay too far out.
 */
static bool match_with(struct fl_scene *s, int back, struct fl_scene_match *m)
{
    struct fl_peak found[FL_SCENE_PEAKS + 1];
    const float *before = spectrum_of(s, s->pushed - back), *now = spectrum_of(s, s->pushed);
    fl_phase_surface(s->fft, before, now, s->surface);
    int n = fl_phase_peaks(s->fft, s->surface, found, FL_SCENE_PEAKS + 1, 2);
    float a_frame = 2.0f / (float)back;
    bool near = true;
    if (back == BACK)
        m->zero = (struct fl_scene_peak){0, 0, s->surface[0], back};
    for (int i = 0; i < n; i++) {
        float across = fabsf(found[i].x) / (float)s->w, down = fabsf(found[i].y) / (float)s->h;
        struct fl_scene_peak p = {a_frame * found[i].x, a_frame * found[i].y, found[i].height,
                                  back};
        if (i == 0)
            near = across < peak.long_share && down < peak.long_share;
        if (hypotf(found[i].x, found[i].y) >= 1) {
            if (across <= peak.longest_share && down <= peak.longest_share)
                add_peak(m, p);
        } else if (back == BACK) {
            m->zero.x = p.x;
            m->zero.y = p.y;
        }
    }
    return near;
}

void fl_scene_push(struct fl_scene *s, const uint8_t *picture, struct fl_scene_match *match)
{
    float *now = s->small[s->pushed % RING];
    reduce_by_two(s, picture, now);
    s->transformed[s->pushed % (BACK + 1)] = false;
    *match = (struct fl_scene_match){0};
    if (s->pushed >= BACK && at_rest(s, now, s->small[(s->pushed - BACK) % RING])) {
        match->zero.height = 1;
    } else if (s->pushed >= BACK) {
        bool near = match_with(s, BACK, match);
        if (match->zero.height < peak.rest && (!near || match->peak[0].height < peak.weak))
            match_with(s, 1, match);
        const struct fl_scene_peak *p = match->peak;
        if (p->height > mask.height && hypotf(p->x, p->y) > mask.px && s->pushed >= LEARN_BACK)
            learn_mask(s, now, s->small[(s->pushed - LEARN_BACK) % RING]);
    }
    s->pushed++;
}
