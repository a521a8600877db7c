/* Two readers behind one call: libsndfile for sound files, FFmpeg for the rest, whose packets are
 * put at their times, so that a gap in the container is a gap in the sound. */
#include "media/sound_stream.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libswresample/swresample.h>
#include <sndfile.h>

#include "base/mem.h"
#include "media/container.h"

/* Containers round times; a gap is a step beyond that. One of more than this is no gap. */
static const double rounding_s = 0.02, longest_gap_s = 3600;

struct fl_sound_stream {
    struct fl_sound_info info;
    SNDFILE *file; /* or, where it is NULL: */
    AVFormatContext *demux;
    AVCodecContext *decoder;
    AVStream *stream;
    SwrContext *resampler;
    AVPacket *packet;
    AVFrame *frame;
    double origin_s;
    bool flushed, ended;
    float *held; /* frames that are decoded */
    size_t at, n, cap;
    long long silence; /* frames of silence before them */
    long long given;   /* frames, silence too, up to the end of what is held */
};

/* ---- libsndfile ---- */

static bool open_sound_file(struct fl_sound_stream *s, const char *path)
{
    SF_INFO info = {0};
    s->file = sf_open(path, SFM_READ, &info);
    if (!s->file)
        return false;
    s->info = (struct fl_sound_info){info.samplerate, info.channels, "libsndfile"};
    return true;
}

/* ---- FFmpeg ---- */

static bool open_demuxer(struct fl_sound_stream *s, const char *path)
{
    const char *list;
    return fl_container_open(&s->demux, path, &list) >= 0 &&
           avformat_find_stream_info(s->demux, NULL) >= 0;
}

/* The sound that a player would choose; false if there is none. */
static bool choose_stream(struct fl_sound_stream *s, const AVCodec **codec)
{
    const int best = av_find_best_stream(s->demux, AVMEDIA_TYPE_AUDIO, -1, -1, codec, 0);
    if (best < 0)
        return false;
    for (unsigned i = 0; i < s->demux->nb_streams; i++)
        s->demux->streams[i]->discard = (int)i == best ? AVDISCARD_DEFAULT : AVDISCARD_ALL;
    s->stream = s->demux->streams[best];
    return true;
}

static bool open_decoder(struct fl_sound_stream *s, const AVCodec *codec)
{
    s->packet = av_packet_alloc();
    s->frame = av_frame_alloc();
    s->decoder = avcodec_alloc_context3(codec);
    if (!s->packet || !s->frame || !s->decoder ||
        avcodec_parameters_to_context(s->decoder, s->stream->codecpar) < 0)
        return false;
    s->decoder->pkt_timebase = s->stream->time_base;
    if (avcodec_open2(s->decoder, codec, NULL) < 0)
        return false;
    AVChannelLayout *in = &s->decoder->ch_layout;
    if (in->order == AV_CHANNEL_ORDER_UNSPEC)
        av_channel_layout_default(in, in->nb_channels);
    s->info = (struct fl_sound_info){s->decoder->sample_rate, in->nb_channels, "FFmpeg"};
    return s->info.rate > 0 &&
           swr_alloc_set_opts2(&s->resampler, in, AV_SAMPLE_FMT_FLT, s->info.rate, in,
                               s->decoder->sample_fmt, s->info.rate, 0, NULL) >= 0 &&
           swr_init(s->resampler) >= 0;
}

/* Frames that come before time 0 are dropped, silence goes in where some are missing. Returns how
 * many of the frame's n to drop. */
static int place(struct fl_sound_stream *s, int n)
{
    const int64_t t = s->frame->best_effort_timestamp;
    if (t == AV_NOPTS_VALUE)
        return 0;
    const double at = ((double)t * av_q2d(s->stream->time_base) - s->origin_s) * s->info.rate;
    const double gap = at - (double)s->given;
    if (gap > longest_gap_s * s->info.rate) {
        s->ended = true;
        return n;
    }
    if (fabs(gap) <= rounding_s * s->info.rate && s->given > 0)
        return 0;
    if (gap > 0) {
        s->silence = llrint(gap);
        s->given += s->silence;
        return 0;
    }
    return -gap < n ? (int)llrint(-gap) : n;
}

