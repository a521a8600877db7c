#include "texture.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "letter.h"

void st_canvas_init(struct st_canvas *c, int width, int height)
{
    size_t n = (size_t)width * (size_t)height;
    c->width = width;
    c->height = height;
    c->y = fl_calloc(n, sizeof *c->y);
    c->u = fl_calloc(n, 1);
    c->v = fl_calloc(n, 1);
}

void st_canvas_finish(struct st_canvas *c)
{
    free(c->y);
    free(c->u);
    free(c->v);
}

/* ---- noise that wraps around ---- */

static float lattice(int x, int y, uint64_t seed)
{
    return (float)(st_mix(seed + (uint64_t)x * 0x9e3779b1u + (uint64_t)y * 0x85ebca77u) >> 40) *
           0x1p-24f;
}

/* Value noise with cells across each axis, smooth, 0..1, periodic in the unit square. */
static float value_noise(float x, float y, int cells, uint64_t seed)
{
    float fx = x * (float)cells, fy = y * (float)cells;
    int ix = (int)floorf(fx), iy = (int)floorf(fy);
    float tx = fx - (float)ix, ty = fy - (float)iy;
    int x0 = (ix % cells + cells) % cells, y0 = (iy % cells + cells) % cells;
    int x1 = (x0 + 1) % cells, y1 = (y0 + 1) % cells;
    tx = tx * tx * (3 - 2 * tx);
    ty = ty * ty * (3 - 2 * ty);
    float a = lattice(x0, y0, seed), b = lattice(x1, y0, seed);
    float c = lattice(x0, y1, seed), d = lattice(x1, y1, seed);
    return a + (b - a) * tx + (c - a + (a - b - c + d) * tx) * ty;
}

/* Sum of octaves from first_cells up, 0..1. */
static float fractal(float x, float y, int first_cells, int octaves, uint64_t seed)
{
    float sum = 0, weight = 0, w = 1;
    for (int i = 0; i < octaves; i++, w *= 0.6f) {
        sum += w * value_noise(x, y, first_cells << i, seed + (uint64_t)i);
        weight += w;
    }
    return sum / weight;
}

/* ---- patterns: each gives the luma of one point of the unit square ---- */

/* Distance to the nearest joint of a running bond, in units of a row's height; tone of the brick.
 */
static float bond(float x, float y, int rows, int columns, float *tone, uint64_t seed)
{
    float ry = y * (float)rows;
    int row = (int)ry;
    float rx = x * (float)columns + (row % 2 ? 0.5f : 0);
    int column = (int)rx % columns;
    float fx = rx - floorf(rx), fy = ry - (float)row;
    float aspect = (float)rows / (float)columns;
    *tone = lattice(column, row, seed);
    float dx = fminf(fx, 1 - fx) * aspect, dy = fminf(fy, 1 - fy);
    return fminf(dx, dy);
}

static float masonry(float x, float y, int rows, int columns, const struct st_paint *p,
                     uint64_t seed)
{
    float tone, edge = bond(x, y, rows, columns, &tone, seed);
    float grain = fractal(x, y, 16, 5, seed + 7) - 0.5f;
    float wear = fractal(x, y, 3, 3, seed + 13) - 0.5f;
    float face = p->light * (0.72f + 0.36f * tone) + p->contrast * grain + 0.15f * wear;
    float t = fl_clamp((edge - 0.035f + 0.05f * grain) / 0.05f, 0, 1);
    float bevel = edge < 0.14f ? 0.06f : 0;
    return p->dark + (face + bevel - p->dark) * t;
}

static float planks(float x, float y, const struct st_paint *p, uint64_t seed)
{
    int n = 8, i = (int)(x * (float)n);
    float f = x * (float)n - (float)i, edge = fminf(f, 1 - f);
    float tone = lattice(i, 3, seed);
    float shift = tone * 7;
    float grain = value_noise(x * 1.0f, y * 0.06f + shift, 128, seed) - 0.5f;
    float rings = 0.5f + 0.5f * sinf(60 * (fractal(x, y + shift, 4, 3, seed + 5)));
    float face = p->light * (0.75f + 0.3f * tone) + p->contrast * (grain + 0.3f * (rings - 0.5f));
    float end = fabsf(y - lattice(i, 9, seed));
    if (edge < 0.03f || end < 0.004f)
        return p->dark;
    return face;
}

