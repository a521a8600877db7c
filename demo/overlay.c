#include "overlay.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "letter.h"
#include "rng.h"

/* A small picture with cover 0..255, at even corners. */
struct patch {
    int x, y, width, height;
    uint8_t *luma, *cover, *u, *v, *chroma_cover;
};

enum { MAX_PATCHES = 8 };
struct st_overlay {
    struct patch patch[MAX_PATCHES];
    int n;
    int unit; /* size of a lettering dot */
};

struct colour {
    int y, u, v;
};

static struct patch *add_patch(struct st_overlay *o, int x, int y, int width, int height)
{
    struct patch *p = &o->patch[o->n++];
    *p = (struct patch){x & ~1, y & ~1, width & ~1, height & ~1};
    size_t n = (size_t)p->width * (size_t)p->height;
    p->luma = fl_calloc(n, 1);
    p->cover = fl_calloc(n, 1);
    p->u = fl_calloc(n / 4, 1);
    p->v = fl_calloc(n / 4, 1);
    p->chroma_cover = fl_calloc(n / 4, 1);
    return p;
}

static void dot(struct patch *p, int x, int y, struct colour c, double cover)
{
    if (x < 0 || y < 0 || x >= p->width || y >= p->height || cover <= 0)
        return;
    size_t k = (size_t)y * (size_t)p->width + (size_t)x,
           h = (size_t)(y / 2) * (size_t)(p->width / 2) + (size_t)(x / 2);
    double old = p->cover[k] / 255.0, now = cover + old * (1 - cover);
    p->luma[k] =
        (uint8_t)fl_clamp((c.y * cover + p->luma[k] * old * (1 - cover)) / now + 0.5, 16, 235);
    p->cover[k] = (uint8_t)(255 * now + 0.5);
    p->u[h] = (uint8_t)c.u;
    p->v[h] = (uint8_t)c.v;
    p->chroma_cover[h] = p->cover[k];
}

static void fill(struct patch *p, int x0, int y0, int x1, int y1, struct colour c, double cover)
{
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++)
            dot(p, x, y, c, cover);
}

static void write_text(struct patch *p, int x, int y, int unit, const char *text, struct colour c)
{
    for (; *text; text++, x += ST_LETTER_STEP * unit)
        for (int j = 0; j < ST_LETTER_HEIGHT * unit; j++)
            for (int i = 0; i < ST_LETTER_WIDTH * unit; i++)
                if (st_letter(*text, i / unit, j / unit))
                    dot(p, x + i, y + j, c, 1);
}

/* ---- the parts ---- */

static void make_crosshair(struct st_overlay *o, int w, int h)
{
    int r = h / 40, t = h / 360;
    struct patch *p = add_patch(o, w / 2 - r, h / 2 - r, 2 * r, 2 * r);
    struct colour c = {225, 110, 110};
    for (int i = 0; i < r - r / 3; i++)
        for (int k = -t; k < t; k++) {
            dot(p, i, r + k, c, 0.9);
            dot(p, 2 * r - 1 - i, r + k, c, 0.9);
            dot(p, r + k, i, c, 0.9);
            dot(p, r + k, 2 * r - 1 - i, c, 0.9);
        }
}

static void make_counters(struct st_overlay *o, int w, int h)
{
    int u = o->unit, line = (ST_LETTER_HEIGHT + 3) * u;
    struct patch *p = add_patch(o, w / 40, h - h / 30 - 2 * line - 2 * u, 15 * ST_LETTER_STEP * u,
                                2 * line + 2 * u);
    fill(p, 0, 0, p->width, p->height, (struct colour){30, 128, 128}, 0.45);
    fill(p, 0, 0, u, p->height, (struct colour){200, 80, 140}, 0.9);
    write_text(p, 3 * u, 2 * u, u, "AIR 084", (struct colour){220, 110, 130});
    write_text(p, 3 * u, 2 * u + line, u, "OIL 12/48", (struct colour){200, 60, 150});
}

