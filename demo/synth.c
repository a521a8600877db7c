#include "synth.h"

#include <limits.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "base/mem.h"

/* Block sides in px of the level: 16 at full size, 8 at the smaller ones, so a coarse block covers
 * two by two finer ones, except at half size, whose grid is that of the full size. */
static const int SIDE[ST_SCALES] = {16, 8, 8, 8};

/* ---- pyramid ---- */

void st_pyramid_init(struct st_pyramid *p, int width, int height)
{
    for (int i = 0; i < ST_SCALES; i++) {
        p->width[i] = width >> i;
        p->height[i] = height >> i;
        p->stride[i] = (p->width[i] + 63) / 64 * 64;
        p->luma[i] = i ? fl_calloc((size_t)p->stride[i] * (size_t)p->height[i] + 64, 1) : NULL;
    }
}

void st_pyramid_finish(struct st_pyramid *p)
{
    for (int i = 1; i < ST_SCALES; i++)
        free(p->luma[i]);
    memset(p, 0, sizeof *p);
}

static void halve_row(uint8_t *restrict to, const uint8_t *restrict top,
                      const uint8_t *restrict low, int n)
{
    for (int i = 0; i < n; i++)
        to[i] = (uint8_t)((top[2 * i] + top[2 * i + 1] + low[2 * i] + low[2 * i + 1] + 2) >> 2);
}

void st_pyramid_fill(struct st_pyramid *p, const struct st_picture *picture)
{
    p->luma[0] = picture->plane[0];
    p->stride[0] = picture->stride[0];
    for (int i = 1; i < ST_SCALES; i++)
        for (int y = 0; y < p->height[i]; y++) {
            const uint8_t *top = p->luma[i - 1] + (ptrdiff_t)(2 * y) * p->stride[i - 1];
            halve_row(p->luma[i] + (ptrdiff_t)y * p->stride[i], top, top + p->stride[i - 1],
                      p->width[i]);
        }
}

/* ---- block cost ---- */

/* Sums of absolute differences; once a half reaches the limit, the other is not looked at. */
#ifdef __SSE2__
static unsigned sum_of(__m128i sum)
{
    return (unsigned)(_mm_cvtsi128_si32(sum) + _mm_cvtsi128_si32(_mm_srli_si128(sum, 8)));
}

static __m128i eight_by_two(const uint8_t *p, ptrdiff_t stride)
{
    return _mm_unpacklo_epi64(_mm_loadl_epi64((const __m128i *)(const void *)p),
                              _mm_loadl_epi64((const __m128i *)(const void *)(p + stride)));
}

static unsigned sad16(const uint8_t *a, ptrdiff_t sa, const uint8_t *b, ptrdiff_t sb,
                      unsigned limit)
{
    unsigned cost = 0;
    for (int half = 0; half < 2 && cost < limit; half++) {
        __m128i sum = _mm_setzero_si128();
        for (int i = 0; i < 8; i++, a += sa, b += sb)
            sum =
                _mm_add_epi64(sum, _mm_sad_epu8(_mm_loadu_si128((const __m128i *)(const void *)a),
                                                _mm_loadu_si128((const __m128i *)(const void *)b)));
        cost += sum_of(sum);
    }
    return cost;
}

static unsigned sad8(const uint8_t *a, ptrdiff_t sa, const uint8_t *b, ptrdiff_t sb, unsigned limit)
{
    unsigned cost = 0;
    for (int half = 0; half < 2 && cost < limit; half++) {
        __m128i sum = _mm_setzero_si128();
        for (int i = 0; i < 4; i += 2, a += 2 * sa, b += 2 * sb)
            sum = _mm_add_epi64(sum, _mm_sad_epu8(eight_by_two(a, sa), eight_by_two(b, sb)));
        cost += sum_of(sum);
    }
    return cost;
}
#else
static unsigned sad_any(const uint8_t *a, ptrdiff_t sa, const uint8_t *b, ptrdiff_t sb, int side,
                        unsigned limit)
{
    unsigned sum = 0;
    for (int j = 0; j < side && sum < limit; j++, a += sa, b += sb)
        for (int i = 0; i < side; i++)
            sum += (unsigned)abs(a[i] - b[i]);
    return sum;
}

static unsigned sad16(const uint8_t *a, ptrdiff_t sa, const uint8_t *b, ptrdiff_t sb,
                      unsigned limit)
{
    return sad_any(a, sa, b, sb, 16, limit);
}

