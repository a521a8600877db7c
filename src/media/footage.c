/* Demuxing and decoding in a thread ahead of the reader, and everything that can go wrong in it.
 *
 * FFmpeg does the work; what is added is one line for each failure, a bound on the queue, luma in
 * place where the decoder gives it, and a check that the file holds as much as it declares. */
#include "media/footage.h"

#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/cpu.h>
#include <libavutil/pixdesc.h>
#include <libswscale/swscale.h>

#include "base/mem.h"
#include "base/units.h"
#include "media/container.h"
#include "media/frame_queue.h"
#include "media/hardware.h"
#include "media/luma.h"

/* A decoder that only complains would otherwise be asked for ever. */
enum { ERRORS_IN_A_ROW = 1000 };
/* A file that ends this much before its declared end was cut off: s, and as a share of the whole.
 * Containers declare the end of the last frame, or of the sound. A choice. */
static const double cut_s = 0.5, cut_share = 0.02;

/* Of a picture: a side, and all of it. 16K displays are about as large; beyond lie damage and
 * malice. A choice. */
enum { WIDEST = 16384, MOST_PIXELS = 100000000 };
enum { PAINTERS = 4 };

struct fl_footage {
    char *path;
    struct fl_byte_source *source; /* NULL: a file that is whole */
    struct fl_footage_settings set;
    AVFormatContext *demux;
    AVCodecContext *decoder;
    AVStream *stream;
    struct fl_luma luma;
    struct fl_hardware hardware;
    char fallback[200];
    bool colour;
    struct painter {
        struct SwsContext *sws;
        int width, height;
        enum AVPixelFormat format;
    } painter[PAINTERS];
    int next_painter; /* to go when one more is wanted */
    struct fl_frame_queue queue;
    pthread_t thread;
    bool running;
    /* the decoder thread's own until the queue has ended */
    double stop_after_s, first_s, last_s;
    long taken, damaged, packets;
    double packet_bytes;
    bool cut_short; /* reading stopped on purpose or by an error already told */
    char warning[256];
    /* the reader's own */
    struct fl_footage_info info;
    AVFrame *shown;
    bool interlaced;
    bool at_end;
};

/* What FFmpeg reports. Out of memory is the same here as everywhere, and no fault of the file; but
 * FFmpeg says so as well where a damaged file declares more than it ever allocates. */