static void make_map(struct st_overlay *o, int w, int h, uint64_t seed)
{
    int side = h / 5;
    struct patch *p = add_patch(o, w - side - w / 50, h / 30, side, side);
    struct st_rng rng = st_rng(seed, 70);
    fill(p, 0, 0, side, side, (struct colour){40, 132, 122}, 0.6);
    for (int k = 0; k < 9; k++) {
        int x = (int)st_uniform(&rng, 0, side * 0.8), y = (int)st_uniform(&rng, 0, side * 0.8);
        int a = (int)st_uniform(&rng, side * 0.08, side * 0.3),
            b = (int)st_uniform(&rng, side * 0.05, side * 0.2);
        fill(p, x, y, x + a, y + b, (struct colour){110, 128, 124}, 0.8);
    }
    for (int k = 0; k < side; k++)
        for (int e = 0; e < 2; e++) {
            dot(p, k, e, (struct colour){190, 128, 128}, 1);
            dot(p, k, side - 1 - e, (struct colour){190, 128, 128}, 1);
            dot(p, e, k, (struct colour){190, 128, 128}, 1);
            dot(p, side - 1 - e, k, (struct colour){190, 128, 128}, 1);
        }
    int m = side / 2, r = side / 30;
    fill(p, m - r, m - r, m + r, m + r, (struct colour){210, 90, 180}, 1);
}

/* Signed distance to a capsule from a to b with radius r: below 0 inside. */
static double capsule(double x, double y, double ax, double ay, double bx, double by, double r)
{
    double dx = bx - ax, dy = by - ay;
    double t = fl_clamp(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy), 0, 1);
    return hypot(x - ax - t * dx, y - ay - t * dy) - r;
}

/* A surveyor's lamp, held from the lower right: arm, grip, barrel, glass. Unit: picture height. */
static void make_held(struct st_overlay *o, int w, int h, uint64_t seed)
{
    int pw = h * 62 / 100, ph = h * 48 / 100;
    struct patch *p = add_patch(o, w - pw - h / 40, h - ph, pw, ph);
    struct st_rng rng = st_rng(seed, 71);
    static const struct {
        double ax, ay, bx, by, r;
        struct colour c;
        double grain;
    } part[5] = {
        {0.60, 0.62, 0.42, 0.40, 0.085, {70, 134, 120}, 14},  /* sleeve */
        {0.40, 0.38, 0.36, 0.31, 0.060, {120, 108, 150}, 10}, /* glove */
        {0.44, 0.36, 0.14, 0.13, 0.040, {88, 130, 126}, 20},  /* barrel */
        {0.30, 0.21, 0.25, 0.18, 0.056, {54, 128, 128}, 8},   /* ring */
        {0.12, 0.115, 0.10, 0.10, 0.050, {190, 100, 146}, 6}, /* glass */
    };
    for (int k = 0; k < 5; k++)
        for (int y = 0; y < p->height; y++)
            for (int x = 0; x < p->width; x++) {
                double d = capsule((x + 0.5) / h, (y + 0.5) / h, part[k].ax, part[k].ay, part[k].bx,
                                   part[k].by, part[k].r);
                double shade = 0.55 + 0.7 * fl_clamp(-d / part[k].r, 0, 1);
                double grain = part[k].grain * st_normal(&rng) * 0.5;
                struct colour c = {(int)(part[k].c.y * shade + grain), part[k].c.u, part[k].c.v};
                if (fmod((x * 2.0 + y * 3.0) / h * 40, 3) < 0.35 && k < 3)
                    c.y = c.y * 2 / 3;
                dot(p, x, y, c, fl_clamp(0.5 - d * h, 0, 1));
            }
}

/* Shown while the game is paused. */
static void make_menu(struct st_overlay *o, int w, int h)
{
    struct patch *p = add_patch(o, w / 3, h / 4, w / 3, h / 2);
    int u = o->unit;
    static const char *const line[4] = {"PAUSED", "RESUME", "OPTIONS", "LEAVE"};
    fill(p, 0, 0, p->width, p->height, (struct colour){40, 138, 122}, 0.85);
    for (int i = 0; i < 4; i++) {
        int y = p->height / 8 + i * p->height / 5;
        if (i == 1)
            fill(p, p->width / 10, y - 2 * u, p->width * 9 / 10, y + (ST_LETTER_HEIGHT + 2) * u,
                 (struct colour){150, 110, 150}, 0.8);
        int length = (int)strlen(line[i]) * ST_LETTER_STEP * u;
        write_text(p, (p->width - length) / 2, y, u, line[i], (struct colour){225, 128, 128});
    }
}