static unsigned sad8(const uint8_t *a, ptrdiff_t sa, const uint8_t *b, ptrdiff_t sb, unsigned limit)
{
    return sad_any(a, sa, b, sb, 8, limit);
}
#endif

struct block {
    const struct st_pyramid *before, *after;
    int level, x, y, side; /* corner of the block in the new picture, px of the level */
    struct st_vector best;
    unsigned cost;
    unsigned bound; /* of the search: its best costs less */
};

static int between(int v, int low, int high)
{
    return v < low ? low : v > high ? high : v;
}

static int floor_half(int v)
{
    return v >= 0 ? v / 2 : -((1 - v) / 2);
}

/* UINT_MAX where the vector points outside; what reaches the limit may be too little. */
static unsigned cost_below(const struct block *b, int dx, int dy, unsigned limit)
{
    int w = b->before->width[b->level] - b->side, h = b->before->height[b->level] - b->side;
    int x0 = b->x - floor_half(dx), y0 = b->y - floor_half(dy), x1 = x0 + dx, y1 = y0 + dy;
    if (x0 < 0 || y0 < 0 || x1 < 0 || y1 < 0 || x0 > w || y0 > h || x1 > w || y1 > h)
        return UINT_MAX;
    ptrdiff_t sa = b->before->stride[b->level], sb = b->after->stride[b->level];
    const uint8_t *p = b->before->luma[b->level] + y0 * sa + x0,
                  *q = b->after->luma[b->level] + y1 * sb + x1;
    return b->side == 16 ? sad16(p, sa, q, sb, limit) : sad8(p, sa, q, sb, limit);
}

static unsigned cost_of(const struct block *b, int dx, int dy)
{
    return cost_below(b, dx, dy, UINT_MAX);
}

static void try_vector(struct block *b, int dx, int dy, unsigned penalty)
{
    unsigned limit = b->cost < b->bound ? b->cost : b->bound;
    if (penalty >= limit) /* whatever the pictures show there */
        return;
    unsigned cost = cost_below(b, dx, dy, limit - penalty);
    cost = cost < UINT_MAX ? cost + penalty : cost;
    if (cost < limit) {
        b->cost = cost;
        b->best = (struct st_vector){(int16_t)dx, (int16_t)dy};
    }
}

static struct block start_block(const struct st_synth *s, const struct st_pyramid *before,
                                const struct st_pyramid *after, int level, int i, int j)
{
    struct block b = {before,      after,  level,    i * SIDE[level], j * SIDE[level],
                      SIDE[level], {0, 0}, UINT_MAX, UINT_MAX};
    int w = before->width[level] - b.side, h = before->height[level] - b.side;
    (void)s;
    b.x = b.x > w ? w : b.x; /* the last column and row overlap their neighbours */
    b.y = b.y > h ? h : b.y;
    return b;
}

/* ---- search, coarse to fine ---- */

static unsigned coarse_penalty(int dx, int dy)
{
    return 12 + (unsigned)(abs(dx) + abs(dy));
}

/* The whole search finds nothing worse than what the blocks beside have found. */
static void bound_by_neighbours(struct block *b, const struct st_vector *here, int i, int j,
                                int columns)
{
    for (int k = 0; k < 2; k++) {
        if (k ? !j : !i)
            continue;
        struct st_vector v = here[k ? -columns : -1];
        unsigned cost = cost_of(b, v.x, v.y), penalty = coarse_penalty(v.x, v.y);
        if (cost < UINT_MAX && cost + penalty + 1 < b->bound)
            b->bound = cost + penalty + 1;
    }
}

static void search_coarsest(struct st_synth *s, const struct st_pyramid *before,
                            const struct st_pyramid *after)
{
    int level = ST_SCALES - 1, reach_x = 22, reach_y = 8;
    for (int j = 0; j < s->rows[level]; j++)
        for (int i = 0; i < s->columns[level]; i++) {
            struct st_vector *best = &s->field[level][j * s->columns[level] + i];
            struct block b = start_block(s, before, after, level, i, j);
            try_vector(&b, 0, 0, 0);
            bound_by_neighbours(&b, best, i, j, s->columns[level]);
            for (int dy = -reach_y; dy <= reach_y; dy++)
                for (int dx = -reach_x; dx <= reach_x; dx++)
                    try_vector(&b, dx, dy, coarse_penalty(dx, dy));
            *best = b.best;
        }
}

