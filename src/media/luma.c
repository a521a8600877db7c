/* Where luma lies as bytes it is used in place; else rows are copied, rounded or weighed. */
#include "media/luma.h"

#include <assert.h>
#include <string.h>

#include <libavutil/buffer.h>
#include <libavutil/pixdesc.h>
#include <libswscale/swscale.h>

#include "base/units.h"

enum { ROW_ALIGN = 64 };

/* Formats whose first component is luma, a whole number of bytes a sample. */
static bool first_is_luma(const AVPixFmtDescriptor *d)
{
    const uint64_t other = AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_BITSTREAM |
                           AV_PIX_FMT_FLAG_HWACCEL | AV_PIX_FMT_FLAG_FLOAT | AV_PIX_FMT_FLAG_BAYER;
    return d && !(d->flags & other) && strncmp(d->name, "xyz", 3) != 0 && d->comp[0].depth >= 8 &&
           d->comp[0].depth <= 16;
}

bool fl_luma_in_place(const AVFrame *picture, const uint8_t **luma, ptrdiff_t *stride)
{
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(picture->format);
    if (!first_is_luma(d) || d->comp[0].depth != 8 || d->comp[0].step != 1 || d->comp[0].shift != 0)
        return false;
    *luma = picture->data[d->comp[0].plane] + d->comp[0].offset;
    *stride = picture->linesize[d->comp[0].plane];
    return true;
}

static int new_grey(struct fl_luma *l, AVFrame *out, const AVFrame *like)
{
    const int stride = (like->width + ROW_ALIGN - 1) / ROW_ALIGN * ROW_ALIGN;
    const size_t size = (size_t)stride * (size_t)like->height + ROW_ALIGN;
    if (size != l->pool_size) {
        av_buffer_pool_uninit(&l->pool);
        l->pool = av_buffer_pool_init(size, NULL);
        l->pool_size = l->pool ? size : 0;
    }
    out->buf[0] = l->pool ? av_buffer_pool_get(l->pool) : NULL;
    if (!out->buf[0])
        return AVERROR(ENOMEM);
    out->data[0] = out->buf[0]->data;
    out->linesize[0] = stride;
    out->format = AV_PIX_FMT_GRAY8;
    out->width = like->width;
    out->height = like->height;
    return 0;
}

static void bytes_row(uint8_t *out, const uint8_t *in, int width, int step)
{
    for (int x = 0; x < width; x++)
        out[x] = in[x * step];
}

/* A sample of depth bits above shift others, rounded to 8; the top code stays 255. */
struct rounding {
    int shift, drop;
    uint16_t mask, half, top; /* top: largest that half can be added to */
};

static struct rounding rounding_of(const AVComponentDescriptor *c)
{
    assert(c->depth >= 8 && c->depth <= 16);
    const int drop = c->depth - 8;
    const unsigned half = drop > 0 ? 1u << (drop - 1) : 0, mask = (1u << c->depth) - 1;
    return (struct rounding){c->shift, drop, (uint16_t)mask, (uint16_t)half,
                             (uint16_t)(mask - half)};
}

static inline uint8_t round_word(const struct rounding *r, uint16_t word)
{
    const uint16_t v = (uint16_t)(word >> r->shift) & r->mask, w = v < r->top ? v : r->top;
    return (uint8_t)((uint16_t)(w + r->half) >> r->drop);
}

/* Words side by side, in this machine's order. In 16-bit lanes throughout, so that it runs in
 * vectors; inlined with a constant shift and drop, without which lanes get wider. */
static inline void plain_row(uint8_t *restrict out, const uint16_t *restrict in, int width,
                             struct rounding r, int shift, int drop)
{
    r.shift = shift;
    r.drop = drop;
    for (int x = 0; x < width; x++)
        out[x] = round_word(&r, in[x]);
}

static void plain_row_by(uint8_t *out, const uint16_t *in, int width, const struct rounding *r)
{
    if (r->drop == 2 && r->shift == 0) /* 10 bits, as software has them */
        plain_row(out, in, width, *r, 0, 2);
    else if (r->drop == 2 && r->shift == 6) /* and as devices do */
        plain_row(out, in, width, *r, 6, 2);
    else if (r->drop == 4 && r->shift == 0)
        plain_row(out, in, width, *r, 0, 4);
    else
        plain_row(out, in, width, *r, r->shift, r->drop);
}

/* Samples of 9..16 bits in two bytes each. */
static void words_row(uint8_t *out, const uint8_t *in, int width, const AVComponentDescriptor *c,
                      bool big_endian)
{
    const struct rounding r = rounding_of(c);
    const int low = big_endian ? 1 : 0;
    if (c->step == 2 && big_endian == (AV_NE(1, 0) == 1) && (uintptr_t)in % 2 == 0) {
        plain_row_by(out, (const uint16_t *)(const void *)in, width, &r);
        return;
    }
    for (int x = 0; x < width; x++) {
        const uint8_t *s = in + (ptrdiff_t)x * c->step;
        out[x] = round_word(&r, (uint16_t)(s[low] | s[1 - low] << 8));
    }
}

static void copy_luma(AVFrame *out, const AVFrame *in, const AVPixFmtDescriptor *d)
{
    const AVComponentDescriptor *c = &d->comp[0];
    for (int y = 0; y < in->height; y++) {
        const uint8_t *row = in->data[c->plane] + c->offset + (ptrdiff_t)y * in->linesize[c->plane];
        uint8_t *to = out->data[0] + (ptrdiff_t)y * out->linesize[0];
        if (c->depth + c->shift <= 8)
            bytes_row(to, row, in->width, c->step);
        else
            words_row(to, row, in->width, c, d->flags & AV_PIX_FMT_FLAG_BE);
    }
}

/* swscale's grey is full range; RGB is too, so nothing is squeezed. */
static int scale_luma(struct fl_luma *l, AVFrame *out, const AVFrame *in)
{
    l->scaler =
        sws_getCachedContext(l->scaler, in->width, in->height, in->format, in->width, in->height,
                             AV_PIX_FMT_GRAY8, SWS_POINT | SWS_ACCURATE_RND, NULL, NULL, NULL);
    if (!l->scaler)
        return AVERROR(ENOSYS);
    const int *weights = sws_getCoefficients(SWS_CS_ITU709);
    sws_setColorspaceDetails(l->scaler, weights, 1, weights, 1, 0, 1 << 16, 1 << 16);
    int rc = sws_scale(l->scaler, (const uint8_t *const *)in->data, in->linesize, 0, in->height,
                       out->data, out->linesize);
    return rc < 0 ? rc : 0;
}

int fl_luma_reduce(struct fl_luma *l, AVFrame *picture)
{
    const uint8_t *luma;
    ptrdiff_t stride;
    if (fl_luma_in_place(picture, &luma, &stride))
        return 0;
    AVFrame *grey = av_frame_alloc();
    if (!grey)
        return AVERROR(ENOMEM);
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(picture->format);
    int rc = new_grey(l, grey, picture);
    if (rc >= 0)
        rc = av_frame_copy_props(grey, picture);
    if (rc >= 0 && first_is_luma(d))
        copy_luma(grey, picture, d);
    else if (rc >= 0)
        rc = scale_luma(l, grey, picture);
    if (rc >= 0) {
        av_frame_unref(picture);
        av_frame_move_ref(picture, grey);
    }
    av_frame_free(&grey);
    return rc;
}

void fl_luma_finish(struct fl_luma *l)
{
    sws_freeContext(l->scaler);
    av_buffer_pool_uninit(&l->pool); /* freed when the last picture goes */
    memset(l, 0, sizeof *l);
}
