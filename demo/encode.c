#include "encode.h"

#include <pthread.h>
#include <stdbool.h>
#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/opt.h>

#include "base/mem.h"

enum { QUEUE = 6 };

struct st_encoder {
    AVFormatContext *format;
    AVCodecContext *codec;
    AVStream *stream;
    AVPacket *packet;
    AVFrame *frame[QUEUE];
    struct st_picture picture[QUEUE]; /* what the device sees; the thread develops them */
    struct st_developer *developer;
    unsigned filled, taken; /* counters; slot = counter % QUEUE */
    bool ended;
    int status; /* first AVERROR */
    pthread_mutex_t lock;
    pthread_cond_t changed;
    pthread_t thread;
    bool threaded;
};

static int drain(struct st_encoder *e)
{
    for (;;) {
        int r = avcodec_receive_packet(e->codec, e->packet);
        if (r == AVERROR(EAGAIN) || r == AVERROR_EOF)
            return 0;
        if (r < 0)
            return r;
        av_packet_rescale_ts(e->packet, e->codec->time_base, e->stream->time_base);
        e->packet->stream_index = e->stream->index;
        r = av_interleaved_write_frame(e->format, e->packet);
        if (r < 0)
            return r;
    }
}

static int encode_one(struct st_encoder *e, const AVFrame *frame)
{
    int r = avcodec_send_frame(e->codec, frame);
    return r < 0 ? r : drain(e);
}

static int encode_slot(struct st_encoder *e, unsigned slot)
{
    int r = av_frame_make_writable(e->frame[slot]); /* the encoder may hold on to it */
    if (r < 0)
        return r;
    st_develop(e->developer, &e->picture[slot], e->frame[slot]);
    return encode_one(e, e->frame[slot]);
}

static void *run(void *arg)
{
    struct st_encoder *e = arg;
    for (;;) {
        pthread_mutex_lock(&e->lock);
        while (e->filled == e->taken && !e->ended)
            pthread_cond_wait(&e->changed, &e->lock);
        bool more = e->filled != e->taken;
        int status = e->status;
        pthread_mutex_unlock(&e->lock);
        if (!more)
            return NULL;
        if (status >= 0)
            status = encode_slot(e, e->taken % QUEUE);
        pthread_mutex_lock(&e->lock);
        e->status = status;
        e->taken++;
        pthread_cond_broadcast(&e->changed);
        pthread_mutex_unlock(&e->lock);
    }
}

static enum AVPixelFormat pixel_format(const struct st_look *look)
{
    return look->ten_bit || look->pq ? AV_PIX_FMT_YUV420P10LE : AV_PIX_FMT_YUV420P;
}

static void set_colour(AVCodecContext *c, const struct st_look *look)
{
    c->color_range = look->full_range ? AVCOL_RANGE_JPEG : AVCOL_RANGE_MPEG;
    c->colorspace = look->pq ? AVCOL_SPC_BT2020_NCL : AVCOL_SPC_BT709;
    c->color_primaries = look->pq ? AVCOL_PRI_BT2020 : AVCOL_PRI_BT709;
    c->color_trc = look->pq ? AVCOL_TRC_SMPTE2084 : AVCOL_TRC_BT709;
}

/* A buffer of a few frames leaves a keyframe little to spend: it comes out coarse, and what follows
 * mends it. */
static void set_rate(AVCodecContext *c, const struct st_encode_settings *s)
{
    if (s->kbit_s <= 0) {
        if (s->qp > 0)
            av_opt_set_int(c->priv_data, "qp", s->qp, 0);
        else if (s->crf >= 0)
            av_opt_set_int(c->priv_data, "crf", s->crf, 0);
        return;
    }
    c->bit_rate = c->rc_max_rate = (int64_t)s->kbit_s * 1000;
    c->rc_buffer_size = s->kbit_s * 1000 / 12;
}

static int open_codec(struct st_encoder *e, const struct st_encode_settings *s)
{
    const AVCodec *codec = avcodec_find_encoder_by_name(s->encoder);
    if (!codec)
        return AVERROR_ENCODER_NOT_FOUND;
    AVCodecContext *c = e->codec = avcodec_alloc_context3(codec);
    c->width = s->width;
    c->height = s->height;
    c->pix_fmt = pixel_format(&s->look);
    c->time_base = (AVRational){s->tick_num, s->tick_den};
    if (s->nominal_hz > 0)
        c->framerate = av_d2q(s->nominal_hz, 100000);
    c->gop_size = s->key_interval;
    c->thread_count = 1; /* the same bytes on every run, and a core left for the drawing */
    set_colour(c, &s->look);
    c->flags |= AV_CODEC_FLAG_BITEXACT;
    if (e->format->oformat->flags & AVFMT_GLOBALHEADER)
        c->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    if (!s->b_frames)
        c->max_b_frames = 0;
    if (s->preset)
        av_opt_set(c->priv_data, "preset", s->preset, 0);
    set_rate(c, s);
    if (!strcmp(s->encoder, "libx265"))
        av_opt_set(c->priv_data, "x265-params", "log-level=error:pools=1:frame-threads=1", 0);
    return avcodec_open2(c, codec, NULL);
}