/* Candidates: the coarse vectors around, doubled, those already found beside, and none at all. */
static void refine_block(struct st_synth *s, struct block *b, int i, int j, int coarse, int factor,
                         int shift)
{
    int columns = s->columns[b->level];
    try_vector(b, 0, 0, 0);
    if (!b->cost)
        return;
    for (int v = -1; v <= 1; v++)
        for (int u = -1; u <= 1; u++) {
            int ci = (i >> shift) + u, cj = (j >> shift) + v;
            if ((u && v) || ci < 0 || cj < 0 || ci >= s->columns[coarse] || cj >= s->rows[coarse])
                continue;
            struct st_vector c = s->field[coarse][cj * s->columns[coarse] + ci];
            try_vector(b, factor * c.x, factor * c.y, 8);
        }
    if (i > 0)
        try_vector(b, s->field[b->level][j * columns + i - 1].x,
                   s->field[b->level][j * columns + i - 1].y, 8);
    for (int step = b->level ? 2 : 1; step >= 1; step--) {
        struct st_vector c = b->best;
        for (int v = -step; v <= step; v += step)
            for (int u = -step; u <= step; u += step)
                if (u || v)
                    try_vector(b, c.x + u, c.y + v, 16);
    }
}

/* Quarters of a px that the best vector falls short by along one axis, -2..2: where two straight
 * flanks of equal slope would meet. 0 where the match is perfect, as on a still picture. */
static int short_by(unsigned less, unsigned best, unsigned more)
{
    if (less == UINT_MAX || more == UINT_MAX || best == 0 || (less <= best && more <= best))
        return 0;
    double steeper = (less > more ? less : more) - (double)best;
    return between((int)lround(2 * ((double)less - (double)more) / steeper), -2, 2);
}

static struct st_vector in_quarters(const struct block *b)
{
    int x = b->best.x, y = b->best.y;
    unsigned best = cost_of(b, x, y);
    if (!best)
        return (struct st_vector){(int16_t)(4 * x), (int16_t)(4 * y)};
    int qx = short_by(cost_of(b, x - 1, y), best, cost_of(b, x + 1, y));
    int qy = short_by(cost_of(b, x, y - 1), best, cost_of(b, x, y + 1));
    return (struct st_vector){(int16_t)(4 * x + qx), (int16_t)(4 * y + qy)};
}

static void refine(struct st_synth *s, const struct st_pyramid *before,
                   const struct st_pyramid *after, int level)
{
    int shift = level == 0 ? 0 : 1; /* full size and half size share one grid */
    for (int j = 0; j < s->rows[level]; j++)
        for (int i = 0; i < s->columns[level]; i++) {
            struct block b = start_block(s, before, after, level, i, j);
            refine_block(s, &b, i, j, level + 1, 2, shift);
            s->field[level][j * s->columns[level] + i] = b.best;
            if (level == 0)
                s->quarters[j * s->columns[0] + i] = in_quarters(&b);
        }
}

/* ---- filling the new picture ---- */

enum {
    EIGHTHS = 8, /* of a px */
    SPREAD = 4,  /* how far either sample misses the place where it moves, on both axes */
    SIDE_MAX = 16
};

/* Part of a picture, from a corner in eighths of a px. */
struct source {
    const uint8_t *at;
    ptrdiff_t stride;
    int fx, fy; /* 0..7 */
};

/* The n × n block whose corner lies at (x8, y8), or as near as the plane reaches. */
static struct source source_at(const struct st_picture *p, int plane, int x8, int y8, int n)
{
    int sub = plane ? 2 : 1;
    x8 = between(x8, 0, (p->width / sub - n) * EIGHTHS);
    y8 = between(y8, 0, (p->height / sub - n) * EIGHTHS);
    return (struct source){p->plane[plane] + y8 / EIGHTHS * p->stride[plane] + x8 / EIGHTHS,
                           p->stride[plane], x8 % EIGHTHS, y8 % EIGHTHS};
}

/* Adds 64 × its pixels; to: n rows of SIDE_MAX. Where a fraction is 0 the neighbour beyond the
 * plane's edge is not read. */
static void add_source(uint16_t *restrict to, const struct source *s, int n)
{
    uint16_t wide[(SIDE_MAX + 1) * SIDE_MAX];
    int fx = s->fx, fy = s->fy, next = fx > 0, rows = n + (fy > 0);
    for (int j = 0; j < rows; j++) {
        const uint8_t *restrict a = s->at + j * s->stride, *restrict b = a + next;
        uint16_t *restrict w = wide + j * SIDE_MAX;
        for (int i = 0; i < n; i++)
            w[i] = (uint16_t)(a[i] * (EIGHTHS - fx) + b[i] * fx);
    }
    for (int j = 0; j < n; j++) {
        const uint16_t *restrict a = wide + j * SIDE_MAX, *restrict b = fy ? a + SIDE_MAX : a;
        uint16_t *restrict t = to + j * SIDE_MAX;
        for (int i = 0; i < n; i++)
            t[i] = (uint16_t)(t[i] + a[i] * (EIGHTHS - fy) + b[i] * fy);
    }
}

