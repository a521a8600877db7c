/* Footage of every kind, made here with the FFmpeg libraries from a known pattern. */
#include "media/footage.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/pixdesc.h>

#include "base/mem.h"
#include "media/luma.h"
#include "media/timeline.h"
#include "test.h"

enum { W = 96, H = 64, FRAMES = 40 };

static char path[64];

static const char *named(const char *extension)
{
    snprintf(path, sizeof path, "test-footage-%ld.%s", (long)getpid(), extension);
    return path;
}

/* Luma of the pattern at its own depth: a ramp that moves, top code included. */
static unsigned level(int frame, int x, int y, int bits)
{
    return (unsigned)((x * 37 + y * 11 + frame * 5) * 13) & ((1u << bits) - 1);
}

/* Smooth, for lossy codecs. */
static unsigned smooth(int frame, int x, int y)
{
    return (unsigned)(40 + x + y / 2 + frame);
}

struct recipe {
    const char *codec, *container;
    enum AVPixelFormat format;
    int rate;
    int width_later; /* other size from the middle on; 0: none */
    int b_frames;
    bool interlaced;
    const double *times_s; /* NULL: constant rate */
    int frames;
};

struct writer {
    AVFormatContext *mux;
    AVCodecContext *encoder;
    AVStream *stream;
    AVPacket *packet;
};

static void fill(AVFrame *f, int n, bool lossy)
{
    const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(f->format);
    for (int c = 0; c < d->nb_components; c++) {
        const AVComponentDescriptor *k = &d->comp[c];
        const bool chroma = !(d->flags & AV_PIX_FMT_FLAG_RGB) && (c == 1 || c == 2);
        const int w = chroma ? f->width >> d->log2_chroma_w : f->width;
        const int h = chroma ? f->height >> d->log2_chroma_h : f->height;
        for (int y = 0; y < h; y++)
            for (int x = 0; x < w; x++) {
                uint8_t *at =
                    f->data[k->plane] + y * f->linesize[k->plane] + x * k->step + k->offset;
                const unsigned grey = lossy ? smooth(n, x, y) : level(n, x, y, k->depth);
                const unsigned v = (chroma ? 1u << (k->depth - 1) : grey) << k->shift;
                at[0] = (uint8_t)v;
                if (k->depth + k->shift > 8)
                    at[1] = (uint8_t)(v >> 8);
            }
    }
}

static bool is_lossy(const struct recipe *r)
{
    return strcmp(r->codec, "ffv1") != 0 && strcmp(r->codec, "rawvideo") != 0;
}

static bool open_encoder(struct writer *w, const struct recipe *r, int width)
{
    const AVCodec *codec = avcodec_find_encoder_by_name(r->codec);
    if (!codec)
        return false;
    w->encoder = avcodec_alloc_context3(codec);
    w->encoder->width = width;
    w->encoder->height = H;
    w->encoder->pix_fmt = r->format;
    w->encoder->time_base = r->times_s ? (AVRational){1, 1000} : (AVRational){1, r->rate};
    w->encoder->framerate = (AVRational){r->rate, 1};
    w->encoder->max_b_frames = r->b_frames;
    w->encoder->gop_size = 12;
    if (r->interlaced)
        w->encoder->flags |= AV_CODEC_FLAG_INTERLACED_DCT | AV_CODEC_FLAG_INTERLACED_ME;
    w->encoder->global_quality = 2 * FF_QP2LAMBDA;
    w->encoder->flags |= strcmp(r->codec, "mjpeg") == 0 ? AV_CODEC_FLAG_QSCALE : 0;
    if (w->mux->oformat->flags & AVFMT_GLOBALHEADER && !r->width_later)
        w->encoder->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
    AVDictionary *options = NULL;
    av_dict_set(&options, "preset", "veryfast", AV_DICT_DONT_OVERWRITE);
    av_dict_set(&options, "crf", "12", 0);
    const int rc = avcodec_open2(w->encoder, codec, &options);
    av_dict_free(&options);
    assert_true(rc >= 0);
    return true;
}