static int open_file(struct st_encoder *e, const char *path, const struct st_encode_settings *s)
{
    int r = avformat_alloc_output_context2(&e->format, NULL, NULL, path);
    if (r < 0)
        return r;
    e->format->flags |= AVFMT_FLAG_BITEXACT;
    if ((r = open_codec(e, s)) < 0)
        return r;
    e->stream = avformat_new_stream(e->format, NULL);
    e->stream->time_base = e->codec->time_base;
    if (s->nominal_hz > 0)
        e->stream->avg_frame_rate = e->codec->framerate;
    if ((r = avcodec_parameters_from_context(e->stream->codecpar, e->codec)) < 0)
        return r;
    if ((r = avio_open(&e->format->pb, path, AVIO_FLAG_WRITE)) < 0)
        return r;
    return avformat_write_header(e->format, NULL);
}

static int make_frames(struct st_encoder *e, const struct st_encode_settings *s)
{
    e->packet = av_packet_alloc();
    e->developer = st_developer_new(&s->look, s->width, s->height);
    for (int i = 0; i < QUEUE; i++) {
        AVFrame *f = e->frame[i] = av_frame_alloc();
        f->format = e->codec->pix_fmt;
        f->width = s->width;
        f->height = s->height;
        st_picture_init(&e->picture[i], s->look.from_width, s->look.from_height);
        int r = av_frame_get_buffer(f, 0);
        if (r < 0)
            return r;
    }
    return 0;
}

static void release(struct st_encoder *e)
{
    if (e->format && e->format->pb)
        avio_closep(&e->format->pb);
    avformat_free_context(e->format);
    avcodec_free_context(&e->codec);
    av_packet_free(&e->packet);
    for (int i = 0; i < QUEUE; i++) {
        av_frame_free(&e->frame[i]);
        st_picture_finish(&e->picture[i]);
    }
    st_developer_free(&e->developer);
    pthread_mutex_destroy(&e->lock);
    pthread_cond_destroy(&e->changed);
    free(e);
}

static enum flinch_code failed(struct fl_error *err, const char *what, int status)
{
    char text[AV_ERROR_MAX_STRING_SIZE] = "";
    av_strerror(status, text, sizeof text);
    return fl_fail(err, FLINCH_ERR_WRITE, "%s: cannot encode: %s", what, text);
}

enum flinch_code st_encoder_open(struct st_encoder **out, const char *path,
                                 const struct st_encode_settings *settings, struct fl_error *err)
{
    struct st_encoder *e = FL_NEW(struct st_encoder, 1);
    av_log_set_level(AV_LOG_ERROR);
    pthread_mutex_init(&e->lock, NULL);
    pthread_cond_init(&e->changed, NULL);
    int r = open_file(e, path, settings);
    if (r >= 0)
        r = make_frames(e, settings);
    if (r < 0) {
        release(e);
        return failed(err, path, r);
    }
    e->threaded = pthread_create(&e->thread, NULL, run, e) == 0;
    *out = e;
    return FLINCH_OK;
}

struct st_picture *st_encoder_begin(struct st_encoder *e)
{
    pthread_mutex_lock(&e->lock);
    while (e->threaded && e->filled - e->taken == QUEUE)
        pthread_cond_wait(&e->changed, &e->lock);
    pthread_mutex_unlock(&e->lock);
    return &e->picture[e->filled % QUEUE];
}

void st_encoder_send(struct st_encoder *e, int64_t ticks)
{
    e->frame[e->filled % QUEUE]->pts = ticks;
    if (!e->threaded && e->status >= 0)
        e->status = encode_slot(e, e->filled % QUEUE);
    pthread_mutex_lock(&e->lock);
    e->filled++;
    pthread_cond_broadcast(&e->changed);
    pthread_mutex_unlock(&e->lock);
}

enum flinch_code st_encoder_close(struct st_encoder **encoder, struct fl_error *err)
{
    struct st_encoder *e = *encoder;
    *encoder = NULL;
    if (!e)
        return FLINCH_OK;
    pthread_mutex_lock(&e->lock);
    e->ended = true;
    pthread_cond_broadcast(&e->changed);
    pthread_mutex_unlock(&e->lock);
    if (e->threaded)
        pthread_join(e->thread, NULL);
    int r = e->status < 0 ? e->status : encode_one(e, NULL);
    int end = av_write_trailer(e->format);
    r = r < 0 ? r : end;
    release(e);
    return r < 0 ? failed(err, "footage", r) : FLINCH_OK;
}