static float plates(float x, float y, const struct st_paint *p, uint64_t seed)
{
    int n = 4;
    float fx = x * (float)n, fy = y * (float)n;
    int ix = (int)fx, iy = (int)fy;
    fx -= (float)ix;
    fy -= (float)iy;
    float edge = fminf(fminf(fx, 1 - fx), fminf(fy, 1 - fy));
    float face = p->light * (0.8f + 0.25f * lattice(ix, iy, seed));
    face += p->contrast * (fractal(x, y, 8, 5, seed) - 0.5f);
    face += 0.5f * p->contrast * (value_noise(x * 0.1f, y, 256, seed + 3) - 0.5f); /* brushed */
    float rx = fabsf(fx - 0.5f) - 0.42f, ry = fabsf(fy - 0.5f) - 0.42f;
    float mid = fminf(hypotf(rx, ry), fminf(hypotf(rx, fy - 0.5f), hypotf(fx - 0.5f, ry)));
    if (mid < 0.028f)
        face += 0.22f * (1 - mid / 0.028f) - 0.05f;
    else if (mid < 0.045f)
        face -= 0.12f;
    return edge < 0.018f ? p->dark : face;
}

/* Pebbles: nearest and second nearest of jittered points. */
static float gravel(float x, float y, const struct st_paint *p, uint64_t seed)
{
    int n = 40;
    float fx = x * (float)n, fy = y * (float)n, best = 9, second = 9, tone = 0;
    int ix = (int)fx, iy = (int)fy;
    for (int j = -1; j <= 1; j++)
        for (int i = -1; i <= 1; i++) {
            int cx = (ix + i + n) % n, cy = (iy + j + n) % n;
            float px = (float)(ix + i) + lattice(cx, cy, seed),
                  py = (float)(iy + j) + lattice(cx, cy, seed + 1);
            float d = hypotf(px - fx, py - fy);
            if (d < best) {
                second = best;
                best = d;
                tone = lattice(cx, cy, seed + 2);
            } else if (d < second) {
                second = d;
            }
        }
    float t = fl_clamp((second - best) / 0.25, 0, 1);
    float face = p->light * (0.6f + 0.6f * tone) - 0.1f * best +
                 p->contrast * (fractal(x, y, 32, 4, seed) - 0.5f);
    face *= 0.8f + 0.4f * fractal(x, y, 3, 3, seed + 4);
    return p->dark + (face - p->dark) * t;
}

static float leaves(float x, float y, const struct st_paint *p, uint64_t seed)
{
    float a = fractal(x, y, 12, 5, seed), b = fractal(x, y, 30, 3, seed + 11);
    float depth = fl_clamp((a - 0.38) * 5, 0, 1);
    return p->dark + (p->light * (0.5f + 0.8f * b) - p->dark) * depth +
           p->contrast * (value_noise(x, y, 128, seed + 5) - 0.5f) * depth;
}

static float crate(float x, float y, const struct st_paint *p, uint64_t seed)
{
    float edge = fminf(fminf(x, 1 - x), fminf(y, 1 - y));
    float diagonal = fminf(fabsf(x - y), fabsf(1 - x - y));
    bool frame = edge < 0.1f, brace = diagonal < 0.06f;
    float along = frame && (y < 0.1f || y > 0.9f) ? x : y;
    float grain = value_noise(along * 0.07f, frame || brace ? x + y : x, 96, seed) - 0.5f;
    float face = (frame || brace ? 1.0f : 0.72f) * p->light + p->contrast * grain;
    face += 0.12f * (fractal(x, y, 4, 4, seed + 2) - 0.5f);
    if ((frame && edge > 0.088f) || (brace && !frame && diagonal > 0.05f))
        return p->dark;
    if (!frame && !brace && fmodf(x * 6, 1) < 0.06f)
        return p->dark;
    return face;
}

