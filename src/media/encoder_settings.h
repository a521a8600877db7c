/* What a movie file is to be. */
#ifndef FL_MEDIA_ENCODER_SETTINGS_H
#define FL_MEDIA_ENCODER_SETTINGS_H

#include "base/error.h"
#include "media/canvas.h"

struct fl_encoder_settings {
    const char *name;        /* of the file, in messages; NULL: its path */
    int width, height;       /* even */
    long tick_num, tick_den; /* times are counted in tick_num/tick_den seconds */
    long rate_num, rate_den; /* frames a second; rate_den 0: not constant */
    struct fl_coding coding;
    bool deep;                  /* 10 bits a sample where the encoder takes them */
    int aspect_num, aspect_den; /* of a pixel */
    const char *codec;  /* as FFmpeg names encoders; NULL: the first of libx264, libopenh264, mpeg4,
                           or the container's own */
    const char *preset; /* NULL: the encoder's own */
    double crf; /* NaN: 18 where the encoder is libx264 by default, else the encoder's own */
    int kbit_s; /* 0: not by bit rate */
    const char *options;         /* more of the encoder's: "key=value:key=value"; NULL */
    int sound_hz;                /* 0: no sound; else stereo */
    const char *title, *comment; /* metadata; NULL */
};

/* True if FFmpeg knows a container for this file name, and may it hold the encoder named (NULL:
 * any). */
enum flinch_code fl_encoder_check(const char *path, const char *codec, struct fl_error *err);

#endif
