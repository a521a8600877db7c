/* Pictures and sound through FFmpeg's encoders and muxers, packet by packet. */
#include "media/encoder.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>

#include "base/mem.h"
#include "base/units.h"
#include "media/encoder_choice.h"

enum { CHANNELS = 2, SOUND_BIT_S = 192000 };

struct track {
    AVCodecContext *codec;
    AVStream *stream;
    AVFrame *frame; /* being filled */
};

struct fl_encoder {
    char *path, *name; /* name: in messages */
    AVFormatContext *format;
    struct track picture, sound;
    struct fl_canvas canvas;
    uint8_t *shallow[3]; /* 10 bits: the canvas' planes of 8, which are not encoded; malloc'ed */
    AVPacket *packet;
    int filled;   /* samples in sound.frame */
    int64_t sent; /* samples encoded */
    long lasts;   /* ticks of the picture sent last */
};

static enum flinch_code failed(const struct fl_encoder *e, enum flinch_code code, const char *what,
                               int status, struct fl_error *err)
{
    char why[AV_ERROR_MAX_STRING_SIZE] = "";
    av_strerror(status, why, sizeof why);
    return fl_fail(err, code, "%s: %s: %s; free space, or choose another place or encoder", e->name,
                   what, why);
}

/* ---- opening ---- */

static void set_colours(AVCodecContext *c, const struct fl_coding *coding)
{
    c->color_range = coding->full_range ? AVCOL_RANGE_JPEG : AVCOL_RANGE_MPEG;
    c->colorspace = (enum AVColorSpace)coding->matrix;
    c->color_primaries = (enum AVColorPrimaries)coding->primaries;
    c->color_trc = (enum AVColorTransferCharacteristic)coding->transfer;
}

static bool takes(const AVCodec *codec, enum AVPixelFormat format)
{
    for (const enum AVPixelFormat *f = codec->pix_fmts; f && *f != AV_PIX_FMT_NONE; f++)
        if (*f == format)
            return true;
    return false;
}

static enum flinch_code no_memory(const struct fl_encoder *e, struct fl_error *err)
{
    return fl_fail(err, FLINCH_ERR_OPEN, "%s: no memory for the encoder", e->name);
}

static enum flinch_code open_picture(struct fl_encoder *e, const AVCodec *codec,
                                     const struct fl_encoder_settings *s, struct fl_error *err)
{
    AVCodecContext *c = e->picture.codec = avcodec_alloc_context3(codec);
    AVStream *stream = e->picture.stream = avformat_new_stream(e->format, NULL);
    if (!c || !stream)
        return no_memory(e, err);
    c->width = s->width;
    c->height = s->height;
    c->pix_fmt =
        s->deep && takes(codec, AV_PIX_FMT_YUV420P10) ? AV_PIX_FMT_YUV420P10 : AV_PIX_FMT_YUV420P;
    c->time_base = (AVRational){(int)s->tick_num, (int)s->tick_den};
    c->sample_aspect_ratio = (AVRational){s->aspect_num, s->aspect_den};
    if (s->rate_den) {
        c->framerate = (AVRational){(int)s->rate_num, (int)s->rate_den};
        c->gop_size = (int)(s->rate_num / s->rate_den) > 0 ? (int)(s->rate_num / s->rate_den)
                                                           : 1; /* a second: editors seek */
    }
    set_colours(c, &s->coding);
    if (e->format->oformat->flags & AVFMT_GLOBALHEADER)
        c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    enum flinch_code code = fl_encoder_set_quality(c, s, err);
    if (code)
        return code;
    int rc = avcodec_open2(c, codec, NULL);
    if (rc < 0)
        return failed(e, FLINCH_ERR_UNSUPPORTED, "the encoder refuses these settings", rc, err);
    stream->time_base = c->time_base;
    stream->avg_frame_rate = c->framerate;
    stream->sample_aspect_ratio = c->sample_aspect_ratio;
    rc = avcodec_parameters_from_context(stream->codecpar, c);
    return rc < 0 ? failed(e, FLINCH_ERR_UNSUPPORTED, "the encoder refuses these settings", rc, err)
                  : FLINCH_OK;
}

