/* The sound in a footage file, lined up with its pictures. */
#ifndef FL_MEDIA_SOUND_H
#define FL_MEDIA_SOUND_H

#include <stdbool.h>

#include "base/error.h"

struct fl_sound; /* opaque; holds a few packets' worth of samples */

/* Opens the best sound stream, from a presentation time (of the container's clock, as pts of frames
 * are) on. *out is NULL, without an error, where the file has no sound or none that can be decoded.
 */
enum flinch_code fl_sound_open(struct fl_sound **out, const char *path, double from_s,
                               struct fl_error *err);
int fl_sound_rate(const struct fl_sound *s); /* samples a second, 44100 or 48000 */
/* The next n samples, left and right in turn, from exactly from_s on; silence where there is no
 * sound. */
void fl_sound_read(struct fl_sound *s, float *out, int n);
void fl_sound_close(struct fl_sound **s); /* NULL is fine */

#endif
