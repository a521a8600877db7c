/* The sound of a file as samples, from its beginning to its end, a block at a time.
 *
 * Sound files are read by libsndfile, what it does not know (footage, m4a) by FFmpeg. Any rate, any
 * number of channels up to FL_SOUND_CHANNELS; memory does not grow with the length. */
#ifndef FL_MEDIA_SOUND_STREAM_H
#define FL_MEDIA_SOUND_STREAM_H

#include <stdbool.h>

#include "base/error.h"

enum { FL_SOUND_CHANNELS = 8 };

struct fl_sound_info {
    int rate, channels;
    const char *reader; /* "libsndfile" or "FFmpeg" */
};

struct fl_sound_stream;
/* Sound time 0 is the first sample of a sound file; in a file with pictures it is origin_s on the
 * container's clock, the time of the first picture, so that sound time is footage time. *out is
 * NULL, without an error, where the file has no sound; what cannot be opened or decoded is one. */
enum flinch_code fl_sound_stream_open(struct fl_sound_stream **out, const char *path,
                                      double origin_s, struct fl_error *err);
void fl_sound_stream_close(struct fl_sound_stream **s); /* NULL is fine; clears the pointer */
const struct fl_sound_info *fl_sound_stream_info(const struct fl_sound_stream *s);
/* The next frames, channels in turn; returns how many of the n, 0 at the end. Where packets are
 * missing by their times there is silence, so that time goes on. Damage ends it early. */
int fl_sound_stream_read(struct fl_sound_stream *s, float *frames, int n);

#endif
