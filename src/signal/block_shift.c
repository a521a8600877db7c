/* Block matching in two dimensions on a picture reduced once more, by mean absolute difference.
 *
 * Blocks are large and few, and the search starts from the scene's own shift, so that all of it
 * costs less than a look at the rows. Pictures some frames apart are compared: slow motion then
 * spans pixels, and a tear, which parts two output frames, weighs less. */
#include "signal/block_shift.h"

#include <limits.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/scene_shift.h"

enum {
    COARSE = 160, /* least columns of the reduced picture: under 240 */
    LONGEST = 4,  /* frames between the pictures compared */
    RING = LONGEST + 1,
    ROUGH = 3,           /* one row in so many is enough to find the best match */
    REACH = 8,           /* reduced px searched each way about the scene's own shift */
    FEW = FL_BLOCKS / 4, /* blocks that tell: fewer are tried again over one frame */
    LEAST_ROWS = 40,     /* of a reduced picture that holds blocks */
    VECTOR = 16          /* pixels that are compared at once */
};
/* Choices. */
static const struct {
    float share;   /* of the picture's size: what moves further is compared over fewer frames */
    float wide;    /* a turn moves the edges of the picture by so much more than its middle: between
                      what fields of view of 60 and 110 degrees make */
    float quality; /* of a scene's shift from which the search starts there */
    float same;    /* grey levels: a block that differs less has not moved */
    float noise;   /* grey levels of difference that coding makes */
    uint8_t sure;  /* from here on a block tells */
} model = {.share = 0.1f, .wide = 0.7f, .quality = 0.3f, .same = 0.25f, .noise = 1, .sure = 40};

struct matcher {
    struct fl_grid reduced; /* of the working picture */
    int factor, w, h;
    uint8_t *picture[RING]; /* each with VECTOR bytes to spare at its end */
    /* The block at hand, and 255 where it is: rows filled up to whole vectors with zeros. */
    uint8_t *block, *inside;
    int wide; /* of their rows */
};

static int whole_vectors(int n)
{
    return (n + VECTOR - 1) / VECTOR * VECTOR;
}

static void open_blocks(void *state, const struct fl_grid *g)
{
    struct matcher *m = state;
    m->factor = g->width / COARSE > 1 ? g->width / COARSE : 1;
    m->w = g->width / m->factor;
    m->h = g->height / m->factor;
    m->reduced = (struct fl_grid){.native_width = g->width,
                                  .native_height = g->height,
                                  .factor = m->factor,
                                  .width = m->w,
                                  .height = m->h,
                                  .stride = m->w};
    for (int i = 0; i < RING; i++)
        m->picture[i] = fl_calloc((size_t)m->w * (size_t)m->h + VECTOR, 1);
    m->wide = whole_vectors(m->w / FL_BLOCKS_ACROSS + 1);
    m->block = fl_calloc((size_t)m->h / FL_BLOCKS_DOWN + 1, (size_t)m->wide);
    m->inside = fl_calloc(1, (size_t)m->wide);
}

static void close_blocks(void *state)
{
    struct matcher *m = state;
    for (int i = 0; i < RING; i++)
        free(m->picture[i]);
    free(m->block);
    free(m->inside);
}

struct box {
    int x0, y0, w, h;
};

static struct box box_of(int w, int h, int block)
{
    int c = block % FL_BLOCKS_ACROSS, r = block / FL_BLOCKS_ACROSS;
    int x0 = c * w / FL_BLOCKS_ACROSS, y0 = r * h / FL_BLOCKS_DOWN;
    return (struct box){x0, y0, (c + 1) * w / FL_BLOCKS_ACROSS - x0,
                        (r + 1) * h / FL_BLOCKS_DOWN - y0};
}

void fl_block_middle(const struct fl_grid *g, int block, double *x, double *y)
{
    struct box b = box_of(g->width, g->height, block);
    *x = b.x0 + b.w / 2.0;
    *y = b.y0 + b.h / 2.0;
}

/* Two reduced pictures and a block of the later, which the matcher holds. */
struct pair {
    const struct matcher *m;
    const uint8_t *before, *now;
    struct box box;
};