static int or_end(int rc)
{
    enum { SOME = 32 << 20 };
    if (rc != AVERROR(ENOMEM))
        return rc;
    void *some = mmap(NULL, SOME, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (some == MAP_FAILED)
        fl_out_of_memory();
    munmap(some, SOME);
    return AVERROR_INVALIDDATA;
}

/* ---- the decoder thread ---- */

static double frame_time(const struct fl_footage *f, const AVFrame *picture)
{
    const int64_t t = picture->best_effort_timestamp;
    return t == AV_NOPTS_VALUE ? FL_UNKNOWN : (double)t * av_q2d(f->stream->time_base);
}

static bool is_damaged(const AVFrame *picture)
{
    return (picture->flags & AV_FRAME_FLAG_CORRUPT) || picture->decode_error_flags;
}

/* What the first picture tells better than the container. Runs before it is queued. */
static void note_first(struct fl_footage *f, const AVFrame *picture)
{
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(picture->format);
    struct fl_footage_info *i = &f->info;
    i->width = picture->width;
    i->height = picture->height;
    i->bit_depth = d ? d->comp[0].depth : 8;
    i->full_range = picture->color_range == AVCOL_RANGE_JPEG ||
                    (d && (d->flags & (AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL)));
    /* A device hands pictures over in a layout of its own; the footage's is the decoder's. */
    const AVPixFmtDescriptor *coded =
        f->hardware.device ? av_pix_fmt_desc_get(f->decoder->sw_pix_fmt) : d;
    snprintf(i->pixel_format, sizeof i->pixel_format, "%s", coded ? coded->name : "unknown");
    const bool rgb = d && (d->flags & (AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL));
    i->coding = fl_coding_of(picture->color_primaries, picture->color_trc,
                             rgb ? AVCOL_SPC_BT709 : picture->colorspace, i->full_range && !rgb,
                             picture->height);
    const AVRational aspect = picture->sample_aspect_ratio;
    const bool known = aspect.num > 0 && aspect.den > 0;
    i->aspect_num = known ? aspect.num : 1;
    i->aspect_den = known ? aspect.den : 1;
    const char *transfer = av_color_transfer_name(picture->color_trc);
    snprintf(i->transfer, sizeof i->transfer, "%s",
             transfer && picture->color_trc != AVCOL_TRC_UNSPECIFIED ? transfer : "unknown");
    f->first_s = frame_time(f, picture);
#ifdef AV_FRAME_FLAG_INTERLACED
    f->interlaced = picture->flags & AV_FRAME_FLAG_INTERLACED;
#else
    f->interlaced = picture->interlaced_frame;
#endif
}

static void warn_and_end(struct fl_footage *f, const char *what, const char *detail)
{
    snprintf(f->warning, sizeof f->warning, "%s after %ld frames: %s", what, f->taken, detail);
    f->cut_short = true;
}

/* True while more pictures are wanted. Takes the picture over. */
static bool take_picture(struct fl_footage *f, AVFrame *picture)
{
    char detail[96];
    if (f->taken == 0)
        note_first(f, picture);
    const double t = frame_time(f, picture);
    const double at_s = fl_known(t) && fl_known(f->first_s) ? t - f->first_s
                        : f->info.nominal_rate_hz > 0 ? (double)f->taken / f->info.nominal_rate_hz
                                                      : 0;
    bool more = true;
    if (picture->width != f->info.width || picture->height != f->info.height) {
        snprintf(detail, sizeof detail, "from %dx%d to %dx%d; the rest is not read", f->info.width,
                 f->info.height, picture->width, picture->height);
        warn_and_end(f, "the frame size changes", detail);
        more = false;
    } else if (f->stop_after_s > 0 && at_s >= f->stop_after_s) {
        f->cut_short = true;
        more = false;
    } else if (!f->colour && fl_luma_reduce(&f->luma, picture) < 0) {
        warn_and_end(f, "reading ends", "the pixel format cannot be converted to grey");
        more = false;
    }
    if (!more) {
        av_frame_free(&picture);
        return false;
    }
    f->taken++;
    f->last_s = fl_known(at_s) ? fmax(f->last_s, at_s) : f->last_s;
    return fl_frame_queue_push(&f->queue, picture);
}

/* Everything that the decoder has ready. */
static bool drain(struct fl_footage *f)
{
    for (int errors = 0; errors < ERRORS_IN_A_ROW;) {
        AVFrame *picture = av_frame_alloc();
        const int rc =
            or_end(picture ? avcodec_receive_frame(f->decoder, picture) : AVERROR(ENOMEM));
        if (rc < 0 || (picture->flags & AV_FRAME_FLAG_DISCARD) || is_damaged(picture)) {
            const bool done = rc == AVERROR(EAGAIN) || rc == AVERROR_EOF;
            if (!done && !(rc >= 0 && (picture->flags & AV_FRAME_FLAG_DISCARD)))
                f->damaged++;
            errors = rc < 0 ? errors + 1 : 0;
            av_frame_free(&picture);
            if (done)
                return true;
            continue;
        }
        errors = 0;
        if (fl_hardware_fetch(&f->hardware, picture) < 0) {
            av_frame_free(&picture);
            warn_and_end(f, "decoding broke off", "the device does not hand its pictures over");
            return false;
        }
        if (!take_picture(f, picture))
            return false;
    }
    warn_and_end(f, "decoding broke off", "the decoder reports nothing but errors");
    return false;
}

/* packet NULL: flush. */
static bool decode(struct fl_footage *f, const AVPacket *packet)
{
    const int rc = or_end(avcodec_send_packet(f->decoder, packet));
    if (rc < 0 && rc != AVERROR_EOF && rc != AVERROR(EAGAIN))
        f->damaged++;
    return drain(f);
}

/* A file that ends well before its declared length was cut off. */
static void note_truncation(struct fl_footage *f)
{
    const double want = f->info.duration_hint_s, have = f->last_s;
    if (f->cut_short || want <= 0 || want - have <= fmax(cut_s, cut_share * want))
        return;
    snprintf(f->warning, sizeof f->warning,
             "the video ends at %.2f s of the %.2f s it declares; the file may be cut off", have,
             want);
}

static void note_damage(struct fl_footage *f)
{
    const size_t used = strlen(f->warning);
    if (f->damaged > 0)
        snprintf(f->warning + used, sizeof f->warning - used, "%s%ld damaged frame%s skipped",
                 used ? "; " : "", f->damaged, f->damaged == 1 ? "" : "s");
}

static void *decode_all(void *arg)
{
    struct fl_footage *f = arg;
    AVPacket *packet = av_packet_alloc();
    bool more = or_end(packet ? 0 : AVERROR(ENOMEM)) == 0;
    int rc = 0;
    while (more && (rc = or_end(av_read_frame(f->demux, packet))) >= 0) {
        if (packet->stream_index == f->stream->index) {
            f->packets++;
            f->packet_bytes += packet->size;
            if (packet->flags & AV_PKT_FLAG_CORRUPT)
                f->damaged++;
            else
                more = decode(f, packet);
        }
        av_packet_unref(packet);
    }
    if (more && decode(f, NULL) && rc != AVERROR_EOF) {
        char why[AV_ERROR_MAX_STRING_SIZE] = "";
        av_strerror(rc, why, sizeof why);
        warn_and_end(f, "reading broke off", why);
    }
    note_truncation(f);
    note_damage(f);
    av_packet_free(&packet);
    fl_frame_queue_end(&f->queue);
    return NULL;
}

/* ---- opening ---- */

static int reader_gone(void *arg)
{
    struct fl_footage *f = arg;
    return fl_frame_queue_stopped(&f->queue);
}

static enum flinch_code check_file(const char *path, struct fl_error *err)
{
    struct stat st;
    if (stat(path, &st) != 0)
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot be opened: %s; check the path", path,
                       strerror(errno));
    if (S_ISDIR(st.st_mode))
        return fl_fail(err, FLINCH_ERR_OPEN,
                       "%s: is a folder, not a video file; name the file in it", path);
    if (S_ISREG(st.st_mode) && st.st_size == 0)
        return fl_fail(err, FLINCH_ERR_EMPTY, "%s: the file is empty; record or copy it again",
                       path);
    return FLINCH_OK;
}

