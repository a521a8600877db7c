/* Frame rates as fractions, and timecode labels: hours, minutes, seconds and frames of a frame
 * count.
 *
 * SMPTE ST 12-1: in drop-frame counting of 30000/1001 frames per second, labels 00 and 01 of every
 * minute but each tenth are left out, so that the label stays beside the clock; at 60000/1001 and
 * 120000/1001 twice and four times as many. No frame is left out, only its label. */
#ifndef FL_BASE_TIMECODE_H
#define FL_BASE_TIMECODE_H

#include <stdbool.h>

#include "base/error.h"

struct fl_rate {
    long num, den; /* num/den frames per second, in lowest terms; den 0: unknown */
};

/* A rate to count in, and how to label it. */
struct fl_timecode {
    struct fl_rate rate;
    bool drop;
};

double fl_rate_hz(struct fl_rate rate); /* NaN if unknown */
/* The whole number of labels in a second of timecode: 24 for 24000/1001. */
long fl_rate_labels(struct fl_rate rate);
/* Drop-frame counting is defined: 30000/1001 and its multiples. */
bool fl_rate_can_drop(struct fl_rate rate);

/* A measured rate as a fraction: the common rate (a whole number, or a multiple of 24 or 30
 * by 1.001) that it is if it drifts from it by under half a frame over `frames`, and by under 2 in
 * 10,000; then *common (may be NULL) is true. Else hz itself, to a thousandth. den 0 if hz is not
 * in 1..1000. */
struct fl_rate fl_rate_near(double hz, double frames, bool *common);
/* "25", "29.97", "59.94", "30000/1001": 1..1000 frames per second. A decimal within 2 in 10,000 of
 * a common rate is that rate: 23.976 and 23.98 are 24000/1001. */
enum flinch_code fl_rate_parse(struct fl_rate *out, const char *text, struct fl_error *err);
/* "119.88", "25": as people write it. Returns buf. */
#define FL_RATE_SIZE 24
const char *fl_rate_text(char buf[FL_RATE_SIZE], struct fl_rate rate);
/* The first frame of rate `to` that shows `frame` of rate `from`, or a later one: frame k of an
 * edit shows what is on screen in the footage at its own beginning. */
long fl_rate_convert(long frame, struct fl_rate from, struct fl_rate to);

/* "01:00:00:00", with ';' before the frames when dropping; over 100 labels a second the frames have
 * three digits. Frames past 24 hours start again at 0; frame is not negative. Returns buf. */
#define FL_TIMECODE_SIZE 24
const char *fl_timecode_label(char buf[FL_TIMECODE_SIZE], const struct fl_timecode *tc, long frame);
/* The frame of a label; the separator before the frames may be ':' or ';'. An error: not a label,
 * or one that the counting leaves out. */
enum flinch_code fl_timecode_parse(long *frame, const struct fl_timecode *tc, const char *text,
                                   struct fl_error *err);

#endif