static void drain(struct writer *w)
{
    while (avcodec_receive_packet(w->encoder, w->packet) >= 0) {
        av_packet_rescale_ts(w->packet, w->encoder->time_base, w->stream->time_base);
        w->packet->stream_index = 0;
        assert_true(av_interleaved_write_frame(w->mux, w->packet) >= 0);
    }
}

static void encode(struct writer *w, const struct recipe *r, int n, int width)
{
    AVFrame *f = av_frame_alloc();
    f->format = r->format;
    f->width = width;
    f->height = H;
    assert_true(av_frame_get_buffer(f, 0) >= 0);
    fill(f, n, is_lossy(r));
    f->pts = r->times_s ? lround(1000 * r->times_s[n]) : n;
    f->quality = w->encoder->global_quality;
#ifdef AV_FRAME_FLAG_INTERLACED
    f->flags |= r->interlaced ? AV_FRAME_FLAG_INTERLACED : 0;
#else
    f->interlaced_frame = r->interlaced;
#endif
    assert_true(avcodec_send_frame(w->encoder, f) >= 0);
    av_frame_free(&f);
    drain(w);
}

/* False if this FFmpeg has no such encoder. */
static bool film(const struct recipe *r)
{
    struct writer w = {.packet = av_packet_alloc()};
    const int frames = r->frames ? r->frames : FRAMES;
    avformat_alloc_output_context2(&w.mux, NULL, r->container, named(r->container));
    assert_non_null(w.mux);
    const bool can = open_encoder(&w, r, W);
    if (can) {
        w.stream = avformat_new_stream(w.mux, NULL);
        w.stream->time_base = w.encoder->time_base;
        w.stream->avg_frame_rate = r->times_s ? (AVRational){0, 1} : w.encoder->framerate;
        avcodec_parameters_from_context(w.stream->codecpar, w.encoder);
        assert_true(avio_open(&w.mux->pb, path, AVIO_FLAG_WRITE) >= 0);
        assert_true(avformat_write_header(w.mux, NULL) >= 0);
        for (int n = 0; n < frames; n++) {
            if (r->width_later && n == frames / 2) {
                avcodec_send_frame(w.encoder, NULL);
                drain(&w);
                avcodec_free_context(&w.encoder);
                open_encoder(&w, r, r->width_later);
            }
            encode(&w, r, n, r->width_later && n >= frames / 2 ? r->width_later : W);
        }
        avcodec_send_frame(w.encoder, NULL);
        drain(&w);
        av_write_trailer(w.mux);
        avio_closep(&w.mux->pb);
    } else {
        print_message("no %s encoder here: not tried\n", r->codec);
    }
    av_packet_free(&w.packet);
    avcodec_free_context(&w.encoder);
    avformat_free_context(w.mux);
    return can;
}

struct seen {
    struct fl_footage_info info;
    int frames, keys;
    double pts_s[400];
    uint8_t luma[400][H][W];
    char warning[256];
};

static void watch(struct seen *s, int threads, double stop_after_s)
{
    struct fl_footage *f;
    struct fl_frame frame;
    struct fl_error err = {0};
    bool got;
    const struct fl_footage_settings settings = {threads, stop_after_s};
    memset(s, 0, sizeof *s);
    if (fl_footage_open(&f, path, &settings, &err) != FLINCH_OK)
        fail_msg("%s", err.text);
    s->info = *fl_footage_info(f);
    assert_int_equal(s->info.width, W);
    assert_int_equal(s->info.height, H);
    assert_null(fl_footage_warning(f));
    while (fl_footage_next(f, &frame, &got, &err) == FLINCH_OK && got && s->frames < 400) {
        for (int y = 0; y < H; y++)
            memcpy(s->luma[s->frames][y], frame.luma + y * frame.stride, W);
        s->keys += frame.key;
        s->pts_s[s->frames++] = frame.pts_s;
    }
    assert_int_equal(fl_footage_next(f, &frame, &got, &err), FLINCH_OK);
    assert_false(got);
    snprintf(s->warning, sizeof s->warning, "%s",
             fl_footage_warning(f) ? fl_footage_warning(f) : "");
    fl_footage_close(&f);
    assert_null(f);
}

