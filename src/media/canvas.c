/* Colours in the footage's own coding, and drawings blended over planes of it.
 *
 * Levels are linear in r, g, b, so a drawing with colours multiplied by alpha is coded once, pixel
 * by pixel, and laid over as level + (1 - alpha) * what was there. Matrices: ITU-T H.273, table 4.
 */
#include "media/canvas.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

enum { DEEPEST = 1023 };

/* Code points of ITU-T H.273. */
enum {
    UNKNOWN = 2,
    BT709 = 1,
    BT470BG = 5,
    BT601 = 6,
    SMPTE240M = 7,
    BT2020 = 9,
    PQ = 16,
    HLG = 18,
    HD_ROWS = 720
};

struct fl_coding fl_coding_of(int primaries, int transfer, int matrix, bool full_range, int height)
{
    struct fl_coding c = {
        .full_range = full_range, .primaries = primaries, .transfer = transfer, .matrix = matrix};
    if (matrix != BT709 && matrix != BT470BG && matrix != BT601 && matrix != SMPTE240M &&
        matrix != BT2020)
        c.matrix = height >= HD_ROWS ? BT709 : BT601;
    c.light = transfer == PQ ? FL_LIGHT_PQ : transfer == HLG ? FL_LIGHT_HLG : FL_LIGHT_SDR;
    /* H.273, table 4. */
    c.kr = c.matrix == BT709       ? 0.2126
           : c.matrix == BT2020    ? 0.2627
           : c.matrix == SMPTE240M ? 0.212
                                   : 0.299;
    c.kb = c.matrix == BT709       ? 0.0722
           : c.matrix == BT2020    ? 0.0593
           : c.matrix == SMPTE240M ? 0.087
                                   : 0.114;
    return c;
}

void fl_coding_levels(const struct fl_coding *c, double r, double g, double b, double level[3])
{
    const double white = c->light == FL_LIGHT_PQ ? 0.58 : c->light == FL_LIGHT_HLG ? 0.75 : 1;
    const double y = white * (c->kr * r + (1 - c->kr - c->kb) * g + c->kb * b);
    const double cb = (white * b - y) / (2 * (1 - c->kb)), cr = (white * r - y) / (2 * (1 - c->kr));
    level[0] = c->full_range ? 255 * y : 16 + 219 * y;
    level[1] = 128 + (c->full_range ? 255 : 224) * cb;
    level[2] = 128 + (c->full_range ? 255 : 224) * cr;
}

static uint8_t to_byte(double x)
{
    return (uint8_t)fl_clamp(x + 0.5, 0, 255);
}

/* Levels of limited range are the same with two bits more; those of full range reach from 0 to 1023
 * in place of 255 (ITU-R BT.2100, narrow and full range with 10 bits). */
static double deep_gain(const struct fl_coding *coding)
{
    return coding->full_range ? DEEPEST / 255.0 : 4;
}

uint32_t fl_coding_rgb(const struct fl_coding *c, const double level[3])
{
    const double y = c->full_range ? level[0] / 255 : (level[0] - 16) / 219,
                 chroma = c->full_range ? 255 : 224;
    const double r = y + 2 * (1 - c->kr) * (level[2] - 128) / chroma,
                 b = y + 2 * (1 - c->kb) * (level[1] - 128) / chroma,
                 g = (y - c->kr * r - c->kb * b) / (1 - c->kr - c->kb);
    return (uint32_t)to_byte(255 * r) << 16 | (uint32_t)to_byte(255 * g) << 8 | to_byte(255 * b);
}

void fl_canvas_fill(struct fl_canvas *c, const struct fl_coding *coding, int x, int y, int w, int h,
                    unsigned rgb)
{
    double level[3];
    assert(x >= 0 && y >= 0 && x + w <= c->width && y + h <= c->height);
    assert(!((x | y | w | h) & 1));
    fl_coding_levels(coding, (rgb >> 16) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0,
                     level);
    for (int p = 0; p < 3; p++) {
        const int half = p ? 2 : 1;
        const uint16_t deep = (uint16_t)fl_clamp(level[p] * deep_gain(coding) + 0.5, 0, DEEPEST);
        for (int row = y / half; row < (y + h) / half; row++) {
            memset(c->plane[p] + row * c->stride[p] + x / half, to_byte(level[p]),
                   (size_t)(w / half));
            for (int k = x / half; k < (x + w) / half && c->deep[p]; k++)
                c->deep[p][row * c->deep_stride[p] + k] = deep;
        }
    }
}

/* ---- covers ---- */

static void make_room(struct fl_cover *c, int width, int height)
{
    const size_t n = (size_t)width * (size_t)height;
    if (c->width == width && c->height == height)
        return;
    fl_cover_finish(c);
    c->width = width;
    c->height = height;
    for (int p = 0; p < 3; p++)
        c->level[p] = FL_NEW(uint8_t, p ? n / 4 : n);
    c->clear = FL_NEW(uint8_t, n);
    c->clear2 = FL_NEW(uint8_t, n / 4);
    c->first = FL_NEW(uint16_t, (size_t)height);
    c->last = FL_NEW(uint16_t, (size_t)height);
}

/* Levels are linear in r, g, b but for their offset, which opacity weighs: v = k·(r g b) +
 * offset·alpha. */
struct weights {
    double of[3][4];
};

static struct weights weights_of(const struct fl_coding *coding)
{
    struct weights w;
    double zero[3], one[3];
    fl_coding_levels(coding, 0, 0, 0, zero);
    for (int k = 0; k < 3; k++) {
        fl_coding_levels(coding, k == 0, k == 1, k == 2, one);
        for (int p = 0; p < 3; p++)
            w.of[p][k] = (one[p] - zero[p]) / 255;
    }
    for (int p = 0; p < 3; p++)
        w.of[p][3] = zero[p] / 255;
    return w;
}

