/* Filmstrips: for each stretch seen off a picture of the capture frames around its edges, so that a
 * reader can check the call by eye. strips/ID-NN.png, NN the stretch's number among those of the
 * take, from 01. Which stretches are one lapse is known only with the whole session (struct
 * fl_lapse: run, runs).
 *
 * Needs what a take has only while it is fresh (t->edge_frames) and its footage, which is read once
 * more, from key frame to key frame. */
#ifndef FL_SHOW_CLIP_FILMSTRIP_H
#define FL_SHOW_CLIP_FILMSTRIP_H

#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"
#include "base/progress.h"
#include "study/take/take.h"

/* Draws all strips of t into folder/strips and removes those that an earlier measurement of the
 * take left behind. threads: of the decoder, 0 = as many as cores. */
enum flinch_code fl_filmstrips_write(const char *folder, const struct fl_take *t, int threads,
                                     const struct fl_progress *progress, struct fl_error *err);
/* Removes the take's strips numbered from `from` (0 is the first). */
void fl_filmstrips_remove(const char *folder, const char *id, size_t from);
/* True if every stretch of t's lapses has its strip. */
bool fl_filmstrips_there(const char *folder, const struct fl_take *t);

/* "strips/ID-NN.png", malloc'ed; and whether folder holds it. */
char *fl_filmstrip_name(const char *id, size_t run);
bool fl_filmstrip_there(const char *folder, const char *id, size_t run);

/* One capture frame of a strip. */
struct fl_strip_frame {
    long number;              /* of the capture frame */
    const signed char *bands; /* as in struct fl_edge_frames */
    uint32_t *picture;        /* width × height, 0xRRGGBB; malloc'ed */
    uint8_t *difference; /* from the frame before, quarters of a grey level; malloc'ed; NULL: no
                            frame before */
};
struct fl_strip {
    const struct fl_take *take;
    size_t lapse;
    int width, height; /* of a picture, px */
    struct fl_strip_frame *frame;
    size_t n; /* in time order; a new row where frame numbers jump */
};
/* filmstrip_draw.c */
enum flinch_code fl_strip_write(const struct fl_strip *s, const char *path, struct fl_error *err);

#endif