static bool no_more_wanted(void *arg)
{
    struct fl_footage *f = arg;
    return fl_frame_queue_stopped(&f->queue) || (f->set.stopped && f->set.stopped(f->set.ctx));
}

static bool is_stream(const struct fl_footage *f)
{
    return f->set.follow || f->set.keep || fl_byte_source_is_stream(f->path);
}

static enum flinch_code open_source(struct fl_footage *f, struct fl_error *err)
{
    const struct fl_byte_source_settings how = {f->set.follow, f->set.patience_s, f->set.keep,
                                                no_more_wanted, f};
    if (!is_stream(f))
        return FLINCH_OK;
    if (f->set.from_s > 0)
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED, "%s: cannot be read from the middle", f->path);
    return fl_byte_source_open(&f->source, f->path, &how, err);
}

static enum flinch_code open_container(struct fl_footage *f, struct fl_error *err)
{
    const char *list = NULL;
    f->demux = avformat_alloc_context();
    if (f->demux)
        f->demux->interrupt_callback = (AVIOInterruptCB){reader_gone, f};
    const int rc =
        or_end(!f->demux   ? AVERROR(ENOMEM)
               : f->source ? fl_container_open_io(&f->demux, fl_byte_source_io(f->source), &list)
                           : fl_container_open(&f->demux, f->path, &list));
    if (rc == AVERROR(EACCES) || rc == AVERROR(EPERM))
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot be opened: %s; check its permissions",
                       f->path, strerror(-rc));
    if (rc < 0 && list && strcmp(list, "tty"))
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "%s: names other files (%s) and holds no video itself; give the recording",
                       f->path, list);
    if (rc < 0)
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "%s: is not a video file, or is damaged or cut off; record or copy it again",
                       f->path);
    if (or_end(avformat_find_stream_info(f->demux, NULL)) < 0)
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "%s: holds no readable stream; record or copy it again", f->path);
    return FLINCH_OK;
}

