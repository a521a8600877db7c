/* A recording as it comes, byte after byte: a pipe, or a file that still grows. Read once, from
 * front to end, never backwards; copied to another file on the way if wanted.
 *
 * Thread safety: one thread reads; another may ask how it stands (fl_byte_source_state). */
#ifndef FL_MEDIA_BYTE_SOURCE_H
#define FL_MEDIA_BYTE_SOURCE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"

struct AVIOContext;
struct fl_byte_source; /* opaque */

struct fl_byte_source_settings {
    bool follow;       /* at the end of a file wait for more */
    double patience_s; /* then end after so long without more; 0: never */
    const char *keep;  /* copy everything into this file, which must not be there yet; NULL */
    /* true: no more is wanted, and what follows counts as the end. Asked some ten times a second;
     * may be NULL. */
    bool (*stopped)(void *ctx);
    void *ctx;
};

struct fl_byte_source_state {
    int64_t bytes;      /* read so far */
    int64_t kept;       /* copied so far */
    int64_t waits;      /* how often there was nothing to read */
    double waiting_s;   /* since the last byte came */
    char keep_why[160]; /* why copying has stopped, one line; "" while it goes on */
};

/* Has to be read as a stream: "-" (standard input), a pipe or a socket. */
bool fl_byte_source_is_stream(const char *path);
/* Errors: missing, a folder, standard input that is a terminal, a copy that cannot be made. */
enum flinch_code fl_byte_source_open(struct fl_byte_source **out, const char *path,
                                     const struct fl_byte_source_settings *settings,
                                     struct fl_error *err);
/* For FFmpeg; not seekable. Owned by the source. */
struct AVIOContext *fl_byte_source_io(struct fl_byte_source *s);
void fl_byte_source_state(struct fl_byte_source *s, struct fl_byte_source_state *out);
void fl_byte_source_close(struct fl_byte_source **s); /* NULL is fine; clears the pointer */

#endif
