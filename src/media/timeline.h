/* Presentation times of capture frames → footage time (DESIGN: footage time).
 *
 * Pure function on arrays. Where times fit a constant rate within the rounding of
 * the container, frame n is at n/rate and gaps are missing n; else times are taken
 * as given. */
#ifndef FL_MEDIA_TIMELINE_H
#define FL_MEDIA_TIMELINE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

struct fl_timeline {
    size_t n;
    double *time_s;    /* n, malloc'ed: seconds since the first frame, strictly increasing */
    long *slot;        /* n, malloc'ed: frame number on the constant grid (gaps skip numbers);
                          0..n-1 when not constant */
    bool constant;     /* times fit a constant rate */
    double rate_hz;    /* fitted rate if constant, else 1 / typical gap; NaN for
                          one frame without a declared rate */
    size_t missing;    /* grid slots without a frame (constant only) */
    size_t mended;     /* frames whose time was absent, repeated or backward and was rebuilt */
    double rounding_s; /* rounding seen or declared: the time base */
};

/* What is no recording's: a span of more than two days (a clock of 33 bits at 90 kHz, as transport
 * streams have, wraps after 26.5 hours, which is a jump to live with), a rate above what any
 * capture device has (common practice, no source). Arrays are sized by products of these. */
#define FL_TIMELINE_LONGEST_S 172800.0
#define FL_TIMELINE_FASTEST_HZ 10000.0
/* From zero: some three hundred years, so that times of day pass, and doubles still tell 2 µs. */
#define FL_TIMELINE_FARTHEST_S 1e10

/* pts_s: n presentation times in seconds in decode output order, NaN where the
 * container gave none. nominal_hz: the declared rate, 0 if none. tick_s: time base.
 * Errors, *out then empty: no frames; neither times nor a declared rate; a span or a rate beyond
 * the limits above. */
enum flinch_code fl_timeline_fit(struct fl_timeline *out, const double *pts_s, size_t n,
                                 double nominal_hz, double tick_s, struct fl_error *err);
void fl_timeline_finish(struct fl_timeline *t);

#endif