static int nearest_rate(const AVCodec *codec, int hz)
{
    int best = codec->supported_samplerates ? codec->supported_samplerates[0] : hz;
    for (const int *r = codec->supported_samplerates; r && *r; r++)
        best = *r == hz ? hz : best;
    return best;
}

static enum flinch_code open_sound(struct fl_encoder *e, int hz, struct fl_error *err)
{
    const AVCodec *codec = fl_encoder_sound_choice(e->format->oformat);
    AVCodecContext *c = e->sound.codec = codec ? avcodec_alloc_context3(codec) : NULL;
    if (!c || nearest_rate(codec, hz) != hz)
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                       "%s: this FFmpeg has no sound encoder for it; leave the sound out (--mute)",
                       e->name);
    c->sample_rate = hz;
    c->sample_fmt = codec->sample_fmts ? codec->sample_fmts[0] : AV_SAMPLE_FMT_FLTP;
    av_channel_layout_default(&c->ch_layout, CHANNELS);
    c->bit_rate = SOUND_BIT_S;
    c->time_base = (AVRational){1, hz};
    if (e->format->oformat->flags & AVFMT_GLOBALHEADER)
        c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    int rc = avcodec_open2(c, codec, NULL);
    if (rc < 0)
        return failed(e, FLINCH_ERR_UNSUPPORTED, "the sound encoder does not start", rc, err);
    e->sound.stream = avformat_new_stream(e->format, NULL);
    if (!e->sound.stream)
        return no_memory(e, err);
    e->sound.stream->time_base = c->time_base;
    rc = avcodec_parameters_from_context(e->sound.stream->codecpar, c);
    return rc < 0 ? failed(e, FLINCH_ERR_UNSUPPORTED, "the sound encoder does not start", rc, err)
                  : FLINCH_OK;
}

static enum flinch_code begin(struct fl_encoder *e, const struct fl_encoder_settings *s,
                              struct fl_error *err)
{
    AVDictionary *options = NULL;
    if (s->title)
        av_dict_set(&e->format->metadata, "title", s->title, 0);
    if (s->comment)
        av_dict_set(&e->format->metadata, "comment", s->comment, 0);
    char *url = fl_calloc(strlen(e->path) + 6, 1);
    sprintf(url, "file:%s", e->path); /* so that a colon in a name names no protocol */
    int rc = avio_open(&e->format->pb, url, AVIO_FLAG_WRITE);
    free(url);
    av_dict_set(&options, "movflags", "+faststart",
                0); /* plays while it loads; other containers ignore it */
    if (rc >= 0)
        rc = avformat_write_header(e->format, &options);
    av_dict_free(&options);
    return rc < 0 ? failed(e, FLINCH_ERR_WRITE, "cannot be written", rc, err) : FLINCH_OK;
}

static void release(struct fl_encoder **encoder)
{
    struct fl_encoder *e = *encoder;
    for (int i = 0; i < 2; i++) {
        struct track *t = i ? &e->sound : &e->picture;
        av_frame_free(&t->frame);
        avcodec_free_context(&t->codec);
    }
    if (e->format)
        avio_closep(&e->format->pb);
    avformat_free_context(e->format);
    av_packet_free(&e->packet);
    for (int p = 0; p < 3; p++)
        free(e->shallow[p]);
    free(e->path);
    free(e->name);
    free(e);
    *encoder = NULL;
}