static void hold(struct fl_sound_stream *s)
{
    const int n = s->frame->nb_samples, channels = s->info.channels;
    const int drop = place(s, n);
    const size_t room = (size_t)n * (size_t)channels;
    if (s->cap < room)
        s->held = fl_realloc(s->held, s->cap = room, sizeof *s->held);
    uint8_t *to[1] = {(uint8_t *)s->held};
    const int got = swr_convert(s->resampler, to, n, (const uint8_t **)s->frame->extended_data, n);
    s->n = got > 0 ? (size_t)got : 0;
    s->at = (size_t)drop < s->n ? (size_t)drop : s->n;
    s->given += (long long)(s->n - s->at);
}

/* Decodes one frame, or finds the end. */
static void fetch(struct fl_sound_stream *s)
{
    int rc = avcodec_receive_frame(s->decoder, s->frame);
    if (rc >= 0) {
        if (s->frame->nb_samples > 0 && s->frame->ch_layout.nb_channels == s->info.channels &&
            s->frame->sample_rate == s->info.rate)
            hold(s);
        av_frame_unref(s->frame);
        return;
    }
    if (rc != AVERROR(EAGAIN) || s->flushed) {
        s->ended = true;
        return;
    }
    rc = av_read_frame(s->demux, s->packet);
    if (rc < 0) {
        avcodec_send_packet(s->decoder, NULL);
        s->flushed = true;
    } else if (s->packet->stream_index == s->stream->index) {
        avcodec_send_packet(s->decoder, s->packet); /* a damaged packet leaves a gap */
    }
    av_packet_unref(s->packet);
}

static int read_decoded(struct fl_sound_stream *s, float *frames, int n)
{
    const size_t channels = (size_t)s->info.channels;
    int done = 0;
    while (done < n) {
        float *to = frames + (size_t)done * channels;
        if (s->silence > 0) {
            const long long part = s->silence < n - done ? s->silence : n - done;
            memset(to, 0, (size_t)part * channels * sizeof *to);
            s->silence -= part;
            done += (int)part;
        } else if (s->at < s->n) {
            const size_t left = s->n - s->at, wanted = (size_t)(n - done);
            const size_t part = left < wanted ? left : wanted;
            memcpy(to, s->held + s->at * channels, part * channels * sizeof *to);
            s->at += part;
            done += (int)part;
        } else if (s->ended) {
            break;
        } else {
            fetch(s);
        }
    }
    return done;
}

/* ---- both ---- */

static enum flinch_code open_footage(struct fl_sound_stream *s, const char *path, bool *silent,
                                     struct fl_error *err)
{
    const AVCodec *codec = NULL;
    *silent = false;
    if (!open_demuxer(s, path))
        return fl_fail(err, FLINCH_ERR_OPEN,
                       "%s: cannot be opened as sound; give WAV, FLAC, Ogg, MP3, or a file that "
                       "FFmpeg decodes",
                       path);
    if (!choose_stream(s, &codec)) {
        *silent = true;
        return FLINCH_OK;
    }
    if (!codec || !open_decoder(s, codec))
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                       "%s: its sound cannot be decoded here; convert it to WAV or FLAC", path);
    return FLINCH_OK;
}

enum flinch_code fl_sound_stream_open(struct fl_sound_stream **out, const char *path,
                                      double origin_s, struct fl_error *err)
{
    struct fl_sound_stream *s = FL_NEW(struct fl_sound_stream, 1);
    bool silent = false;
    enum flinch_code code = FLINCH_OK;
    s->origin_s = origin_s;
    if (!open_sound_file(s, path))
        code = open_footage(s, path, &silent, err);
    if (!code && !silent && (s->info.channels > FL_SOUND_CHANNELS || s->info.rate < 8000))
        code = fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                       "%s: sound of %d channels at %d Hz; convert it to two channels or one at "
                       "48000 Hz",
                       path, s->info.channels, s->info.rate);
    if (code || silent)
        fl_sound_stream_close(&s);
    *out = s;
    return code;
}

const struct fl_sound_info *fl_sound_stream_info(const struct fl_sound_stream *s)
{
    return &s->info;
}

int fl_sound_stream_read(struct fl_sound_stream *s, float *frames, int n)
{
    if (s->file)
        return (int)sf_readf_float(s->file, frames, n);
    return read_decoded(s, frames, n);
}

void fl_sound_stream_close(struct fl_sound_stream **stream)
{
    struct fl_sound_stream *s = *stream;
    if (!s)
        return;
    if (s->file)
        sf_close(s->file);
    avcodec_free_context(&s->decoder);
    avformat_close_input(&s->demux);
    swr_free(&s->resampler);
    av_packet_free(&s->packet);
    av_frame_free(&s->frame);
    free(s->held);
    free(s);
    *stream = NULL;
}