/* Whole pixels of both. */
static void mean_of_rows(uint8_t *restrict out, ptrdiff_t stride, const struct source *a,
                         const struct source *b, int n)
{
    for (int j = 0; j < n; j++) {
        const uint8_t *restrict p = a->at + j * a->stride, *restrict q = b->at + j * b->stride;
        for (int i = 0; i < n; i++)
            out[j * stride + i] = (uint8_t)((p[i] + q[i] + 1) >> 1);
    }
}

static void mean_of_two(uint8_t *out, ptrdiff_t stride, const struct source *a,
                        const struct source *b, int n)
{
    if (!(a->fx | a->fy | b->fx | b->fy)) {
        mean_of_rows(out, stride, a, b, n);
        return;
    }
    uint16_t sum[SIDE_MAX * SIDE_MAX] = {0};
    add_source(sum, a, n);
    add_source(sum, b, n);
    for (int j = 0; j < n; j++)
        for (int i = 0; i < n; i++)
            out[j * stride + i] = (uint8_t)((sum[j * SIDE_MAX + i] + 64) >> 7);
}

/* One plane of one block: what lies part of the vector back in the picture before and the rest of
 * it on in the one after. A quarter px of the vector is an eighth of half of it. Two pictures of a
 * moving scene never fit quite: their mean is a little blurred, as if sampled half a px apart. */
static void fill_block(const struct st_picture *before, const struct st_picture *after,
                       struct st_picture *out, int plane, int x, int y, struct st_vector quarters,
                       double part)
{
    int sub = plane ? 2 : 1, n = SIDE[0] / sub;
    int spread = !plane && (quarters.x || quarters.y) ? SPREAD : 0;
    int back_x = (int)lround(2 * part * quarters.x / sub),
        back_y = (int)lround(2 * part * quarters.y / sub);
    int on_x = 2 * quarters.x / sub - back_x, on_y = 2 * quarters.y / sub - back_y;
    x = between(x / sub, 0, out->width / sub - n);
    y = between(y / sub, 0, out->height / sub - n);
    struct source a =
        source_at(before, plane, x * EIGHTHS - back_x - spread, y * EIGHTHS - back_y - spread, n);
    struct source b =
        source_at(after, plane, x * EIGHTHS + on_x + spread, y * EIGHTHS + on_y + spread, n);
    mean_of_two(out->plane[plane] + y * out->stride[plane] + x, out->stride[plane], &a, &b, n);
}

static void fill(const struct st_synth *s, const struct st_picture *before,
                 const struct st_picture *after, double part, struct st_picture *out)
{
    for (int j = 0; j < s->rows[0]; j++)
        for (int i = 0; i < s->columns[0]; i++) {
            struct st_vector v = s->quarters[j * s->columns[0] + i];
            for (int plane = 0; plane < 3; plane++)
                fill_block(before, after, out, plane, i * SIDE[0], j * SIDE[0], v, part);
        }
}

/* ---- */

void st_synth_init(struct st_synth *s, int width, int height)
{
    for (int i = 0; i < ST_SCALES; i++) {
        s->columns[i] = ((width >> i) + SIDE[i] - 1) / SIDE[i];
        s->rows[i] = ((height >> i) + SIDE[i] - 1) / SIDE[i];
        s->field[i] = fl_calloc((size_t)s->columns[i] * (size_t)s->rows[i], sizeof *s->field[i]);
    }
    s->quarters = fl_calloc((size_t)s->columns[0] * (size_t)s->rows[0], sizeof *s->quarters);
}

void st_synth_finish(struct st_synth *s)
{
    for (int i = 0; i < ST_SCALES; i++)
        free(s->field[i]);
    free(s->quarters);
    memset(s, 0, sizeof *s);
}

void st_synthesise(struct st_synth *s, const struct st_pyramid *before,
                   const struct st_picture *before_picture, const struct st_pyramid *after,
                   const struct st_picture *after_picture, double part, struct st_picture *out)
{
    search_coarsest(s, before, after);
    for (int level = ST_SCALES - 2; level >= 0; level--)
        refine(s, before, after, level);
    fill(s, before_picture, after_picture, part, out);
}
