/* A box of colours is cut in two at the median of its longest side, that box first which holds most
 * pixels along the longest side; each box is then one colour, its mean. */
#include "show/draw/colour_cut.h"

#include <stdlib.h>

#include "base/mem.h"

enum { BITS = 5, SIDE = 1 << BITS, TOP = SIDE - 1 };

/* Cells low .. high of each channel, as few as hold its pixels. */
struct box {
    int low[3], high[3];
    uint64_t pixels;
};

int fl_colour_cell(uint32_t rgb)
{
    return (int)((rgb >> 19 & TOP) << 2 * BITS | (rgb >> 11 & TOP) << BITS | (rgb >> 3 & TOP));
}

static int cell_of(const int at[3])
{
    return at[0] << 2 * BITS | at[1] << BITS | at[2];
}

/* Calls for each cell of the box that holds pixels. */
typedef void visit_fn(void *to, const int at[3], uint32_t pixels);

static void visit(const struct box *b, const uint32_t *count, visit_fn *fn, void *to)
{
    int at[3];
    for (at[0] = b->low[0]; at[0] <= b->high[0]; at[0]++)
        for (at[1] = b->low[1]; at[1] <= b->high[1]; at[1]++)
            for (at[2] = b->low[2]; at[2] <= b->high[2]; at[2]++)
                if (count[cell_of(at)])
                    fn(to, at, count[cell_of(at)]);
}

static void enclose(void *to, const int at[3], uint32_t pixels)
{
    struct box *b = to;
    b->pixels += pixels;
    for (int k = 0; k < 3; k++) {
        b->low[k] = at[k] < b->low[k] ? at[k] : b->low[k];
        b->high[k] = at[k] > b->high[k] ? at[k] : b->high[k];
    }
}

static struct box shrunk(const struct box *b, const uint32_t *count)
{
    struct box out = {{TOP, TOP, TOP}, {0, 0, 0}, 0};
    visit(b, count, enclose, &out);
    return out;
}

static int longest_side(const struct box *b)
{
    int best = 0;
    for (int k = 1; k < 3; k++)
        if (b->high[k] - b->low[k] > b->high[best] - b->low[best])
            best = k;
    return best;
}

struct profile {
    int side;
    uint64_t pixels[SIDE];
};

static void add_to_profile(void *to, const int at[3], uint32_t pixels)
{
    struct profile *p = to;
    p->pixels[at[p->side]] += pixels;
}

/* Its upper part; b becomes the lower one. Neither is empty, as a box is as tight as its pixels. */
static struct box cut(struct box *b, const uint32_t *count)
{
    struct profile p = {.side = longest_side(b)};
    struct box upper = *b;
    visit(b, count, add_to_profile, &p);
    uint64_t below = 0;
    int at = b->low[p.side];
    for (; at < b->high[p.side] - 1 && 2 * (below + p.pixels[at]) < b->pixels; at++)
        below += p.pixels[at];
    b->high[p.side] = at;
    upper.low[p.side] = at + 1;
    *b = shrunk(b, count);
    return shrunk(&upper, count);
}

struct mean {
    double sum[3], pixels;
};

static void add_to_mean(void *to, const int at[3], uint32_t pixels)
{
    struct mean *m = to;
    for (int k = 0; k < 3; k++)
        m->sum[k] += (double)at[k] * pixels;
    m->pixels += pixels;
}

/* Cells stand for 0 .. 255 as full steps do. */
static uint32_t mean_of(const struct box *b, const uint32_t *count)
{
    struct mean m = {0};
    uint32_t rgb = 0;
    visit(b, count, add_to_mean, &m);
    for (int k = 0; k < 3; k++)
        rgb = rgb << 8 | (uint32_t)(m.sum[k] / m.pixels * 255 / TOP + 0.5);
    return rgb;
}

/* The box to be cut next; -1: each holds one cell. */
static int next_box(const struct box *b, int n)
{
    double most = 0;
    int best = -1;
    for (int i = 0; i < n; i++) {
        int side = longest_side(&b[i]);
        double due = (double)b[i].pixels * (b[i].high[side] - b[i].low[side]);
        if (due > most) {
            most = due;
            best = i;
        }
    }
    return best;
}

int fl_colour_cut(const uint32_t *count, uint32_t *colour, int n)
{
    const struct box all = {{0, 0, 0}, {TOP, TOP, TOP}, 0};
    struct box *b = FL_NEW(struct box, (size_t)n + 1);
    b[0] = shrunk(&all, count);
    int used = b[0].pixels && n > 0;
    for (int i; used && used < n && (i = next_box(b, used)) >= 0; used++)
        b[used] = cut(&b[i], count);
    for (int i = 0; i < used; i++)
        colour[i] = mean_of(&b[i], count);
    free(b);
    return used;
}
