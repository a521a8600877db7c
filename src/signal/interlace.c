/* Each sampled odd row against the mean of the rows above and below: where the camera turns, the
 * odd rows of interlaced footage lie half a frame's motion further on, or back, everywhere and in
 * every frame; in progressive footage they lie where they are. By correlation along the row, so
 * that how much rows differ says nothing: lines, dither, scan lines and noise make no shift, a
 * slanted edge cancels between the row above and the one below, and a tear lies in few of the rows.
 */
#include "signal/interlace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/robust.h"
#include "signal/scene_shift.h"

/* Choices. */
static const struct {
    double contrast; /* mean square slope that tells, squared levels a px */
    double match;    /* correlation from which two stretches show the same */
    float quality;   /* of a shift, 0..1 */
    double slowest;  /* sideways motion that tells, working px a frame */
    double lag;      /* from which on odd rows lie elsewhere, working px */
    double agree;    /* share of the frames that must have them on one side of the motion */
    double rest;     /* frames at rest that have them elsewhere, at most, a frame in motion */
} model = {.contrast = 4,
           .match = 0.6,
           .quality = 0.3f,
           .slowest = 1,
           .lag = 0.75,
           .agree = 0.8,
           .rest = 0.25};
/* REACH: most that is looked for, working px. STRETCHES: of a row, each with its own say, so that
 * what keeps still, however plain to see, has no more than its share. */
enum {
    EACH_FRAME = 2, /* a film shows it in any of them, and it need not cost much */
    EACH_BAND = 3,
    LANES = 8,
    STRETCHES = 4,
    FEW = 8,
    FEW_FRAMES = 12,
    FEW_BACK = 3, /* of them with the camera turning the other way */
    REACH = 12,
    SHIFTS = 2 * REACH + 1,
    LEAST_WIDTH = 4 * SHIFTS * STRETCHES / 2
};

/* Of the frame that passes: where odd rows lie by each stretch that tells. */
struct state {
    double *lag;
    size_t n;
    float *odd, *even, *raw; /* slopes along a row, twice; the row. Working px */
};

static void open_state(void *state, const struct fl_grid *g)
{
    struct state *st = state;
    st->lag = FL_NEW(double, g->bands *STRETCHES);
    st->odd = FL_NEW(float, g->width);
    st->even = FL_NEW(float, g->width);
    st->raw = FL_NEW(float, g->width);
}

static void close_state(void *state)
{
    struct state *st = state;
    free(st->lag);
    free(st->odd);
    free(st->even);
    free(st->raw);
}

/* Slopes, as light that falls off across the row would match wherever it lies; smoothed over three
 * px, as a dither of single pixels would match itself a pixel on. */
static void find_slopes(float *out, const float *raw, int n)
{
    memset(out, 0, (size_t)n * sizeof *out);
    for (int x = 2; x + 2 < n; x++)
        out[x] = 0.25f * (raw[x + 2] - raw[x - 2]) + 0.5f * (raw[x + 1] - raw[x - 1]);
}

/* A native row, or two, as means over whole working px. */
static void read_row(float *out, const struct fl_grid *g, const uint8_t *a, const uint8_t *b)
{
    const float scale = 0.5f / (float)g->factor;
    for (int x = 0; x < g->width; x++) {
        int sum = 0;
        for (int k = x * g->factor; k < (x + 1) * g->factor; k++)
            sum += a[k] + b[k];
        out[x] = (float)sum * scale;
    }
}

/* In sums side by side, which compilers keep in one vector. */
static double product(const float *a, const float *b, int n)
{
    float sum[LANES] = {0}, all = 0;
    int x = 0;
    for (; x + LANES <= n; x += LANES)
        for (int k = 0; k < LANES; k++)
            sum[k] += a[x + k] * b[x + k];
    for (; x < n; x++)
        all += a[x] * b[x];
    for (int k = 0; k < LANES; k++)
        all += sum[k];
    return (double)all;
}

/* Of the odd row from x on, to the right of the even ones; to a part of a pixel by a parabola
 * through the best correlation and its neighbours. NaN: it tells nothing. */
