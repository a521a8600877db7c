/* All signals of one footage, streaming: push luma frames, then finish.
 *
 * Shifts are those of the content: a camera that turns right moves it to the left (negative x).
 * One thread. A few working pictures are held, never native ones. */
#ifndef FL_SIGNAL_SIGNALS_H
#define FL_SIGNAL_SIGNALS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "signal/bands.h"
#include "signal/picture.h"

/* Row i speaks of capture frame i against frame i-1; row 0 says nothing. */
struct fl_signals {
    struct fl_grid grid;
    size_t n;
    float *shift_x, *shift_y; /* scene shift a frame, working px; 0 when none was seen */
    float *quality;           /* 0..1: how well neighbouring frames agree on it */
    /* The frame's own shift if all of its rows moved alike, working px, 0.1 px fine; also of a
     * scene that drifts too slowly for the above, or rests. Its quality falls to 0 as another shift
     * explains the frames around as well: one in another direction (a texture that repeats) or none
     * (overlay, a thing that moves before a resting scene). */
    float *whole_x, *whole_y, *whole_quality;
    float *change;         /* mean |ΔY| of the whole picture, grey levels; NaN in row 0 */
    bool *key;             /* coded as a key frame */
    struct fl_tile *tiles; /* n × bands × tiles */
};

static inline const struct fl_tile *fl_signals_tile(const struct fl_signals *s, size_t frame,
                                                    int band, int tile)
{
    return &s->tiles[(frame * (size_t)s->grid.bands + (size_t)band) * (size_t)s->grid.tiles +
                     (size_t)tile];
}

struct fl_signal_stream; /* opaque */
struct fl_signal_stream *fl_signals_open(int width, int height);
void fl_signals_push(struct fl_signal_stream *s, const uint8_t *luma, ptrdiff_t stride, bool key);
/* Ends the stream and hands the table over; *s becomes NULL. */
void fl_signals_finish(struct fl_signal_stream **s, struct fl_signals *out);
void fl_signals_free(struct fl_signals *s);

#endif
