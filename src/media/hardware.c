/* A device counts only once it has shown, on the footage itself, that it gives the same pictures.
 *
 * Standards fix what a stream decodes to, but neither which streams a device takes nor what a
 * driver does to pictures afterwards. So the first pictures are decoded twice and compared; where
 * anything is amiss software decodes, which is no error. */
#include "media/hardware.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include <libavformat/avformat.h>
#include <libavutil/hwcontext.h>
#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>

#include "media/container.h"
#include "media/decoder_name.h"
#include "media/luma.h"

/* Compared; the first is coded whole, those after it by motion. A choice. */
enum { PROOF = 12 };
/* Kinds that "auto" tries, in this order. Kinds that ask a window system are left to their names.
 */
static const enum AVHWDeviceType usual[] = {AV_HWDEVICE_TYPE_CUDA, AV_HWDEVICE_TYPE_VAAPI,
                                            AV_HWDEVICE_TYPE_VIDEOTOOLBOX,
                                            AV_HWDEVICE_TYPE_D3D11VA};
enum { USUAL = sizeof usual / sizeof *usual };

/* ---- the device ---- */

static enum AVPixelFormat choose(AVCodecContext *ctx, const enum AVPixelFormat *list)
{
    const struct fl_hardware *h = ctx->opaque;
    for (const enum AVPixelFormat *f = list; *f != AV_PIX_FMT_NONE; f++)
        if (*f == h->format)
            return *f;
    return avcodec_default_get_format(ctx, list);
}

void fl_hardware_use(struct fl_hardware *h, AVCodecContext *ctx)
{
    if (!h->device)
        return;
    ctx->opaque = h;
    ctx->get_format = choose;
    ctx->hw_device_ctx = av_buffer_ref(h->device);
    ctx->thread_count = 1; /* the device's work runs by itself; threads only take up its memory */
}

/* Room for a picture as large as the device's own. Fresh memory for each would cost more than the
 * transfer: a picture of 4K takes thousands of pages. */
static int room_for(struct fl_hardware *h, AVFrame *here, const AVHWFramesContext *device)
{
    enum { ALIGN = 64 };
    const int size =
        av_image_get_buffer_size(device->sw_format, device->width, device->height, ALIGN);
    if (size < 0)
        return size;
    if ((size_t)size != h->pool_size) {
        av_buffer_pool_uninit(&h->pool);
        h->pool = av_buffer_pool_init((size_t)size + ALIGN, NULL);
        h->pool_size = h->pool ? (size_t)size : 0;
    }
    here->buf[0] = h->pool ? av_buffer_pool_get(h->pool) : NULL;
    if (!here->buf[0])
        return AVERROR(ENOMEM);
    here->format = device->sw_format;
    here->width = device->width;
    here->height = device->height;
    return av_image_fill_arrays(here->data, here->linesize, here->buf[0]->data, device->sw_format,
                                device->width, device->height, ALIGN);
}

int fl_hardware_fetch(struct fl_hardware *h, AVFrame *picture)
{
    if (!h->device || picture->format != h->format)
        return 0;
    if (!picture->hw_frames_ctx)
        return AVERROR(EINVAL);
    AVFrame *here = av_frame_alloc();
    int rc = here ? room_for(h, here, (const AVHWFramesContext *)picture->hw_frames_ctx->data)
                  : AVERROR(ENOMEM);
    if (rc >= 0)
        rc = av_hwframe_transfer_data(here, picture, 0);
    if (rc >= 0)
        rc = av_frame_copy_props(here, picture);
    if (rc >= 0) {
        here->width = picture->width;
        here->height = picture->height;
        av_frame_unref(picture);
        av_frame_move_ref(picture, here);
    }
    av_frame_free(&here);
    return rc;
}

void fl_hardware_close(struct fl_hardware *h)
{
    av_buffer_unref(&h->device);
    av_buffer_pool_uninit(&h->pool); /* freed when the last picture goes */
    h->pool_size = 0;
}

/* Whether the decoder can use such a device, and in which format pictures come then. */
static bool suits(const AVCodec *codec, enum AVHWDeviceType type, enum AVPixelFormat *format)
{
    const AVCodecHWConfig *c;
    for (int i = 0; (c = avcodec_get_hw_config(codec, i)); i++)
        if (c->device_type == type && (c->methods & AV_CODEC_HW_CONFIG_METHOD_HW_DEVICE_CTX)) {
            *format = c->pix_fmt;
            return true;
        }
    return false;
}

/* ---- the proof ---- */

struct reader {
    AVFormatContext *demux;
    AVCodecContext *decoder;
    AVPacket *packet;
    int stream;
    bool flushed;
};

