/* Sums over a strip with a row to a lane: each row's sum is made pixel by pixel, as rounding of
 * single precision would have it in plain code, and several rows at once.
 *
 * So that neighbouring rows lie side by side, the strip is first written down column by column; a
 * search by parts of a pixel reads it again and again where it is. */
#include "signal/strip_sums.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

enum { LANES = 4, EDGE = 1 };
typedef float lanes __attribute__((vector_size(LANES * sizeof(float))));
typedef int32_t bits __attribute__((vector_size(LANES * sizeof(int32_t))));

static int width_of(const struct fl_strip *s)
{
    return s->box.x1 - s->box.x0;
}

static int height_of(const struct fl_strip *s)
{
    return s->box.y1 - s->box.y0;
}

void fl_strip_open(struct fl_strip *s, const struct fl_grid *g, const uint8_t *before,
                   const uint8_t *now, const struct fl_strip_box *box)
{
    *s = (struct fl_strip){.g = g, .before = before, .now = now, .box = *box};
    s->high = (height_of(s) + LANES - 1) / LANES * LANES + 2 * EDGE;
    const size_t n = (size_t)(width_of(s) + 2 * EDGE) * (size_t)s->high;
    s->was = FL_NEW(float, n);
    s->is = FL_NEW(float, n);
}

void fl_strip_close(struct fl_strip *s)
{
    free(s->was);
    free(s->is);
}

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
static bool inside(const struct fl_strip *s, int dx, int dy)
{
    const struct fl_strip_box *b = &s->box;
    return b->x0 + dx >= 1 && b->x1 + dx + 2 <= s->g->width && b->y0 + dy >= 1 &&
           b->y1 + dy + 2 <= s->g->height;
}

static void read_columns(const struct fl_strip *s, const uint8_t *picture, int dx, int dy,
                         float *out)
{
    const int wide = width_of(s) + 2 * EDGE, high = height_of(s) + 2 * EDGE;
    const ptrdiff_t stride = s->g->stride;
    const uint8_t *from = picture + (s->box.y0 + dy - EDGE) * stride + s->box.x0 + dx - EDGE;
    for (int y = 0; y < high; y++)
        for (int x = 0; x < wide; x++)
            out[x * s->high + y] = (float)from[y * stride + x];
}

static void read_at(struct fl_strip *s, const struct place *p)
{
    if (!s->read || p->before_x != s->was_x || p->before_y != s->was_y)
        read_columns(s, s->before, p->before_x, p->before_y, s->was);
    if (!s->read || p->now_x != s->is_x || p->now_y != s->is_y)
        read_columns(s, s->now, p->now_x, p->now_y, s->is);
    s->read = true;
    s->was_x = p->before_x;
    s->was_y = p->before_y;
    s->is_x = p->now_x;
    s->is_y = p->now_y;
}

static inline lanes rows_at(const float *column)
{
    lanes v;
    memcpy(&v, column, sizeof v);
    return v;
}

static inline lanes all(float v)
{
    lanes out;
    for (int i = 0; i < LANES; i++)
        out[i] = v;
    return out;
}

static inline lanes size_of(lanes v)
{
    return (lanes)((bits)v & 0x7fffffff);
}

/* 1, but limit/size from the limit on. */
static inline lanes weight_of(lanes size, lanes limit)
{
    const bits within = size <= limit;
    return (lanes)((within & (bits)all(1)) | (~within & (bits)(limit / size)));
}

/* What one pixel of each row adds. */
struct row_sums {
    lanes xx, xy, yy, xe, ye, abs_e, a, b, aa, bb, ab;
};

static inline void add_pixel(struct row_sums *r, const float *was, const float *is, int high,
                             lanes part_x, lanes part_y, lanes limit)
{
    const lanes corner = rows_at(is), under = rows_at(is + 1);
    const lanes top = corner + part_x * (rows_at(is + high) - corner),
                low = under + part_x * (rows_at(is + high + 1) - under);
    const lanes u = rows_at(was), v = top + part_y * (low - top), e = v - u;
    const lanes gx = 0.5f * (rows_at(was + high) - rows_at(was - high)),
                gy = 0.5f * (rows_at(was + 1) - rows_at(was - 1));
    const lanes w = weight_of(size_of(e), limit);
    r->xx += w * gx * gx;
    r->xy += w * gx * gy;
    r->yy += w * gy * gy;
    r->xe += w * gx * e;
    r->ye += w * gy * e;
    r->abs_e += size_of(e);
    r->a += u;
    r->b += v;
    r->aa += u * u;
    r->bb += v * v;
    r->ab += u * v;
}

static void add_rows(struct fl_strip_sums *s, const struct row_sums *r, int rows)
{
    for (int k = 0; k < rows; k++) {
        s->xx += (double)r->xx[k];
        s->xy += (double)r->xy[k];
        s->yy += (double)r->yy[k];
        s->xe += (double)r->xe[k];
        s->ye += (double)r->ye[k];
        s->abs_e += (double)r->abs_e[k];
        s->a += (double)r->a[k];
        s->b += (double)r->b[k];
        s->aa += (double)r->aa[k];
        s->bb += (double)r->bb[k];
        s->ab += (double)r->ab[k];
    }
}

bool fl_strip_compare(struct fl_strip *s, double x, double y, double limit,
                      struct fl_strip_sums *out)
{
    const struct place p = place_of(x, y);
    const int wide = width_of(s), rows = height_of(s);
    *out = (struct fl_strip_sums){0};
    if (!inside(s, p.before_x, p.before_y) || !inside(s, p.now_x, p.now_y))
        return false;
    read_at(s, &p);
    for (int row = 0; row < rows; row += LANES) {
        struct row_sums r = {0};
        for (int i = EDGE; i < EDGE + wide; i++)
            add_pixel(&r, s->was + i * s->high + row + EDGE, s->is + i * s->high + row + EDGE,
                      s->high, all(p.part_x), all(p.part_y), all((float)limit));
        add_rows(out, &r, rows - row < LANES ? rows - row : LANES);
    }
    out->n = (double)wide * rows;
    return true;
}

double fl_strip_whole_difference(const struct fl_strip *s, int x, int y)
{
    const struct place p = place_of(x, y);
    const int wide = width_of(s);
    unsigned sum = 0, n = 0;
    if (!inside(s, p.before_x, p.before_y) || !inside(s, p.now_x, p.now_y))
        return -1;
    for (int row = s->box.y0; row < s->box.y1; row += 2) {
        const ptrdiff_t stride = s->g->stride;
        const uint8_t *u = s->before + (row + p.before_y) * stride + s->box.x0 + p.before_x,
                      *v = s->now + (row + p.now_y) * stride + s->box.x0 + p.now_x;
        for (int i = 0; i < wide; i++)
            sum += (unsigned)abs(v[i] - u[i]);
        n += (unsigned)wide;
    }
    return (double)sum / n;
}