enum flinch_code fl_encoder_open(struct fl_encoder **out, const char *path,
                                 const struct fl_encoder_settings *settings, struct fl_error *err)
{
    const AVOutputFormat *container;
    const AVCodec *codec;
    *out = NULL;
    av_log_set_level(AV_LOG_QUIET);
    enum flinch_code code = fl_encoder_choose(path, settings->codec, &container, &codec, err);
    if (code)
        return code;
    struct fl_encoder *e = FL_NEW(struct fl_encoder, 1);
    e->path = fl_strdup(path);
    e->name = fl_strdup(settings->name ? settings->name : path);
    e->packet = av_packet_alloc();
    avformat_alloc_output_context2(&e->format, container, NULL, path);
    if (!e->format || !e->packet)
        code = no_memory(e, err);
    if (!code)
        code = open_picture(e, codec, settings, err);
    if (!code && settings->sound_hz)
        code = open_sound(e, settings->sound_hz, err);
    if (!code)
        code = begin(e, settings, err);
    if (code)
        release(&e);
    *out = e;
    return code;
}

const char *fl_encoder_codec(const struct fl_encoder *e)
{
    return e->picture.codec->codec->name;
}

const char *fl_encoder_sound_codec(const struct fl_encoder *e)
{
    return e->sound.codec ? e->sound.codec->codec->name : NULL;
}

/* ---- writing ---- */

/* frame NULL: flush. */
static int encode(struct fl_encoder *e, struct track *t, const AVFrame *frame)
{
    int rc = avcodec_send_frame(t->codec, frame);
    while (rc >= 0) {
        rc = avcodec_receive_packet(t->codec, e->packet);
        if (rc == AVERROR(EAGAIN) || rc == AVERROR_EOF)
            return 0;
        if (rc < 0)
            break;
        if (t == &e->picture && !e->packet->duration)
            e->packet->duration =
                e->lasts; /* only that of the last picture counts: the others end at the next */
        av_packet_rescale_ts(e->packet, t->codec->time_base, t->stream->time_base);
        e->packet->stream_index = t->stream->index;
        rc = av_interleaved_write_frame(e->format, e->packet);
    }
    return rc;
}

int fl_encoder_bits(const struct fl_encoder *e)
{
    return e->picture.codec->pix_fmt == AV_PIX_FMT_YUV420P10 ? 10 : 8;
}

/* The frame as the canvas' 10-bit planes, and planes of its own with 8. */
static void set_deep_planes(struct fl_encoder *e, const AVFrame *f)
{
    enum { ALIGN = 64 };
    for (int p = 0; p < 3; p++) {
        const int half = p ? 2 : 1;
        const ptrdiff_t stride = (f->width / half + ALIGN) / ALIGN * ALIGN + ALIGN;
        if (!e->shallow[p])
            e->shallow[p] = FL_NEW(uint8_t, (size_t)stride * (size_t)(f->height / half + 2));
        e->canvas.plane[p] = e->shallow[p];
        e->canvas.stride[p] = stride;
        e->canvas.deep[p] = (uint16_t *)(void *)f->data[p];
        e->canvas.deep_stride[p] = f->linesize[p] / (int)sizeof(uint16_t);
    }
}

struct fl_canvas *fl_encoder_canvas(struct fl_encoder *e)
{
    av_frame_free(&e->picture.frame);
    AVFrame *f = e->picture.frame = av_frame_alloc();
    if (!f)
        return NULL;
    f->format = e->picture.codec->pix_fmt;
    f->width = e->picture.codec->width;
    f->height = e->picture.codec->height;
    f->color_range = e->picture.codec->color_range;
    if (av_frame_get_buffer(f, 0) < 0) {
        av_frame_free(&e->picture.frame);
        return NULL;
    }
    e->canvas = (struct fl_canvas){.width = f->width, .height = f->height};
    if (f->format == AV_PIX_FMT_YUV420P10) {
        set_deep_planes(e, f);
        return &e->canvas;
    }
    for (int p = 0; p < 3; p++) {
        e->canvas.plane[p] = f->data[p];
        e->canvas.stride[p] = f->linesize[p];
    }
    return &e->canvas;
}