static float pattern_luma(enum st_pattern pattern, float x, float y, const struct st_paint *p,
                          uint64_t seed)
{
    switch (pattern) {
    case ST_BRICK: return masonry(x, y, 20, 8, p, seed);
    case ST_BLOCKS: return masonry(x, y, 6, 4, p, seed);
    case ST_TILES: {
        float tone, edge = bond(x, y, 8, 8, &tone, seed);
        float face =
            p->light * (0.85f + 0.2f * tone) + p->contrast * (fractal(x, y, 8, 5, seed) - 0.5f);
        return edge < 0.03f ? p->dark : face;
    }
    case ST_PLANKS: return planks(x, y, p, seed);
    case ST_PLATES: return plates(x, y, p, seed);
    case ST_GRAVEL: return gravel(x, y, p, seed);
    case ST_LEAVES: return leaves(x, y, p, seed);
    case ST_CRATE: return crate(x, y, p, seed);
    case ST_CLOUDS:
        return p->dark +
               (p->light - p->dark) * fl_clamp((fractal(x, y, 3, 6, seed) - 0.35) * 2.6, 0, 1);
    case ST_PLASTER: break;
    }
    return p->light + p->contrast * (fractal(x, y, 5, 5, seed) - 0.5f);
}

void st_paint_pattern(struct st_canvas *c, enum st_pattern pattern, const struct st_paint *paint,
                      uint64_t seed)
{
    for (int j = 0; j < c->height; j++)
        for (int i = 0; i < c->width; i++) {
            size_t k = (size_t)j * (size_t)c->width + (size_t)i;
            float x = ((float)i + 0.5f) / (float)c->width, y = ((float)j + 0.5f) / (float)c->height;
            c->y[k] = pattern_luma(pattern, x, y, paint, seed);
            float stain = 10 * (value_noise(x, y, 6, seed + 21) - 0.5f);
            float strength = (float)fl_clamp(c->y[k] / fmaxf(paint->light, 0.05f), 0.2, 1.2);
            c->u[k] = (uint8_t)fl_clamp(128 + (float)(paint->u - 128) * strength - stain, 16, 240);
            c->v[k] = (uint8_t)fl_clamp(128 + (float)(paint->v - 128) * strength + stain, 16, 240);
        }
}

/* ---- signs ---- */

static void ink_text(struct st_canvas *c, const char *line, int y0, int scale, float ink, int u,
                     int v)
{
    int x0 = (c->width - scale * (ST_LETTER_STEP * (int)strlen(line) - 1)) / 2;
    for (; *line; line++, x0 += ST_LETTER_STEP * scale)
        for (int j = 0; j < ST_LETTER_HEIGHT * scale; j++)
            for (int i = 0; i < ST_LETTER_WIDTH * scale; i++) {
                int x = x0 + i, y = y0 + j;
                if (x < 0 || y < 0 || x >= c->width || y >= c->height ||
                    !st_letter(*line, i / scale, j / scale))
                    continue;
                size_t k = (size_t)y * (size_t)c->width + (size_t)x;
                c->y[k] = ink;
                c->u[k] = (uint8_t)u;
                c->v[k] = (uint8_t)v;
            }
}