static struct seen seen;

static void assert_times(double rate, double tolerance)
{
    for (int n = 0; n < seen.frames; n++)
        assert_near(seen.pts_s[n] - seen.pts_s[0], n / rate, tolerance);
}

/* Luma as coded, rounded to 8 bits. */
static void lossless_formats_give_their_luma(void **state)
{
    (void)state;
    const struct {
        enum AVPixelFormat format;
        int bits;
        const char *codec;
    } formats[] = {{AV_PIX_FMT_YUV420P, 8, "ffv1"},      {AV_PIX_FMT_GRAY8, 8, "ffv1"},
                   {AV_PIX_FMT_YUV444P10LE, 10, "ffv1"}, {AV_PIX_FMT_YUV420P12LE, 12, "ffv1"},
                   {AV_PIX_FMT_YUV422P16LE, 16, "ffv1"}, {AV_PIX_FMT_NV12, 8, "rawvideo"},
                   {AV_PIX_FMT_YUYV422, 8, "rawvideo"},  {AV_PIX_FMT_UYVY422, 8, "rawvideo"}};
    for (size_t k = 0; k < sizeof formats / sizeof *formats; k++) {
        const bool raw = strcmp(formats[k].codec, "rawvideo") == 0;
        const struct recipe r = {formats[k].codec, raw ? "avi" : "matroska", formats[k].format,
                                 120};
        if (!film(&r))
            continue;
        watch(&seen, 2, 0);
        assert_int_equal(seen.frames, FRAMES);
        assert_int_equal(seen.info.bit_depth, formats[k].bits);
        assert_string_equal(seen.warning, "");
        for (int n = 0; n < FRAMES; n++)
            for (int y = 0; y < H; y++)
                for (int x = 0; x < W; x++) {
                    const double v = level(n, x, y, formats[k].bits);
                    const double want = fmin(255, floor(v / pow(2, formats[k].bits - 8) + 0.5));
                    if (seen.luma[n][y][x] != want)
                        fail_msg("%s frame %d x %d y %d: %d, want %g", seen.info.pixel_format, n, x,
                                 y, seen.luma[n][y][x], want);
                }
        assert_times(120, raw ? 1e-6 : 1.1e-3);
        unlink(path);
    }
}

/* Grey in RGB is that grey in luma, whatever the weights (they sum to 1). */
static void rgb_becomes_full_range_luma(void **state)
{
    (void)state;
    const enum AVPixelFormat formats[] = {AV_PIX_FMT_BGR0, AV_PIX_FMT_GBRP10LE};
    for (int k = 0; k < 2; k++) {
        const struct recipe r = {"ffv1", "matroska", formats[k], 60};
        if (!film(&r))
            continue;
        watch(&seen, 1, 0);
        assert_int_equal(seen.frames, FRAMES);
        assert_true(seen.info.full_range);
        for (int n = 0; n < FRAMES; n++)
            for (int y = 0; y < H; y++)
                for (int x = 0; x < W; x++) {
                    const int bits = k ? 10 : 8;
                    const double want = level(n, x, y, bits) / pow(2, bits - 8);
                    if (fabs(seen.luma[n][y][x] - want) > 2)
                        fail_msg("format %d: %d, want %g", k, seen.luma[n][y][x], want);
                }
        unlink(path);
    }
}