static enum flinch_code choose_stream(struct fl_footage *f, struct fl_error *err)
{
    long best = -1;
    int sound = 0;
    for (unsigned i = 0; i < f->demux->nb_streams; i++) {
        AVStream *s = f->demux->streams[i];
        const AVCodecParameters *p = s->codecpar;
        s->discard = AVDISCARD_ALL;
        sound += p->codec_type == AVMEDIA_TYPE_AUDIO;
        if (p->codec_type != AVMEDIA_TYPE_VIDEO || (s->disposition & AV_DISPOSITION_ATTACHED_PIC))
            continue;
        const long area = (long)p->width * p->height;
        if (area > best) {
            best = area;
            f->stream = s;
        }
    }
    if (!f->stream)
        return fl_fail(err, FLINCH_ERR_FORMAT, "%s: holds no video%s; give the footage", f->path,
                       sound ? ", only sound" : "");
    f->stream->discard = AVDISCARD_DEFAULT;
    return FLINCH_OK;
}

static enum flinch_code open_decoder(struct fl_footage *f, int threads, const char *decoder,
                                     struct fl_error *err)
{
    const AVCodecParameters *p = f->stream->codecpar;
    const AVCodec *codec = avcodec_find_decoder(p->codec_id);
    if (!codec)
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED, "%s: no decoder for %s in this FFmpeg", f->path,
                       avcodec_get_name(p->codec_id));
    if (p->width > WIDEST || p->height > WIDEST || (long)p->width * p->height > MOST_PIXELS)
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                       "%s: pictures of %dx%d are too large; scale it to at most %d a side and %d "
                       "million pixels",
                       f->path, p->width, p->height, WIDEST, MOST_PIXELS / 1000000);
    f->decoder = avcodec_alloc_context3(codec);
    if (or_end(f->decoder ? avcodec_parameters_to_context(f->decoder, p) : AVERROR(ENOMEM)) < 0)
        return fl_fail(err, FLINCH_ERR_FORMAT, "%s: the %s stream has no usable header", f->path,
                       codec->name);
    f->decoder->pkt_timebase = f->stream->time_base;
    f->decoder->max_pixels = MOST_PIXELS; /* what the container did not declare */
    f->decoder->thread_count = threads > 0 ? threads : av_cpu_count();
    f->decoder->thread_type = FF_THREAD_FRAME | FF_THREAD_SLICE;
    const struct fl_hardware_trial trial = {f->path, f->stream->index, codec};
    if (fl_hardware_open(&f->hardware, decoder, &trial, f->fallback, sizeof f->fallback))
        fl_hardware_use(&f->hardware, f->decoder);
    if (or_end(avcodec_open2(f->decoder, codec, NULL)) < 0)
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED, "%s: the %s decoder refuses this stream",
                       f->path, codec->name);
    return FLINCH_OK;
}

static enum flinch_code seek(struct fl_footage *f, double from_s, struct fl_error *err)
{
    const int64_t at = llrint(from_s / av_q2d(f->stream->time_base));
    if (avformat_seek_file(f->demux, f->stream->index, INT64_MIN, at, at, 0) < 0)
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED, "%s: cannot be read from the middle", f->path);
    return FLINCH_OK;
}

static void note_container(struct fl_footage *f)
{
    const AVStream *s = f->stream;
    struct fl_footage_info *i = &f->info;
    const AVRational rate = s->avg_frame_rate.num > 0 ? s->avg_frame_rate : s->r_frame_rate;
    i->nominal_rate_hz = rate.num > 0 && rate.den > 0 ? av_q2d(rate) : 0;
    i->tick_s = av_q2d(s->time_base);
    if (s->duration > 0)
        i->duration_hint_s = (double)s->duration * i->tick_s;
    else if (f->demux->duration > 0)
        i->duration_hint_s = (double)f->demux->duration / AV_TIME_BASE;
    i->frames_hint =
        s->nb_frames > 0 ? (long)s->nb_frames : lround(i->duration_hint_s * i->nominal_rate_hz);
    snprintf(i->codec, sizeof i->codec, "%s", avcodec_get_name(s->codecpar->codec_id));
}

