/* All signals of one footage, streaming: push luma frames, then finish.
 *
 * One thread. A few working pictures are held, never native ones. */
#ifndef FL_SIGNAL_STREAM_H
#define FL_SIGNAL_STREAM_H

#include "signal/signals.h"

struct fl_signal_stream; /* opaque */
/* Of all kinds (signal/kinds.h). */
struct fl_signal_stream *fl_signals_open(int width, int height);
/* Of these, in this order; ends with NULL. */
struct fl_signal_stream *fl_signals_open_kinds(int width, int height,
                                               const struct fl_signal_kind *const *kinds);
void fl_signals_push(struct fl_signal_stream *s, const uint8_t *luma, ptrdiff_t stride, bool key);
/* The table so far. Its last FL_SIGNAL_AHEAD frames are not settled yet; changed by the next push.
 */
const struct fl_signals *fl_signals_so_far(const struct fl_signal_stream *s);
/* Drops frames at the front of the table, at most n and not the last FL_SIGNALS_KEPT, so that a
 * stream without an end needs no more memory than what is kept of it. Frames are then counted from
 * what is left. Returns how many were dropped: a multiple of FL_SIGNALS_KEPT. */
enum { FL_SIGNALS_KEPT = 120 };
size_t fl_signals_forget(struct fl_signal_stream *s, size_t n);
/* Ends the stream and hands the table over; *s becomes NULL. */
void fl_signals_finish(struct fl_signal_stream **s, struct fl_signals *out);

#endif