/* BT.709 (ITU-R BT.709-6, item 3.2): Y' = 0.2126 R' + 0.7152 G' + 0.0722 B'. */
static void rgb_weights_are_bt709(void **state)
{
    (void)state;
    const int colour[3][4] = {{255, 0, 0, 54}, {0, 255, 0, 182}, {0, 0, 255, 18}};
    for (int k = 0; k < 3; k++) {
        struct fl_luma l = {0};
        AVFrame *f = av_frame_alloc();
        f->format = AV_PIX_FMT_RGB24;
        f->width = 32;
        f->height = 16;
        assert_true(av_frame_get_buffer(f, 0) >= 0);
        for (int y = 0; y < 16; y++)
            for (int x = 0; x < 96; x++)
                f->data[0][y * f->linesize[0] + x] = (uint8_t)colour[k][x % 3];
        assert_int_equal(fl_luma_reduce(&l, f), 0);
        assert_true(abs(f->data[0][5 * f->linesize[0] + 7] - colour[k][3]) <= 2);
        av_frame_free(&f);
        fl_luma_finish(&l);
    }
}

/* Every code of every depth, above and below other bits, in both orders of bytes, against the
 * rounding as a sum of fractions: the way in vectors and the plain one. */
static void more_bits_are_rounded_alike_in_every_layout(void **state)
{
    (void)state;
    enum { WIDE = 700, HIGH = 94 }; /* 65,536 samples and a few; rows that no vector divides */
    const enum AVPixelFormat formats[] = {
        AV_PIX_FMT_GRAY10LE, AV_PIX_FMT_GRAY10BE,   AV_PIX_FMT_GRAY12LE, AV_PIX_FMT_GRAY12BE,
        AV_PIX_FMT_GRAY16LE, AV_PIX_FMT_GRAY16BE,   AV_PIX_FMT_P010LE,   AV_PIX_FMT_P010BE,
        AV_PIX_FMT_P016LE,   AV_PIX_FMT_YUV420P14LE};
    for (size_t k = 0; k < sizeof formats / sizeof *formats; k++) {
        struct fl_luma l = {0};
        AVFrame *f = av_frame_alloc();
        const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(formats[k]);
        const int depth = d->comp[0].depth, shift = d->comp[0].shift;
        const int low = d->flags & AV_PIX_FMT_FLAG_BE ? 1 : 0;
        f->format = formats[k];
        f->width = WIDE;
        f->height = HIGH;
        assert_true(av_frame_get_buffer(f, 0) >= 0);
        for (int i = 0; i < WIDE * HIGH; i++) {
            uint8_t *to = f->data[0] + i / WIDE * f->linesize[0] + 2 * (i % WIDE);
            to[low] = (uint8_t)i;
            to[1 - low] = (uint8_t)(i >> 8);
        }
        assert_int_equal(fl_luma_reduce(&l, f), 0);
        for (int i = 0; i < WIDE * HIGH; i++) {
            const int code = (i & 0xffff) >> shift & ((1 << depth) - 1);
            const double want = fmin(255, floor(code / pow(2, depth - 8) + 0.5));
            const uint8_t is = f->data[0][i / WIDE * f->linesize[0] + i % WIDE];
            if (is != want)
                fail_msg("%s: %d became %d, want %g", d->name, code, is, want);
        }
        av_frame_free(&f);
        fl_luma_finish(&l);
    }
}