static double lag_of(const struct state *st, int from, int to)
{
    const int n = to - from;
    const float *first = st->even + from + REACH;
    double match[SHIFTS], odd = product(st->odd + from, st->odd + from, n), even = 0;
    int best = 0;
    if (odd < model.contrast * n)
        return FL_UNKNOWN;
    even = product(first, first, n);
    for (int k = 0; k < SHIFTS; k++) {
        const float *at = first - k;
        match[k] = even > 1e-3 ? product(st->odd + from, at, n) / sqrt(odd * even) : 0;
        best = match[k] > match[best] ? k : best;
        even += (double)(at[-1] * at[-1]) - (double)(at[n - 1] * at[n - 1]); /* of the next */
    }
    if (best == 0 || best == SHIFTS - 1 || match[best] < model.match)
        return FL_UNKNOWN;
    const double below = match[best - 1], above = match[best + 1],
                 bend = below - 2 * match[best] + above;
    return best - REACH + (bend < 0 ? 0.5 * (below - above) / bend : 0);
}

static void band(void *state, const struct fl_signal_view *v, int band, void *row)
{
    (void)row;
    struct state *st = state;
    const struct fl_grid *g = &v->s->grid;
    const int y = ((fl_band_row(g, band) + fl_band_row(g, band + 1)) * g->factor / 2) | 1;
    st->n = band ? st->n : 0;
    if (v->frame % EACH_FRAME || band % EACH_BAND || y + 1 >= g->native_height ||
        g->width < LEAST_WIDTH)
        return;
    const uint8_t *own = v->luma + y * v->luma_stride;
    read_row(st->raw, g, own, own);
    find_slopes(st->odd, st->raw, g->width);
    read_row(st->raw, g, own - v->luma_stride, own + v->luma_stride);
    find_slopes(st->even, st->raw, g->width);
    const int wide = (g->width - 2 * REACH - 2) / STRETCHES;
    for (int k = 0; k < STRETCHES; k++) {
        const double lag = lag_of(st, REACH + 1 + k * wide, REACH + 1 + (k + 1) * wide);
        if (fl_known(lag))
            st->lag[st->n++] = lag;
    }
}

static void push(void *state, const struct fl_signal_view *v, void *row)
{
    (void)v;
    struct state *st = state;
    *(float *)row = (float)(st->n < FEW ? FL_UNKNOWN : fl_median(st->lag, st->n));
}

static void blank(const struct fl_grid *g, void *row)
{
    (void)g;
    *(float *)row = (float)FL_UNKNOWN;
}

const struct fl_signal_kind fl_field_lag_signal = {.row_size = sizeof(float),
                                                   .state_size = sizeof(struct state),
                                                   .open = open_state,
                                                   .band = band,
                                                   .push = push,
                                                   .close = close_state,
                                                   .blank = blank};

/* ---- of all frames ---- */

void fl_interlace_find(struct fl_interlace *out, const struct fl_signals *s)
{
    double *part = FL_NEW(double, s->n + 1);
    size_t n = 0, later = 0, right = 0, rest = 0;
    for (size_t i = 1; i < s->n; i++) {
        const struct fl_scene_shift *shift = fl_scene_shifts(s, i);
        const double lag = (double)*fl_field_lags(s, i), x = (double)shift->x;
        if (!(fabs(lag) >= model.lag))
            continue;
        rest += fabs(x) < model.slowest / 2;
        if (shift->quality < model.quality || fabs(x) < model.slowest)
            continue;
        later += lag / x > 0;
        right += x > 0;
        part[n++] = lag / x;
    }
    const size_t alike = later > n - later ? later : n - later,
                 back = right < n - right ? right : n - right;
    *out = (struct fl_interlace){.frames = (long)n,
                                 .part = n >= FEW_FRAMES ? fl_median(part, n) : FL_UNKNOWN,
                                 .agree = n ? (double)alike / (double)n : FL_UNKNOWN};
    out->interlaced = n >= FEW_FRAMES && back >= FEW_BACK && out->agree >= model.agree &&
                      (double)rest <= model.rest * (double)n;
    free(part);
}