/* Waits for the first picture, so that the caller has a size or an error. */
static enum flinch_code start_decoding(struct fl_footage *f, struct fl_error *err)
{
    if (pthread_create(&f->thread, NULL, decode_all, f) != 0)
        return fl_fail(err, FLINCH_ERR_OPEN, "%s: no thread for the decoder", f->path);
    f->running = true;
    if (!fl_frame_queue_wait(&f->queue))
        return fl_fail(err, FLINCH_ERR_EMPTY, "%s: not one frame could be decoded%s%s", f->path,
                       f->warning[0] ? ": " : "", f->warning);
    if (f->interlaced) /* note_first has run */
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                       "%s: is interlaced: each frame holds rows of two moments; record "
                       "progressively",
                       f->path);
    return FLINCH_OK;
}

enum flinch_code fl_footage_open(struct fl_footage **out, const char *path,
                                 const struct fl_footage_settings *settings, struct fl_error *err)
{
    *out = NULL;
    const bool follow = settings && settings->follow;
    enum flinch_code code = strcmp(path, "-") && !follow ? check_file(path, err) : FLINCH_OK;
    if (code != FLINCH_OK)
        return code;
    av_log_set_level(AV_LOG_QUIET); /* what matters is told in one line of our own */
    struct fl_footage *f = FL_NEW(struct fl_footage, 1);
    f->path = fl_strdup(path);
    f->set = settings ? *settings : (struct fl_footage_settings){0};
    f->stop_after_s = settings ? settings->stop_after_s : 0;
    f->colour = settings && settings->colour;
    fl_frame_queue_init(&f->queue);
    code = open_source(f, err);
    if (code == FLINCH_OK)
        code = open_container(f, err);
    if (code == FLINCH_OK)
        code = choose_stream(f, err);
    if (code == FLINCH_OK)
        code = open_decoder(f, settings ? settings->threads : 0,
                            settings ? settings->decoder : NULL, err);
    if (code == FLINCH_OK && settings && settings->from_s > 0)
        code = seek(f, settings->from_s, err);
    if (code == FLINCH_OK) {
        note_container(f);
        code = start_decoding(f, err);
    }
    if (code != FLINCH_OK) {
        fl_need_memory();
        fl_footage_close(&f);
    }
    *out = f;
    return code;
}

/* ---- the reader ---- */

bool fl_footage_stream_state(struct fl_footage *f, struct fl_byte_source_state *out)
{
    if (f->source)
        fl_byte_source_state(f->source, out);
    return f->source != NULL;
}

const struct fl_footage_info *fl_footage_info(const struct fl_footage *f)
{
    return &f->info;
}

enum flinch_code fl_footage_next(struct fl_footage *f, struct fl_frame *frame, bool *got,
                                 struct fl_error *err)
{
    av_frame_free(&f->shown);
    memset(frame, 0, sizeof *frame);
    *got = false;
    f->shown = f->at_end ? NULL : fl_frame_queue_pop(&f->queue);
    f->at_end = f->shown == NULL;
    if (f->at_end)
        return FLINCH_OK;
    if (!f->colour && !fl_luma_in_place(f->shown, &frame->luma, &frame->stride))
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED, "%s: a picture without luma", f->path);
    frame->pts_s = frame_time(f, f->shown);
#ifdef AV_FRAME_FLAG_KEY
    frame->key = f->shown->flags & AV_FRAME_FLAG_KEY;
#else
    frame->key = f->shown->key_frame;
#endif
    *got = true;
    return FLINCH_OK;
}

void fl_footage_copy_rest(struct fl_footage *f)
{
    uint8_t block[4096];
    if (!f->source || !f->set.keep || !f->at_end)
        return;
    if (f->running)
        pthread_join(f->thread, NULL); /* it reads no more, but may not have returned yet */
    f->running = false;
    while (avio_read(fl_byte_source_io(f->source), block, sizeof block) > 0) {
        /* read is copied */
    }
}