static void take_block(struct matcher *m, const struct pair *p)
{
    memset(m->inside, 0, (size_t)m->wide);
    memset(m->inside, UINT8_MAX, (size_t)p->box.w);
    for (int y = 0; y < p->box.h; y++) {
        memset(m->block + y * m->wide, 0, (size_t)m->wide);
        memcpy(m->block + y * m->wide, p->now + (p->box.y0 + y) * m->w + p->box.x0,
               (size_t)p->box.w);
    }
}

/* Whole vectors, without a rest to be done one by one: what lies past the block counts nothing. */
static unsigned row_difference(const uint8_t *restrict block, const uint8_t *restrict before,
                               const uint8_t *restrict inside, int wide)
{
    unsigned sum = 0;
    for (int x = 0; x < wide / VECTOR * VECTOR; x++) {
        const uint8_t was = before[x] & inside[x];
        sum += (unsigned)abs(block[x] - was);
    }
    return sum;
}

enum { OUTSIDE = -1 };

/* Sum of |now(x, y) - before(x - dx, y - dy)| over the block, one row in `every`; OUTSIDE where it
 * was not all inside. Past `enough` any sum that large may come, as rows are left out. */
static long sum_at(const struct pair *p, int dx, int dy, int every, long enough)
{
    const struct matcher *m = p->m;
    int x0 = p->box.x0 - dx, y0 = p->box.y0 - dy;
    if (x0 < 0 || y0 < 0 || x0 + p->box.w > m->w || y0 + p->box.h > m->h)
        return OUTSIDE;
    const int wide = whole_vectors(p->box.w);
    long sum = 0;
    for (int y = every / 2; y < p->box.h && sum <= enough; y += every)
        sum += row_difference(m->block + y * m->wide, p->before + (y0 + y) * m->w + x0, m->inside,
                              wide);
    return sum;
}

/* Mean over the block; -1 where it was not all inside. */
static float cost_at(const struct pair *p, int dx, int dy)
{
    const long sum = sum_at(p, dx, dy, 1, LONG_MAX);
    return sum == OUTSIDE ? -1 : (float)sum / (float)(p->box.w * p->box.h);
}

struct match {
    int x, y;
    float cost; /* -1: none */
};

/* The first of the best, row by row. The middle is tried before the others: where the scene moves
 * as it does as a whole, little is left to be summed up elsewhere. */
static struct match search(const struct pair *p, int cx, int cy)
{
    struct match best = {0, 0, cost_at(p, 0, 0)};
    if (best.cost >= 0 && best.cost < model.same)
        return best;
    const long middle = sum_at(p, cx, cy, ROUGH, LONG_MAX);
    long least = middle == OUTSIDE ? LONG_MAX : middle;
    bool first = true; /* the middle is the best so far, and comes after what is tried */
    best = (struct match){cx, cy, -1};
    for (int dy = cy - REACH; dy <= cy + REACH; dy++)
        for (int dx = cx - REACH; dx <= cx + REACH; dx++) {
            if (dx == cx && dy == cy)
                first = false;
            const long sum = sum_at(p, dx, dy, ROUGH, least);
            if (sum != OUTSIDE && (sum < least || (sum == least && first))) {
                least = sum;
                best.x = dx;
                best.y = dy;
                first = false;
            }
        }
    if (least < LONG_MAX)
        best.cost = cost_at(p, best.x, best.y);
    return best;
}

/* Where two lines of one slope meet (see signal/bands.c), and how sharply the match falls off, of
 * what it differs by on one side and on the other. -1 outside the picture. */
static float fine(float best, float less, float more, uint8_t *sure)
{
    *sure = 0;
    if (less < best || more < best)
        return 0;
    float steeper = fmaxf(less, more) - best, flatter = fminf(less, more) - best;
    float rise = (steeper + flatter) / 2;
    *sure = (uint8_t)(255 * rise / (rise + best + model.noise));
    return steeper > 0 ? (less - more) / (2 * steeper) : 0;
}

