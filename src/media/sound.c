/* Sound decoded as it is asked for, resampled to stereo, and placed by its own time stamps.
 *
 * Reading begins a little before the time wanted, as decoders warm up and containers seek roughly;
 * what comes before is dropped, what is missing is silence. */
#include "media/sound.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libswresample/swresample.h>

#include "base/mem.h"
#include "media/container.h"

enum { CHANNELS = 2, OTHER_RATE = 48000, KEPT_RATE = 44100 };

struct fl_sound {
    AVFormatContext *demux;
    AVCodecContext *decoder;
    AVStream *stream;
    SwrContext *resampler;
    AVPacket *packet;
    AVFrame *frame;
    int rate;
    double from_s;
    bool placed;  /* the first sample's time is known */
    bool flushed; /* the decoder has been told of the end */
    bool ended;
    float *held; /* samples ready, pairs */
    size_t at, n, cap;
    long lead; /* pairs of silence before them */
};

static bool open_stream(struct fl_sound *s, const char *path)
{
    const AVCodec *codec = NULL;
    const char *list;
    if (fl_container_open(&s->demux, path, &list) < 0 ||
        avformat_find_stream_info(s->demux, NULL) < 0)
        return false;
    const int best = av_find_best_stream(s->demux, AVMEDIA_TYPE_AUDIO, -1, -1, &codec, 0);
    if (best < 0 || !codec)
        return false;
    for (unsigned i = 0; i < s->demux->nb_streams; i++)
        s->demux->streams[i]->discard = (int)i == best ? AVDISCARD_DEFAULT : AVDISCARD_ALL;
    s->stream = s->demux->streams[best];
    s->decoder = avcodec_alloc_context3(codec);
    if (!s->decoder || avcodec_parameters_to_context(s->decoder, s->stream->codecpar) < 0)
        return false;
    s->decoder->pkt_timebase = s->stream->time_base;
    return avcodec_open2(s->decoder, codec, NULL) >= 0;
}

static bool open_resampler(struct fl_sound *s)
{
    AVChannelLayout stereo;
    av_channel_layout_default(&stereo, CHANNELS);
    if (s->decoder->ch_layout.order == AV_CHANNEL_ORDER_UNSPEC)
        av_channel_layout_default(&s->decoder->ch_layout, s->decoder->ch_layout.nb_channels);
    s->rate = s->decoder->sample_rate == KEPT_RATE ? KEPT_RATE : OTHER_RATE;
    return swr_alloc_set_opts2(&s->resampler, &stereo, AV_SAMPLE_FMT_FLT, s->rate,
                               &s->decoder->ch_layout, s->decoder->sample_fmt,
                               s->decoder->sample_rate, 0, NULL) >= 0 &&
           swr_init(s->resampler) >= 0;
}

enum flinch_code fl_sound_open(struct fl_sound **out, const char *path, double from_s,
                               struct fl_error *err)
{
    const double before_s = 0.5; /* decoders warm up, and containers seek roughly */
    struct fl_sound *s = FL_NEW(struct fl_sound, 1);
    *out = NULL;
    s->from_s = from_s;
    s->packet = av_packet_alloc();
    s->frame = av_frame_alloc();
    if (!s->packet || !s->frame) {
        fl_sound_close(&s);
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: no memory for its sound", path);
    }
    if (!open_stream(s, path) || !open_resampler(s)) {
        fl_sound_close(&s);
        return FLINCH_OK;
    }
    const double tick_s = av_q2d(s->stream->time_base);
    const double start_s =
        s->stream->start_time == AV_NOPTS_VALUE ? 0 : (double)s->stream->start_time * tick_s;
    const int64_t to = llrint((from_s - before_s) / tick_s);
    if (from_s - before_s >
        start_s +
            before_s) /* where it would lead to the start, some containers lose the first packet */
        avformat_seek_file(s->demux, s->stream->index, INT64_MIN, to, to,
                           0); /* else from the start */
    *out = s;
    return FLINCH_OK;
}

int fl_sound_rate(const struct fl_sound *s)
{
    return s->rate;
}

static void hold(struct fl_sound *s, const float *pairs, int n)
{
    for (int i = 0; i < CHANNELS * n; i++)
        FL_PUSH(s->held, s->n, s->cap, pairs[i]);
}

/* What the resampler gives for the frame; NULL drains it. */
static void resample(struct fl_sound *s, const AVFrame *f)
{
    const int room = swr_get_out_samples(s->resampler, f ? f->nb_samples : 0);
    float *pairs = FL_NEW(float, CHANNELS *(size_t)(room > 0 ? room : 1));
    uint8_t *to[1] = {(uint8_t *)pairs};
    const int got =
        swr_convert(s->resampler, to, room, f ? (const uint8_t **)f->extended_data : NULL,
                    f ? f->nb_samples : 0);
    if (got > 0)
        hold(s, pairs, got);
    free(pairs);
}

/* The first frame that has a time says where from_s lies: silence before it, or samples to drop. */
static bool place(struct fl_sound *s)
{
    const int64_t t = s->frame->best_effort_timestamp;
    if (s->placed || t == AV_NOPTS_VALUE)
        return s->placed;
    const double at_s = (double)t * av_q2d(s->stream->time_base);
    if (at_s + (double)s->frame->nb_samples / s->decoder->sample_rate <= s->from_s - 0.1)
        return false; /* well before: not even warm-up */
    s->lead = lrint((at_s - s->from_s) * s->rate);
    s->placed = true;
    return true;
}

/* Decodes until something is held or the end. */
static void fetch(struct fl_sound *s)
{
    int rc = avcodec_receive_frame(s->decoder, s->frame);
    if (rc >= 0) {
        if (place(s))
            resample(s, s->frame);
        av_frame_unref(s->frame);
        return;
    }
    if (rc != AVERROR(EAGAIN) || s->flushed) {
        resample(s, NULL);
        s->ended = true;
        return;
    }
    rc = av_read_frame(s->demux, s->packet);
    if (rc < 0) {
        avcodec_send_packet(s->decoder, NULL);
        s->flushed = true;
    } else if (s->packet->stream_index == s->stream->index) {
        avcodec_send_packet(s->decoder, s->packet); /* a damaged packet is left out */
    }
    av_packet_unref(s->packet);
}

static void drop_used(struct fl_sound *s)
{
    if (!s->at)
        return;
    assert(s->at <= s->n);
    memmove(s->held, s->held + s->at, (s->n - s->at) * sizeof *s->held);
    s->n -= s->at;
    s->at = 0;
}

void fl_sound_read(struct fl_sound *s, float *out, int n)
{
    for (int i = 0; i < n;) {
        while (!s->ended && (!s->placed || s->at == s->n)) {
            drop_used(s);
            fetch(s);
        }
        while (s->lead < 0 && s->at < s->n) {
            s->at += CHANNELS;
            s->lead++;
        }
        const bool silent = s->lead > 0 || (s->ended && s->at == s->n);
        if (!silent && s->at == s->n)
            continue;
        for (int k = 0; k < CHANNELS; k++)
            out[CHANNELS * i + k] = silent ? 0 : s->held[s->at + (size_t)k];
        if (s->lead > 0)
            s->lead--;
        else if (!silent)
            s->at += CHANNELS;
        i++;
    }
}

void fl_sound_close(struct fl_sound **sound)
{
    struct fl_sound *s = *sound;
    if (!s)
        return;
    avcodec_free_context(&s->decoder);
    avformat_close_input(&s->demux);
    swr_free(&s->resampler);
    av_packet_free(&s->packet);
    av_frame_free(&s->frame);
    free(s->held);
    free(s);
    *sound = NULL;
}
