/* FFmpeg's PNG encoder for one picture with a palette. */
#include "media/png.h"

#include <stdlib.h>
#include <string.h>

#include <libavcodec/avcodec.h>
#include <libavutil/opt.h>

#include "base/mem.h"

static AVFrame *frame_of(const uint8_t *index, int width, int height, const uint32_t palette[256])
{
    AVFrame *frame = av_frame_alloc();
    if (!frame)
        return NULL;
    frame->format = AV_PIX_FMT_PAL8;
    frame->width = width;
    frame->height = height;
    if (av_frame_get_buffer(frame, 0) < 0) {
        av_frame_free(&frame);
        return NULL;
    }
    for (int y = 0; y < height; y++)
        memcpy(frame->data[0] + (ptrdiff_t)y * frame->linesize[0], index + (ptrdiff_t)y * width,
               (size_t)width);
    for (size_t i = 0; i < 256; i++)
        memcpy(frame->data[1] + 4 * i, &(uint32_t){0xff000000u | palette[i]}, 4);
    return frame;
}

static AVCodecContext *open_encoder(int width, int height)
{
    const AVCodec *codec = avcodec_find_encoder(AV_CODEC_ID_PNG);
    AVCodecContext *encoder = codec ? avcodec_alloc_context3(codec) : NULL;
    if (!encoder)
        return NULL;
    encoder->width = width;
    encoder->height = height;
    encoder->pix_fmt = AV_PIX_FMT_PAL8;
    encoder->time_base = (AVRational){1, 1};
    encoder->thread_count = 1;
    encoder->flags |= AV_CODEC_FLAG_BITEXACT;
    encoder->compression_level = 6;
    av_opt_set(encoder->priv_data, "pred", "none", 0); /* indices of a palette predict nothing */
    if (avcodec_open2(encoder, codec, NULL) < 0)
        avcodec_free_context(&encoder);
    return encoder;
}

enum flinch_code fl_png_encode(const uint8_t *index, int width, int height,
                               const uint32_t palette[256], uint8_t **data, size_t *size,
                               struct fl_error *err)
{
    AVCodecContext *encoder = open_encoder(width, height);
    AVFrame *frame = frame_of(index, width, height, palette);
    AVPacket *packet = av_packet_alloc();
    bool done = encoder && frame && packet && avcodec_send_frame(encoder, frame) >= 0 &&
                avcodec_send_frame(encoder, NULL) >= 0 &&
                avcodec_receive_packet(encoder, packet) >= 0;
    *data = NULL;
    *size = 0;
    if (done) {
        *size = (size_t)packet->size;
        *data = fl_calloc(*size, 1);
        memcpy(*data, packet->data, *size);
    }
    av_packet_free(&packet);
    av_frame_free(&frame);
    avcodec_free_context(&encoder);
    return done ? FLINCH_OK : fl_fail(err, FLINCH_ERR_UNSUPPORTED, "this FFmpeg cannot write PNG");
}