enum flinch_code fl_encoder_repeat(struct fl_encoder *e, long ticks, long lasts,
                                   struct fl_error *err)
{
    e->picture.frame->pts = ticks;
    e->lasts = lasts;
    const int rc =
        encode(e, &e->picture, e->picture.frame); /* the encoder takes a reference of its own */
    return rc < 0 ? failed(e, FLINCH_ERR_WRITE, "cannot be written", rc, err) : FLINCH_OK;
}

enum flinch_code fl_encoder_send(struct fl_encoder *e, long ticks, long lasts, struct fl_error *err)
{
    return fl_encoder_repeat(e, ticks, lasts, err);
}

static void put_sample(AVFrame *f, int at, const float *pair)
{
    assert(at >= 0 && at < f->nb_samples);
    for (int ch = 0; ch < CHANNELS; ch++) {
        const float v = (float)fl_clamp(pair[ch], -1, 1);
        const bool apart = av_sample_fmt_is_planar(f->format);
        uint8_t *to = f->data[apart ? ch : 0];
        const int k = apart ? at : CHANNELS * at + ch;
        if (f->format == AV_SAMPLE_FMT_FLTP || f->format == AV_SAMPLE_FMT_FLT)
            ((float *)to)[k] = v;
        else
            ((int16_t *)to)[k] = (int16_t)lrintf(v * 32767);
    }
}

static int sound_frame(struct fl_encoder *e)
{
    const AVCodecContext *c = e->sound.codec;
    AVFrame *f = e->sound.frame = av_frame_alloc();
    if (!f)
        return AVERROR(ENOMEM);
    f->format = c->sample_fmt;
    f->sample_rate = c->sample_rate;
    f->nb_samples = c->frame_size > 0 ? c->frame_size : 1024;
    e->filled = 0;
    int rc = av_channel_layout_copy(&f->ch_layout, &c->ch_layout);
    return rc < 0 ? rc : av_frame_get_buffer(f, 0);
}

static int send_sound(struct fl_encoder *e)
{
    AVFrame *f = e->sound.frame;
    f->nb_samples = e->filled;
    f->pts = e->sent;
    e->sent += e->filled;
    const int rc = encode(e, &e->sound, f);
    av_frame_free(&e->sound.frame);
    return rc;
}

enum flinch_code fl_encoder_sound(struct fl_encoder *e, const float *samples, int n,
                                  struct fl_error *err)
{
    int rc = 0;
    for (int i = 0; i < n && rc >= 0; i++) {
        if (!e->sound.frame)
            rc = sound_frame(e);
        if (rc < 0)
            break;
        put_sample(e->sound.frame, e->filled++, samples + CHANNELS * i);
        if (e->filled == e->sound.frame->nb_samples)
            rc = send_sound(e);
    }
    return rc < 0 ? failed(e, FLINCH_ERR_WRITE, "the sound cannot be written", rc, err) : FLINCH_OK;
}

static int finish(struct fl_encoder *e)
{
    int rc = encode(e, &e->picture, NULL);
    if (rc >= 0 && e->sound.frame && e->filled)
        rc = send_sound(e);
    if (rc >= 0 && e->sound.codec)
        rc = encode(e, &e->sound, NULL);
    const int end = av_write_trailer(e->format);
    const int closed = avio_closep(&e->format->pb);
    return rc < 0 ? rc : end < 0 ? end : closed;
}

enum flinch_code fl_encoder_close(struct fl_encoder **encoder, struct fl_error *err)
{
    struct fl_encoder *e = *encoder;
    const int rc = finish(e);
    enum flinch_code code =
        rc < 0 ? failed(e, FLINCH_ERR_WRITE, "cannot be written", rc, err) : FLINCH_OK;
    release(encoder);
    return code;
}

void fl_encoder_abandon(struct fl_encoder **encoder)
{
    if (*encoder)
        release(encoder);
}
