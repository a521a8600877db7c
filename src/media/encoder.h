/* Pictures and sound → a movie file, through any of FFmpeg's encoders.
 *
 * One thread. The container follows from the file's name. Opening silences FFmpeg's own log in the
 * whole process. */
#ifndef FL_MEDIA_ENCODER_H
#define FL_MEDIA_ENCODER_H

#include "base/error.h"
#include "media/canvas.h"
#include "media/encoder_settings.h"

struct fl_encoder; /* opaque */

/* Errors: an encoder, option or container that this FFmpeg lacks; a file that cannot be written. */
enum flinch_code fl_encoder_open(struct fl_encoder **out, const char *path,
                                 const struct fl_encoder_settings *settings, struct fl_error *err);
const char *fl_encoder_codec(const struct fl_encoder *e);       /* that is in use */
const char *fl_encoder_sound_codec(const struct fl_encoder *e); /* NULL without sound */
int fl_encoder_bits(const struct fl_encoder *e);                /* a sample: 8 or 10 */
/* A canvas to draw the next picture on, its content undefined; valid until it is sent. NULL: out of
 * memory. */
struct fl_canvas *fl_encoder_canvas(struct fl_encoder *e);
/* Encodes it as the picture at time `ticks`, `lasts` ticks long; times increase. */
enum flinch_code fl_encoder_send(struct fl_encoder *e, long ticks, long lasts,
                                 struct fl_error *err);
/* The picture sent last once more. */
enum flinch_code fl_encoder_repeat(struct fl_encoder *e, long ticks, long lasts,
                                   struct fl_error *err);
/* n samples, left and right in turn, -1..1; they follow one another from time 0. */
enum flinch_code fl_encoder_sound(struct fl_encoder *e, const float *samples, int n,
                                  struct fl_error *err);
/* Ends the file; clears the pointer. */
enum flinch_code fl_encoder_close(struct fl_encoder **e, struct fl_error *err);
/* Gives up: the file is then of no use. NULL is fine; clears the pointer. */
void fl_encoder_abandon(struct fl_encoder **e);

#endif
