#include "signal/scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/transform.h"

enum { BACK = 2, RING = 8, LEARN_BACK = 6 };

struct fl_scene {
    struct fl_grid g;
    int w, h, left, top;         /* half-size window, cropped to a transform size */
    struct fl_fft2 *fft;
    float *window;               /* Hann */
    float *small[RING];          /* last half-size pictures */
    float *spectrum[BACK + 1];
    float *change, *detail;      /* running means that make the mask */
    float *weighted, *surface;
    float learned;               /* pictures that the mask has seen moving */
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
    if (w < 32 || h < 16)
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
    const float keep = 0.96f, take = 0.04f;
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
    bool masked = s->learned >= 25;
    float sum = 0, weights = 0;
    for (size_t i = 0; i < n; i++) {
        /* 0 where nothing changes beside its detail, 1 from a third of the detail up */
        float w = masked ? 3 * (s->change[i] - 0.4f) / (s->detail[i] + 1) : 1;
        w = (w < 0 ? 0 : w > 1 ? 1 : w) * s->window[i];
        s->weighted[i] = w;
        sum += w * now[i];
        weights += w;
    }
    float mean = weights > 0 ? sum / weights : 0;
    for (size_t i = 0; i < n; i++)
        s->weighted[i] *= now[i] - mean;
}

void fl_scene_push(struct fl_scene *s, const uint8_t *picture,
                   struct fl_scene_peak peaks[FL_SCENE_PEAKS], float *zero_height)
{
    float *now = s->small[s->pushed % RING];
    reduce_by_two(s, picture, now);
    weigh(s, now);
    float *spectrum = s->spectrum[s->pushed % (BACK + 1)];
    fl_fft2_forward(s->fft, s->weighted, spectrum);
    memset(peaks, 0, FL_SCENE_PEAKS * sizeof *peaks);
    *zero_height = 0;
    if (s->pushed >= BACK) {
        struct fl_peak found[FL_SCENE_PEAKS + 1];
        fl_phase_surface(s->fft, s->spectrum[(s->pushed - BACK) % (BACK + 1)], spectrum, s->surface);
        int n = fl_phase_peaks(s->fft, s->surface, found, FL_SCENE_PEAKS + 1, 2), k = 0;
        *zero_height = s->surface[0];
        for (int i = 0; i < n && k < FL_SCENE_PEAKS; i++)
            if (hypotf(found[i].x, found[i].y) >= 1.0f)
                peaks[k++] = (struct fl_scene_peak){2 * found[i].x, 2 * found[i].y, found[i].height};
        if (k && peaks[0].height > 0.06f && hypotf(peaks[0].x, peaks[0].y) > 4 && s->pushed >= LEARN_BACK)
            learn_mask(s, now, s->small[(s->pushed - LEARN_BACK) % RING]);
    }
    s->pushed++;
}