static bool open_reader(struct reader *r, const struct fl_hardware_trial *trial,
                        struct fl_hardware *h)
{
    const char *list;
    *r = (struct reader){.packet = av_packet_alloc(), .stream = trial->stream};
    if (!r->packet || fl_container_open(&r->demux, trial->path, &list) < 0 ||
        avformat_find_stream_info(r->demux, NULL) < 0 || trial->stream >= (int)r->demux->nb_streams)
        return false;
    const AVStream *s = r->demux->streams[trial->stream];
    r->decoder = avcodec_alloc_context3(trial->codec);
    if (!r->decoder || avcodec_parameters_to_context(r->decoder, s->codecpar) < 0)
        return false;
    if (h)
        fl_hardware_use(h, r->decoder);
    return avcodec_open2(r->decoder, trial->codec, NULL) >= 0;
}

static void close_reader(struct reader *r)
{
    av_packet_free(&r->packet);
    avcodec_free_context(&r->decoder);
    avformat_close_input(&r->demux);
}

/* The next packet into the decoder, or the end. */
static void feed(struct reader *r)
{
    while (!r->flushed) {
        if (av_read_frame(r->demux, r->packet) < 0) {
            avcodec_send_packet(r->decoder, NULL);
            r->flushed = true;
            return;
        }
        const bool ours = r->packet->stream_index == r->stream;
        if (ours)
            avcodec_send_packet(r->decoder, r->packet);
        av_packet_unref(r->packet);
        if (ours)
            return;
    }
}

static bool read_picture(struct reader *r, AVFrame *picture)
{
    int rc;
    while ((rc = avcodec_receive_frame(r->decoder, picture)) == AVERROR(EAGAIN) && !r->flushed)
        feed(r);
    return rc >= 0;
}

static bool same_luma(AVFrame *a, AVFrame *b)
{
    struct fl_luma l = {0};
    const uint8_t *p, *q;
    ptrdiff_t p_stride, q_stride;
    bool same = a->width == b->width && a->height == b->height && fl_luma_reduce(&l, a) >= 0 &&
                fl_luma_reduce(&l, b) >= 0 && fl_luma_in_place(a, &p, &p_stride) &&
                fl_luma_in_place(b, &q, &q_stride);
    for (int y = 0; same && y < a->height; y++)
        same = !memcmp(p + y * p_stride, q + y * q_stride, (size_t)a->width);
    fl_luma_finish(&l);
    return same;
}

/* NULL, or what is amiss. */
static const char *compare(struct fl_hardware *h, struct reader *device, struct reader *software)
{
    AVFrame *a = av_frame_alloc(), *b = av_frame_alloc();
    const char *amiss = a && b ? NULL : "no memory";
    for (int i = 0; i < PROOF && !amiss; i++) {
        if (!read_picture(software, b))
            break; /* footage this short, or damage: told elsewhere */
        if (!read_picture(device, a) || a->format != h->format)
            amiss = "the device does not take this footage";
        else if (fl_hardware_fetch(h, a) < 0)
            amiss = "the device does not hand its pictures over";
        else if (!same_luma(a, b))
            amiss = "the device's pictures are not those of software";
        if (a)
            av_frame_unref(a);
        if (b)
            av_frame_unref(b);
    }
    av_frame_free(&a);
    av_frame_free(&b);
    return amiss;
}

static const char *prove(struct fl_hardware *h, const struct fl_hardware_trial *trial)
{
    struct reader device, software;
    const bool opened = open_reader(&device, trial, h);
    const char *amiss = "the device does not take this footage";
    if (open_reader(&software, trial, NULL) && opened)
        amiss = compare(h, &device, &software);
    close_reader(&device);
    close_reader(&software);
    return amiss;
}

/* NULL, or why this kind of device cannot be used. */
static const char *try_kind(struct fl_hardware *h, enum AVHWDeviceType type,
                            const struct fl_hardware_trial *trial)
{
    if (!suits(trial->codec, type, &h->format))
        return "it does not decode this codec";
    if (av_hwdevice_ctx_create(&h->device, type, NULL, NULL, 0) < 0)
        return "there is no such device here";
    const char *amiss = prove(h, trial);
    if (amiss)
        fl_hardware_close(h);
    return amiss;
}

bool fl_hardware_open(struct fl_hardware *h, const char *decoder,
                      const struct fl_hardware_trial *trial, char *why, size_t room)
{
    struct stat st;
    const char *amiss = "no device here decodes this footage";
    bool found = false;
    *why = 0;
    if (fl_decoder_is_software(decoder))
        return false;
    if (stat(trial->path, &st) || !S_ISREG(st.st_mode))
        amiss = "a device is tried on files only";
    else if (!fl_decoder_is_auto(decoder))
        found = !(amiss = try_kind(h, av_hwdevice_find_type_by_name(decoder), trial));
    else
        for (int i = 0; i < USUAL && !found; i++)
            found = !try_kind(h, usual[i], trial);
    if (!found && fl_decoder_is_auto(decoder))
        snprintf(why, room, "software decodes: %s", amiss);
    else if (!found)
        snprintf(why, room, "software decodes, not %s: %s", decoder, amiss);
    return found;
}