/* A frame is painted in several sizes and depths, one after another: each keeps its painter. */
static struct SwsContext **painter_place(struct fl_footage *f, int width, int height,
                                         enum AVPixelFormat format)
{
    struct painter *p = f->painter;
    int i = 0;
    while (i < PAINTERS && p[i].sws &&
           (p[i].width != width || p[i].height != height || p[i].format != format))
        i++;
    if (i == PAINTERS)
        i = f->next_painter++ % PAINTERS;
    p[i].width = width;
    p[i].height = height;
    p[i].format = format;
    return &p[i].sws;
}

/* Range and matrix stay as they are; only RGB needs a matrix. */
static struct SwsContext *painter_for(struct fl_footage *f, int width, int height,
                                      enum AVPixelFormat format)
{
    struct SwsContext **painter = painter_place(f, width, height, format);
    const AVFrame *p = f->shown;
    const int quality = SWS_BICUBIC | SWS_ACCURATE_RND | SWS_FULL_CHR_H_INT;
    *painter = sws_getCachedContext(*painter, p->width, p->height, p->format, width, height, format,
                                    quality, NULL, NULL, NULL);
    if (!*painter)
        return NULL;
    const int *matrix = sws_getCoefficients(SWS_CS_ITU709);
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(p->format);
    const bool rgb = d && (d->flags & (AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL));
    const int range = f->info.coding.full_range;
    sws_setColorspaceDetails(*painter, matrix, rgb ? 1 : range, matrix, range, 0, 1 << 16, 1 << 16);
    return *painter;
}

static bool scale_to(struct fl_footage *f, uint8_t *const to[4], const int stride[4], int width,
                     int height, enum AVPixelFormat format)
{
    struct SwsContext *painter = f->shown ? painter_for(f, width, height, format) : NULL;
    return painter && sws_scale(painter, (const uint8_t *const *)f->shown->data, f->shown->linesize,
                                0, f->shown->height, to, stride) >= 0;
}

enum flinch_code fl_footage_paint(struct fl_footage *f, struct fl_canvas *c, int x, int y,
                                  int width, int height, struct fl_error *err)
{
    uint8_t *to[4] = {0}, *deep[4] = {0};
    int stride[4] = {0}, deep_stride[4] = {0};
    for (int p = 0; p < 3; p++) {
        const int half = p ? 2 : 1;
        to[p] = c->plane[p] + y / half * c->stride[p] + x / half;
        stride[p] = (int)c->stride[p];
        if (!c->deep[p])
            continue;
        deep[p] = (uint8_t *)(c->deep[p] + y / half * c->deep_stride[p] + x / half);
        deep_stride[p] = (int)c->deep_stride[p] * (int)sizeof *c->deep[p];
    }
    if (!scale_to(f, to, stride, width, height, AV_PIX_FMT_YUV420P) ||
        (c->deep[0] && !scale_to(f, deep, deep_stride, width, height, AV_PIX_FMT_YUV420P10)))
        return fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                       "%s: pictures in %s cannot be converted; convert the footage to yuv420p",
                       f->path, f->info.pixel_format);
    return FLINCH_OK;
}

const char *fl_footage_fallback(const struct fl_footage *f)
{
    return f->fallback[0] ? f->fallback : NULL;
}

const char *fl_footage_warning(const struct fl_footage *f)
{
    return f->at_end && f->warning[0] ? f->warning : NULL;
}

double fl_footage_frame_bits(const struct fl_footage *f)
{
    return f->at_end && f->packets ? 8 * f->packet_bytes / (double)f->packets : FL_UNKNOWN;
}

void fl_footage_close(struct fl_footage **footage)
{
    struct fl_footage *f = *footage;
    if (!f)
        return;
    fl_frame_queue_stop(&f->queue);
    if (f->running)
        pthread_join(f->thread, NULL);
    av_frame_free(&f->shown);
    fl_frame_queue_finish(&f->queue);
    fl_luma_finish(&f->luma);
    for (int i = 0; i < PAINTERS; i++)
        sws_freeContext(f->painter[i].sws);
    avcodec_free_context(&f->decoder);
    fl_hardware_close(&f->hardware);
    avformat_close_input(&f->demux);
    fl_byte_source_close(&f->source);
    free(f->path);
    free(f);
    *footage = NULL;
}
