/* Decoding by the machine's own hardware, where a device gives the pictures that software gives. */
#ifndef FL_MEDIA_HARDWARE_H
#define FL_MEDIA_HARDWARE_H

#include <stdbool.h>
#include <stddef.h>

#include <libavcodec/avcodec.h>

/* A device in use for one stream; zero-initialised: none. */
struct fl_hardware {
    AVBufferRef *device;
    enum AVPixelFormat format; /* of its pictures */
    struct AVBufferPool *pool; /* memory that they are handed over in, again and again */
    size_t pool_size;
};

/* The footage that is to be decoded: a file, and which of its streams. */
struct fl_hardware_trial {
    const char *path;
    int stream;
    const AVCodec *codec;
};

/* decoder: media/decoder_name.h. True: a device of the kind asked for decodes the footage's first
 * pictures, and their luma is bit by bit that of software. Else false, and *why says in a line why
 * software it is; *why is empty where nothing else was asked for. Reads the file from its start, a
 * few frames. */
bool fl_hardware_open(struct fl_hardware *h, const char *decoder,
                      const struct fl_hardware_trial *trial, char *why, size_t room);
/* Before ctx is opened: lets it use the device. h stays where it is until ctx is freed. */
void fl_hardware_use(struct fl_hardware *h, AVCodecContext *ctx);
/* Takes a picture over from the device, in place; others are left as they are. 0, or a negative
 * AVERROR. One thread. */
int fl_hardware_fetch(struct fl_hardware *h, AVFrame *picture);
void fl_hardware_close(struct fl_hardware *h);

#endif
