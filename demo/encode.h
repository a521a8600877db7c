/* Writes pictures into a movie file as a capture device would, in a thread of its own. */
#ifndef STAGE_ENCODE_H
#define STAGE_ENCODE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"
#include "develop.h"
#include "picture.h"

struct st_encode_settings {
    const char *encoder; /* FFmpeg's name, e.g. libx264 */
    const char *preset;  /* NULL: the encoder's own */
    int crf;             /* below 0: not set */
    int qp;              /* above 0: one quantiser throughout, instead of crf; quicker */
    int kbit_s;          /* above 0: constant bit rate with a small buffer, instead of crf */
    int key_interval;    /* frames */
    bool b_frames;
    int width, height;      /* of the file */
    struct st_look look;    /* pictures to fill have its size */
    double nominal_hz;      /* declared frame rate; 0: none */
    int tick_num, tick_den; /* unit of the times given to st_encoder_send, seconds */
};

struct st_encoder;

/* The container follows from the ending of path. */
enum flinch_code st_encoder_open(struct st_encoder **out, const char *path,
                                 const struct st_encode_settings *settings, struct fl_error *err);
/* A picture to fill; waits while the encoder is behind. Valid until sent. */
struct st_picture *st_encoder_begin(struct st_encoder *e);
void st_encoder_send(struct st_encoder *e, int64_t ticks);
/* Finishes the file and reports the first error of all. Clears the pointer. */
enum flinch_code st_encoder_close(struct st_encoder **e, struct fl_error *err);

#endif
