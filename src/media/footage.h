/* Footage: any video that FFmpeg decodes → 8-bit luma frames in presentation order.
 *
 * Decoding runs in threads of its own, ahead of the reader by a bounded queue. One
 * reader thread per footage. Luma is in nominal range as coded (limited stays
 * limited); more than 8 bits are rounded to 8, RGB becomes full-range BT.709 luma. Rotation and
 * cropping in the container are ignored, cover pictures are no video, edit lists are as FFmpeg
 * presents them. Opening silences FFmpeg's own log in the whole process. */
#ifndef FL_MEDIA_FOOTAGE_H
#define FL_MEDIA_FOOTAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "media/byte_source.h"
#include "media/canvas.h"

struct fl_footage; /* opaque */

struct fl_footage_info {
    int width, height;      /* coded picture, px */
    double nominal_rate_hz; /* as the container declares it, 0 if it does not */
    double tick_s;          /* container time base */
    long frames_hint;       /* expected number of frames, 0 if unknown */
    double duration_hint_s; /* 0 if unknown */
    int bit_depth;          /* 8..16 */
    bool full_range;
    int aspect_num, aspect_den; /* of a pixel, 1:1 if unknown */
    struct fl_coding coding; /* of colours; RGB counts as limited BT.709, which it is painted as */
    char codec[32], pixel_format[32], transfer[32]; /* FFmpeg's names; "unknown" if unset */
};

struct fl_frame {
    const uint8_t *luma; /* width × height, row stride below; valid until the next call */
    ptrdiff_t stride;
    double pts_s; /* NaN if the container gave none */
    bool key;     /* coded as a key frame */
};

struct fl_footage_settings {
    int threads;         /* decoder threads; 0 = as many as cores */
    double stop_after_s; /* read only this much from the start; 0 = all */
    double from_s; /* start at the last key frame at or before this presentation time; 0 = at the
                      first frame. What lies between the two is read as well. Where the container
                      knows no key frames, reading may start anywhere before, or opening fails */
    /* Read as a stream (media/byte_source.h), as pipes are anyhow: follow, patience_s, keep and
     * stopped are as there. Not with from_s. */
    bool follow;
    double patience_s;
    const char *keep;
    bool (*stopped)(void *ctx);
    void *ctx;
    const char
        *decoder; /* media/decoder_name.h; what it names gives the same luma. NULL: software */
    bool colour;  /* keep pictures as they are, for fl_footage_paint; frames then have no luma */
};

/* Opens path, "-" for standard input; errors: missing, not a video, audio only, interlaced (by what
 * the first frame says). The caller closes. */
enum flinch_code fl_footage_open(struct fl_footage **out, const char *path,
                                 const struct fl_footage_settings *settings, struct fl_error *err);
/* How the stream stands, from any thread; false where the footage is not read as one. */
bool fl_footage_stream_state(struct fl_footage *f, struct fl_byte_source_state *out);
const struct fl_footage_info *fl_footage_info(const struct fl_footage *f);
/* The next frame: *got is false at the end. A damaged frame is skipped and counted; a frame
 * size that changes in the middle, or a stream that breaks off, ends reading: *got false and
 * fl_footage_warning() says what happened. */
enum flinch_code fl_footage_next(struct fl_footage *f, struct fl_frame *frame, bool *got,
                                 struct fl_error *err);
/* Colour only: the frame read last, scaled into a rectangle (even numbers) of the canvas; more than
 * 8 bits are rounded to 8 (to 10 in its 10-bit planes, where it has them), 4:2:2 and 4:4:4 to
 * 4:2:0, RGB becomes limited BT.709. */
enum flinch_code fl_footage_paint(struct fl_footage *f, struct fl_canvas *c, int x, int y,
                                  int width, int height, struct fl_error *err);
/* One line: why software decodes though something else was asked for; or NULL. */
const char *fl_footage_fallback(const struct fl_footage *f);
/* After the last frame: what is left of a stream that reading has ended before, as at a change of
 * size, goes into its copy. Waits for the stream's end; nothing without a copy. */
void fl_footage_copy_rest(struct fl_footage *f);
/* One line about what went wrong while reading, or NULL. */
const char *fl_footage_warning(const struct fl_footage *f);
/* Coded size of a frame, bits, mean over those read; after the last frame. NaN if none was. */
double fl_footage_frame_bits(const struct fl_footage *f);
void fl_footage_close(struct fl_footage **f); /* NULL is fine; clears the pointer */

#endif