static void lossy_frames_come_in_presentation_order(void **state)
{
    (void)state;
    const struct recipe recipes[] = {
        {"libx264", "mp4", AV_PIX_FMT_YUV420P, 120, .b_frames = 3},
        {"libx264", "matroska", AV_PIX_FMT_YUV420P, 120, .b_frames = 2},
        {"libx264", "matroska", AV_PIX_FMT_YUV420P10LE, 60, .b_frames = 2},
        {"mjpeg", "avi", AV_PIX_FMT_YUVJ420P, 60},
        {"mpeg4", "matroska", AV_PIX_FMT_YUV420P, 60, .b_frames = 2},
    };
    for (size_t k = 0; k < sizeof recipes / sizeof *recipes; k++) {
        if (!film(&recipes[k]))
            continue;
        for (int threads = 1; threads <= 2; threads++) {
            watch(&seen, threads, 0);
            assert_int_equal(seen.frames, FRAMES);
            assert_string_equal(seen.warning, "");
            assert_true(seen.keys >= 1 && (k == 3 ? seen.keys == FRAMES : seen.keys < FRAMES));
            assert_int_equal(seen.info.full_range, k == 3);
            assert_near(seen.info.nominal_rate_hz, recipes[k].rate, 0.01);
            assert_times(recipes[k].rate, 1.1e-3);
            for (int n = 0; n < FRAMES; n++) {
                double sum = 0;
                const double scale = seen.info.bit_depth > 8 ? 4 : 1;
                for (int y = 0; y < H; y++)
                    for (int x = 0; x < W; x++)
                        sum += seen.luma[n][y][x] - smooth(n, x, y) / scale;
                assert_true(fabs(sum / (W * H)) < 1);
            }
        }
        unlink(path);
    }
}

static void matroska_times_fit_the_grid(void **state)
{
    (void)state;
    const struct recipe r = {"ffv1", "matroska", AV_PIX_FMT_GRAY8, 120, .frames = 300};
    struct fl_timeline t;
    struct fl_error err;
    film(&r);
    watch(&seen, 1, 0);
    unlink(path);
    assert_int_equal(seen.frames, 300);
    assert_near(seen.info.tick_s, 1e-3, 1e-9);
    assert_int_equal(
        fl_timeline_fit(&t, seen.pts_s, 300, seen.info.nominal_rate_hz, seen.info.tick_s, &err), 0);
    assert_true(t.constant);
    assert_int_equal(t.missing, 0);
    assert_near(t.time_s[299], 299 / 120.0, 1e-6);
    fl_timeline_finish(&t);
}

static void variable_times_come_through(void **state)
{
    (void)state;
    double times[FRAMES];
    for (int n = 0; n < FRAMES; n++)
        times[n] = 0.007 * n + 0.001 * ((n * n) % 5);
    const struct recipe r = {"ffv1", "matroska", AV_PIX_FMT_YUV420P, 120, .times_s = times};
    film(&r);
    watch(&seen, 1, 0);
    unlink(path);
    assert_int_equal(seen.frames, FRAMES);
    for (int n = 0; n < FRAMES; n++)
        assert_near(seen.pts_s[n], times[n], 1e-9);
}

static void reading_stops_where_told(void **state)
{
    (void)state;
    const struct recipe r = {"ffv1", "matroska", AV_PIX_FMT_GRAY8, 60, .frames = 200};
    film(&r);
    watch(&seen, 1, 1.0);
    assert_int_equal(seen.frames, 60);
    assert_string_equal(seen.warning, "");
    /* closing with the queue full, before the end */
    for (int k = 0; k < 20; k++) {
        struct fl_footage *f;
        struct fl_frame frame;
        struct fl_error err;
        bool got;
        assert_int_equal(fl_footage_open(&f, path, NULL, &err), FLINCH_OK);
        for (int n = 0; n < k; n++)
            fl_footage_next(f, &frame, &got, &err);
        fl_footage_close(&f);
    }
    unlink(path);
}

static void cut_file(double share)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    fseek(f, 0, SEEK_END);
    const long size = ftell(f);
    fclose(f);
    assert_int_equal(truncate(path, (off_t)(share * (double)size)), 0);
}

static void a_file_that_breaks_off_is_read_as_far_as_it_goes(void **state)
{
    (void)state;
    const struct recipe r = {"ffv1", "matroska", AV_PIX_FMT_YUV420P, 60, .frames = 200};
    film(&r);
    cut_file(0.5);
    watch(&seen, 2, 0);
    unlink(path);
    assert_true(seen.frames > 60 && seen.frames < 140);
    assert_non_null(strstr(seen.warning, "cut off"));
    assert_times(60, 1.1e-3);
}