static uint32_t pixel(const uint8_t *argb, ptrdiff_t stride, int x, int y)
{
    uint32_t v;
    memcpy(&v, argb + y * stride + 4 * x, sizeof v);
    return v;
}

static double weigh(const double of[4], const double sum[4])
{
    return of[0] * sum[0] + of[1] * sum[1] + of[2] * sum[2] + of[3] * sum[3];
}

static void add(double sum[4], uint32_t v)
{
    sum[0] += v >> 16 & 255;
    sum[1] += v >> 8 & 255;
    sum[2] += v & 255;
    sum[3] += v >> 24;
}

static void set_luma_row(struct fl_cover *c, const struct weights *w, const uint8_t *argb,
                         ptrdiff_t stride, int y)
{
    int first = c->width, last = 0;
    for (int x = 0; x < c->width; x++) {
        const uint32_t v = pixel(argb, stride, x, y);
        const size_t at = (size_t)y * (size_t)c->width + (size_t)x;
        double sum[4] = {0};
        add(sum, v);
        c->level[0][at] = to_byte(weigh(w->of[0], sum));
        c->clear[at] = (uint8_t)(255 - (v >> 24));
        if (v >> 24) {
            first = x < first ? x : first;
            last = x + 1;
        }
    }
    c->first[y] = (uint16_t)(first & ~1);
    c->last[y] = (uint16_t)((last + 1) & ~1);
}

static void set_chroma_row(struct fl_cover *c, const struct weights *w, const uint8_t *argb,
                           ptrdiff_t stride, int y)
{
    for (int x = 0; x < c->width / 2; x++) {
        double sum[4] = {0};
        for (int k = 0; k < 4; k++)
            add(sum, pixel(argb, stride, 2 * x + k % 2, 2 * y + k / 2));
        for (int k = 0; k < 4; k++)
            sum[k] /= 4;
        const size_t at = (size_t)y * (size_t)(c->width / 2) + (size_t)x;
        c->level[1][at] = to_byte(weigh(w->of[1], sum));
        c->level[2][at] = to_byte(weigh(w->of[2], sum));
        c->clear2[at] = (uint8_t)(255 - to_byte(sum[3]));
    }
}

void fl_cover_set(struct fl_cover *cover, const struct fl_coding *coding, const uint8_t *argb,
                  ptrdiff_t stride, int width, int height)
{
    assert(!((width | height) & 1) && width < UINT16_MAX);
    const struct weights w = weights_of(coding);
    make_room(cover, width, height);
    cover->deep_gain = deep_gain(coding);
    for (int y = 0; y < height; y++)
        set_luma_row(cover, &w, argb, stride, y);
    for (int y = 0; y < height / 2; y++)
        set_chroma_row(cover, &w, argb, stride, y);
}

static void blend_row(uint8_t *restrict to, const uint8_t *restrict level,
                      const uint8_t *restrict clear, int n)
{
    for (int x = 0; x < n; x++) {
        const unsigned under = to[x] * clear[x] + 128u; /* /255, rounded */
        const unsigned v = level[x] + ((under + (under >> 8)) >> 8);
        to[x] = (uint8_t)(v > 255 ? 255 : v);
    }
}

static void blend_deep_row(uint16_t *to, const uint8_t *level, const uint8_t *clear, double gain,
                           int n)
{
    for (int x = 0; x < n; x++)
        to[x] = (uint16_t)fmin(DEEPEST, to[x] * clear[x] / 255.0 + gain * level[x] + 0.5);
}

/* Rows of one plane; half: 1 luma, 2 chroma. The part of [first, last) that lies inside. */
static void lay_row(const struct fl_cover *cover, struct fl_canvas *c, int plane, int row, int x,
                    int y)
{
    const int half = plane ? 2 : 1, luma_row = row * half;
    const int to_y = y / half + row;
    if (to_y < 0 || to_y >= c->height / half)
        return;
    int first = cover->first[luma_row], last = cover->last[luma_row];
    if (plane) {
        const int next = luma_row + 1;
        first = cover->first[next] < first ? cover->first[next] : first;
        last = cover->last[next] > last ? cover->last[next] : last;
    }
    first = first < -x ? -x : first;
    last = last > c->width - x ? c->width - x : last;
    if (last <= first)
        return;
    assert(x + first >= 0 && x + last <= c->width && last <= cover->width);
    const size_t at = (size_t)row * (size_t)(cover->width / half) + (size_t)(first / half);
    const uint8_t *level = cover->level[plane] + at,
                  *clear = (plane ? cover->clear2 : cover->clear) + at;
    const int n = (last - first) / half, from = (x + first) / half;
    blend_row(c->plane[plane] + to_y * c->stride[plane] + from, level, clear, n);
    if (c->deep[plane])
        blend_deep_row(c->deep[plane] + to_y * c->deep_stride[plane] + from, level, clear,
                       cover->deep_gain, n);
}

void fl_cover_lay(const struct fl_cover *cover, struct fl_canvas *c, int x, int y)
{
    for (int p = 0; p < 3; p++)
        for (int row = 0; row < cover->height / (p ? 2 : 1); row++)
            lay_row(cover, c, p, row, x, y);
}

void fl_cover_finish(struct fl_cover *cover)
{
    for (int p = 0; p < 3; p++)
        free(cover->level[p]);
    free(cover->clear);
    free(cover->clear2);
    free(cover->first);
    free(cover->last);
    memset(cover, 0, sizeof *cover);
}
