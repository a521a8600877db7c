/* Which encoder and container, and what they are told: the part of the encoder that people's wishes
 * reach. */
#ifndef FL_MEDIA_ENCODER_CHOICE_H
#define FL_MEDIA_ENCODER_CHOICE_H

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>

#include "base/error.h"
#include "media/encoder_settings.h"

/* Container by the file's name and encoder by its own (NULL: the usual one). */
enum flinch_code fl_encoder_choose(const char *path, const char *name,
                                   const AVOutputFormat **container, const AVCodec **codec,
                                   struct fl_error *err);
const AVCodec *
fl_encoder_sound_choice(const AVOutputFormat *container); /* NULL: none in this FFmpeg */
/* Quality, preset and further options, before the encoder is opened. */
enum flinch_code fl_encoder_set_quality(AVCodecContext *c, const struct fl_encoder_settings *s,
                                        struct fl_error *err);

#endif