/* Random damage: a warning that counts, no crash, most frames still there. */
static void damaged_frames_are_skipped_and_counted(void **state)
{
    (void)state;
    const struct recipe r = {"mjpeg", "avi", AV_PIX_FMT_YUVJ420P, 60, .frames = 200};
    film(&r);
    FILE *f = fopen(path, "r+b");
    assert_non_null(f);
    fseek(f, 0, SEEK_END);
    const long size = ftell(f);
    for (int k = 3; k < 8; k++) {
        fseek(f, size * k / 12, SEEK_SET);
        for (int i = 0; i < 1500; i++)
            fputc(0xFF, f);
    }
    fclose(f);
    watch(&seen, 1, 0);
    unlink(path);
    print_message("damaged file: %d of 200 frames, \"%s\"\n", seen.frames, seen.warning);
    assert_true(seen.frames > 100);
    assert_true(seen.frames == 200 || seen.warning[0]);
}

static void a_size_that_changes_ends_reading(void **state)
{
    (void)state;
    const struct recipe r = {"mjpeg", "mjpeg", AV_PIX_FMT_YUVJ420P, 60, .width_later = 2 * W};
    film(&r);
    watch(&seen, 1, 0);
    unlink(path);
    assert_int_equal(seen.frames, FRAMES / 2);
    assert_non_null(strstr(seen.warning, "frame size changes"));
    assert_non_null(strstr(seen.warning, "96x64 to 192x64"));
}

static void refuse(enum flinch_code code, const char *part)
{
    struct fl_footage *f = NULL;
    struct fl_error err = {0};
    assert_int_equal(fl_footage_open(&f, path, NULL, &err), code);
    assert_null(f);
    if (strncmp(err.text, path, strlen(path)) != 0 || !strstr(err.text, part))
        fail_msg("'%s' lacks '%s'", err.text, part);
    unlink(path);
}

static void put(const char *extension, const char *text, size_t size)
{
    FILE *f = fopen(named(extension), "wb");
    assert_non_null(f);
    fwrite(text, 1, size, f);
    fclose(f);
}

static void write_sound(void)
{
    unsigned char wav[44 + 8000] =
        "RIFF\0\0\0\0WAVEfmt \20\0\0\0\1\0\1\0\100\37\0\0\100\37\0\0\1\0\10\0data";
    const unsigned body = 8000, riff = 36 + body;
    memset(wav + 44, 128, body);
    for (int k = 0; k < 4; k++) {
        wav[4 + k] = (unsigned char)(riff >> 8 * k);
        wav[40 + k] = (unsigned char)(body >> 8 * k);
    }
    put("wav", (const char *)wav, sizeof wav);
}

static void what_is_no_video_is_refused(void **state)
{
    (void)state;
    const char text[] = "time_us,dx,dy\n1,2,3\n";
    put("txt", text, sizeof text - 1);
    refuse(FLINCH_ERR_FORMAT, "not a video");
    put("mp4", text, sizeof text - 1);
    refuse(FLINCH_ERR_FORMAT, "not a video");
    put("mkv", "", 0);
    refuse(FLINCH_ERR_EMPTY, "empty");
    write_sound();
    refuse(FLINCH_ERR_FORMAT, "only sound");
    named("gone.mkv");
    refuse(FLINCH_ERR_OPEN, "cannot be opened");
    snprintf(path, sizeof path, ".");
    struct fl_error err = {0};
    struct fl_footage *f;
    assert_int_equal(fl_footage_open(&f, path, NULL, &err), FLINCH_ERR_OPEN);
    const struct recipe r = {"ffv1", "matroska", AV_PIX_FMT_GRAY8, 60};
    film(&r);
    cut_file(0.002);
    refuse(FLINCH_ERR_FORMAT, "");
    const struct recipe mp4 = {"mpeg4", "mp4", AV_PIX_FMT_YUV420P, 60};
    film(&mp4);
    cut_file(0.5); /* the index stands at the end */
    refuse(FLINCH_ERR_FORMAT, "not a video");
}