/* A list of things carried, over a quarter of the picture. */
static void make_panel(struct st_overlay *o, int w, int h)
{
    struct patch *p = add_patch(o, w / 20, h / 12, w * 3 / 10, h * 5 / 6);
    static const char *const line[] = {"ROPE 3",   "LAMP OIL",   "TIDE CHART", "BRASS KEY",
                                       "CHALK 12", "SPARE LENS", "TWINE 40",   "CORK 7"};
    int u = o->unit, step = p->height / 9;
    fill(p, 0, 0, p->width, p->height, (struct colour){48, 134, 122}, 1);
    for (int i = 0; i < 8; i++) {
        int y = step / 2 + i * step;
        fill(p, 2 * u, y - 2 * u, p->width - 2 * u, y + (ST_LETTER_HEIGHT + 2) * u,
             (struct colour){i == 2 ? 130 : 70, 122, 136}, 1);
        write_text(p, 6 * u, y, u, line[i], (struct colour){215, 126, 130});
    }
}

struct st_overlay *st_overlay_new(enum st_place place, int width, int height, bool panel,
                                  uint64_t seed)
{
    struct st_overlay *o = FL_NEW(struct st_overlay, 1);
    o->unit = height / 240 > 1 ? height / 240 : 1;
    make_crosshair(o, width, height);
    make_counters(o, width, height);
    make_map(o, width, height, seed + (uint64_t)place);
    make_held(o, width, height, seed);
    if (panel)
        make_panel(o, width, height);
    make_menu(o, width, height); /* last: drawn only when paused */
    return o;
}

void st_overlay_free(struct st_overlay **overlay)
{
    struct st_overlay *o = *overlay;
    if (!o)
        return;
    for (int i = 0; i < o->n; i++) {
        free(o->patch[i].luma);
        free(o->patch[i].cover);
        free(o->patch[i].u);
        free(o->patch[i].v);
        free(o->patch[i].chroma_cover);
    }
    free(o);
    *overlay = NULL;
}

static void blend_row(uint8_t *restrict to, const uint8_t *restrict from,
                      const uint8_t *restrict cover, int n)
{
    for (int i = 0; i < n; i++)
        to[i] = (uint8_t)(to[i] +
                          (((int)from[i] - (int)to[i]) * (cover[i] + (cover[i] >> 7)) + 128) / 256);
}

static void draw_patch(const struct patch *p, struct st_picture *picture)
{
    for (int y = 0; y < p->height; y++)
        blend_row(picture->plane[0] + (ptrdiff_t)(p->y + y) * picture->stride[0] + p->x,
                  p->luma + (ptrdiff_t)y * p->width, p->cover + (ptrdiff_t)y * p->width, p->width);
    for (int y = 0; y < p->height / 2; y++) {
        ptrdiff_t to = (ptrdiff_t)(p->y / 2 + y) * picture->stride[1] + p->x / 2,
                  from = (ptrdiff_t)y * (p->width / 2);
        blend_row(picture->plane[1] + to, p->u + from, p->chroma_cover + from, p->width / 2);
        blend_row(picture->plane[2] + to, p->v + from, p->chroma_cover + from, p->width / 2);
    }
}

static void draw_timer(const struct st_overlay *o, double game_s, struct st_picture *picture)
{
    char text[16];
    int s = (int)floor(fmax(0, game_s)) % 6000, u = o->unit;
    snprintf(text, sizeof text, "%02d:%02d", s / 60, s % 60);
    int x0 = (picture->width - 5 * ST_LETTER_STEP * u) / 2, y0 = picture->height / 30;
    for (int i = 0; i < 5 * ST_LETTER_STEP * u; i++)
        for (int j = 0; j < ST_LETTER_HEIGHT * u; j++)
            if (i / u % ST_LETTER_STEP < ST_LETTER_WIDTH &&
                st_letter(text[i / u / ST_LETTER_STEP], i / u % ST_LETTER_STEP, j / u))
                picture->plane[0][(ptrdiff_t)(y0 + j) * picture->stride[0] + x0 + i] = 226;
}

void st_overlay_draw(const struct st_overlay *o, double game_s, bool menu,
                     struct st_picture *picture)
{
    for (int i = 0; i < o->n - !menu; i++)
        draw_patch(&o->patch[i], picture);
    draw_timer(o, game_s, picture);
}