void st_paint_sign(struct st_canvas *c, const char *text, const struct st_paint *board, float ink,
                   int ink_u, int ink_v)
{
    st_paint_pattern(c, ST_PLASTER, board, 77);
    int border = c->height / 16, lines = 1, longest = 1, here = 0;
    for (const char *s = text; *s; s++) {
        here = *s == '\n' ? 0 : here + 1;
        lines += *s == '\n';
        longest = here > longest ? here : longest;
    }
    for (int j = 0; j < c->height; j++)
        for (int i = 0; i < c->width; i++) {
            int edge = (int)fmin(fmin(i, c->width - 1 - i), fmin(j, c->height - 1 - j));
            if (edge > border / 2 && edge <= border)
                c->y[(size_t)j * (size_t)c->width + (size_t)i] = ink;
        }
    int by_width = (c->width - 4 * border) / (ST_LETTER_STEP * longest);
    int by_height = (c->height - 4 * border) / (lines * (ST_LETTER_HEIGHT + 2));
    int scale = by_width < by_height ? by_width : by_height;
    scale = scale < 1 ? 1 : scale;
    int y = (c->height - scale * (lines * (ST_LETTER_HEIGHT + 2) - 2)) / 2;
    char line[64];
    while (*text) {
        size_t n = strcspn(text, "\n"), m = n < sizeof line - 1 ? n : sizeof line - 1;
        memcpy(line, text, m);
        line[m] = 0;
        ink_text(c, line, y, scale, ink, ink_u, ink_v);
        y += scale * (ST_LETTER_HEIGHT + 2);
        text += n + (text[n] == '\n');
    }
}

/* ---- mip levels ---- */

static int bits_of(int side)
{
    int b = 0;
    while (1 << b < side)
        b++;
    return b;
}

static void pack_level(struct st_level *l, const struct st_canvas *c)
{
    int w = c->width, h = c->height;
    l->width_bits = bits_of(w);
    l->height_bits = bits_of(h);
    l->quad = fl_calloc((size_t)w * (size_t)h, sizeof *l->quad);
    l->chroma = fl_calloc((size_t)w * (size_t)h, sizeof *l->chroma);
    for (int j = 0; j < h; j++)
        for (int i = 0; i < w; i++) {
            uint32_t q = 0;
            for (int k = 0; k < 4; k++) {
                int x = (i + (k >> 1)) % w, y = (j + (k & 1)) % h;
                float value = 219 * c->y[(size_t)y * (size_t)w + (size_t)x];
                q |= (uint32_t)(fl_clamp(value, 0, 219) + 0.5) << (8 * k);
            }
            size_t k = (size_t)j * (size_t)w + (size_t)i;
            l->quad[k] = q;
            l->chroma[k] = (uint16_t)(c->u[k] | c->v[k] << 8);
        }
}

static void halve(struct st_canvas *to, const struct st_canvas *from)
{
    st_canvas_init(to, from->width / 2, from->height / 2);
    for (int j = 0; j < to->height; j++)
        for (int i = 0; i < to->width; i++) {
            size_t k = (size_t)j * (size_t)to->width + (size_t)i;
            size_t s = (size_t)(2 * j) * (size_t)from->width + (size_t)(2 * i),
                   d = s + (size_t)from->width;
            to->y[k] = 0.25f * (from->y[s] + from->y[s + 1] + from->y[d] + from->y[d + 1]);
            to->u[k] =
                (uint8_t)((from->u[s] + from->u[s + 1] + from->u[d] + from->u[d + 1] + 2) / 4);
            to->v[k] =
                (uint8_t)((from->v[s] + from->v[s + 1] + from->v[d] + from->v[d + 1] + 2) / 4);
        }
}

void st_texture_init(struct st_texture *t, const struct st_canvas *c)
{
    struct st_canvas now, next;
    st_canvas_init(&now, c->width, c->height);
    size_t n = (size_t)c->width * (size_t)c->height;
    memcpy(now.y, c->y, n * sizeof *c->y);
    memcpy(now.u, c->u, n);
    memcpy(now.v, c->v, n);
    t->width = c->width;
    t->height = c->height;
    for (int i = 0; i < ST_LEVELS; i++) {
        pack_level(&t->level[i], &now);
        if (now.width < 4 || now.height < 4)
            continue;
        halve(&next, &now);
        st_canvas_finish(&now);
        now = next;
    }
    st_canvas_finish(&now);
}

void st_texture_finish(struct st_texture *t)
{
    for (int i = 0; i < ST_LEVELS; i++) {
        free(t->level[i].quad);
        free(t->level[i].chroma);
    }
}