static int16_t parts(float reduced_px, const struct matcher *m, int back)
{
    float v = reduced_px * (float)(m->factor * FL_BLOCK_PARTS) / (float)back;
    return (int16_t)fl_clamp(lrintf(v), INT16_MIN, INT16_MAX);
}

static void measure(struct fl_block *out, const struct pair *p, int cx, int cy, int back)
{
    struct match m = search(p, cx, cy);
    *out = (struct fl_block){0};
    if (m.cost < 0)
        return;
    float x = fine(m.cost, cost_at(p, m.x - 1, m.y), cost_at(p, m.x + 1, m.y), &out->sure_x),
          y = fine(m.cost, cost_at(p, m.x, m.y - 1), cost_at(p, m.x, m.y + 1), &out->sure_y);
    out->x = parts((float)m.x + x, p->m, back);
    out->y = parts((float)m.y + y, p->m, back);
}

/* The scene's own shift over the last `back` frames, reduced px. */
static void predict(const struct matcher *m, const struct fl_signal_view *v, int back, float *x,
                    float *y)
{
    *x = *y = 0;
    for (int k = 0; k < back; k++) {
        const struct fl_scene_shift *s = fl_scene_shifts(v->s, v->frame - (size_t)k);
        *x += s->quality > model.quality ? s->x / (float)m->factor : 0;
        *y += s->quality > model.quality ? s->y / (float)m->factor : 0;
    }
}

/* From the middle of the picture to that of the block, in half widths of the picture. */
static float edge(int from, int length, int whole)
{
    return (2 * (float)from + (float)length - (float)whole) / (float)whole;
}

/* Against the picture `back` frames before; returns how many blocks tell. */
static int compare(struct matcher *m, const struct fl_signal_view *v, int back,
                   struct fl_block_shifts *out)
{
    struct pair p = {
        m, m->picture[(v->frame - (size_t)back) % RING], m->picture[v->frame % RING], {0}};
    float x, y;
    int tell = 0;
    predict(m, v, back, &x, &y);
    for (int i = 0; i < FL_BLOCKS; i++) {
        struct fl_block *b = &out->block[i];
        p.box = box_of(m->w, m->h, i);
        float across = edge(p.box.x0, p.box.w, m->w),
              down = edge(p.box.y0 + (m->w - m->h) / 2, p.box.h, m->w);
        take_block(m, &p);
        measure(b, &p, (int)lrintf(x * (1 + model.wide * across * across)),
                (int)lrintf(y * (1 + model.wide * down * down)), back);
        tell += b->sure_x >= model.sure || b->sure_y >= model.sure;
    }
    out->back = back;
    return tell;
}

/* What moves far is compared over fewer frames, and so is what changes its size. */
static void settle(void *state, const struct fl_signal_view *v, void *row)
{
    struct matcher *m = state;
    int back = LONGEST;
    float x = 0, y = 0;
    fl_picture_reduce(&m->reduced, v->now, v->s->grid.stride, m->picture[v->frame % RING]);
    if (v->frame < LONGEST || m->h < LEAST_ROWS)
        return;
    for (;; back /= 2) {
        predict(m, v, back, &x, &y);
        if (back == 1 ||
            (fabsf(x) < model.share * (float)m->w && fabsf(y) < model.share * (float)m->h))
            break;
    }
    struct fl_block_shifts near, *out = row;
    bool seen = fl_scene_shifts(v->s, v->frame)->quality > model.quality;
    int tell = compare(m, v, back, out);
    if (back > 1 && tell < FEW && !seen && compare(m, v, 1, &near) > tell)
        *out = near;
}

static void blank(const struct fl_grid *grid, void *row)
{
    (void)grid;
    ((struct fl_block_shifts *)row)->back = 0;
}

const struct fl_signal_kind fl_block_shift_signal = {.row_size = sizeof(struct fl_block_shifts),
                                                     .state_size = sizeof(struct matcher),
                                                     .open = open_blocks,
                                                     .settle = settle,
                                                     .close = close_blocks,
                                                     .blank = blank};