/* One grey picture as YUV4MPEG2, the plainest format that declares a size. */
static void put_picture(int width, int height, bool whole)
{
    char head[80];
    const int n = snprintf(head, sizeof head, "YUV4MPEG2 W%d H%d F30:1 Ip A1:1 Cmono\nFRAME\n",
                           width, height);
    const size_t size = (size_t)n + (whole ? (size_t)width * (size_t)height : 1);
    char *text = fl_calloc(size, 1);
    memcpy(text, head, (size_t)n);
    put("y4m", text, size);
    free(text);
}

static void pictures_beyond_any_display_are_refused(void **state)
{
    (void)state;
    put_picture(16384, 8, true);
    struct fl_footage *f = NULL;
    struct fl_error err = {0};
    assert_int_equal(fl_footage_open(&f, path, NULL, &err), FLINCH_OK);
    fl_footage_close(&f);
    put_picture(16392, 8, false);
    refuse(FLINCH_ERR_UNSUPPORTED, "16392x8 are too large");
    put_picture(8, 16392, false);
    refuse(FLINCH_ERR_UNSUPPORTED, "too large");
    put_picture(16000, 16000, false);
    refuse(FLINCH_ERR_UNSUPPORTED, "too large");
}

/* RFC 8216, 4.1: a playlist is known by its first line. Under any name it is one. */
static void lists_of_other_files_are_refused(void **state)
{
    (void)state;
    const struct recipe r = {"ffv1", "matroska", AV_PIX_FMT_GRAY8, 60};
    char text[200];
    film(&r);
    rename(path, "listed.mkv");
    snprintf(text, sizeof text,
             "#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:2,\nlisted.mkv\n#EXT-X-ENDLIST\n");
    const char *const names[] = {"m3u8", "mkv", "mp4"};
    for (int i = 0; i < 3; i++) {
        put(names[i], text, strlen(text));
        refuse(FLINCH_ERR_FORMAT, "names other files (hls)");
    }
    snprintf(text, sizeof text, "ffconcat version 1.0\nfile listed.mkv\n");
    put("ffconcat", text, strlen(text));
    refuse(FLINCH_ERR_FORMAT, "names other files (concat)");
    unlink("listed.mkv");
}

/* Two moments in each frame, row by row: nothing here fits that. */
static void interlaced_footage_is_refused_by_name(void **state)
{
    (void)state;
    for (int interlaced = 0; interlaced < 2; interlaced++) {
        const struct recipe r = {"mpeg2video", "matroska", AV_PIX_FMT_YUV420P, 30,
                                 .interlaced = interlaced};
        if (!film(&r))
            return;
        if (interlaced)
            refuse(FLINCH_ERR_UNSUPPORTED, "interlaced");
        else
            watch(&seen, 1, 0);
    }
    unlink(path);
}

int main(void)
{
    av_log_set_level(AV_LOG_QUIET);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lossless_formats_give_their_luma),
        cmocka_unit_test(rgb_becomes_full_range_luma),
        cmocka_unit_test(rgb_weights_are_bt709),
        cmocka_unit_test(more_bits_are_rounded_alike_in_every_layout),
        cmocka_unit_test(lossy_frames_come_in_presentation_order),
        cmocka_unit_test(matroska_times_fit_the_grid),
        cmocka_unit_test(variable_times_come_through),
        cmocka_unit_test(reading_stops_where_told),
        cmocka_unit_test(a_file_that_breaks_off_is_read_as_far_as_it_goes),
        cmocka_unit_test(damaged_frames_are_skipped_and_counted),
        cmocka_unit_test(a_size_that_changes_ends_reading),
        cmocka_unit_test(what_is_no_video_is_refused),
        cmocka_unit_test(pictures_beyond_any_display_are_refused),
        cmocka_unit_test(lists_of_other_files_are_refused),
        cmocka_unit_test(interlaced_footage_is_refused_by_name),
    };
    return RUN_TESTS(tests);
}
