/* What the recorder and its encoder did to the pictures: frames repeated, key frames that jump. */
#ifndef FL_SIGNAL_DEVICE_H
#define FL_SIGNAL_DEVICE_H

#include "media/scan.h"
#include "signal/signals.h"

/* No output rate of interest leaves two repeats in one rhythm farther apart than this: 35 flips/s,
 * the slowest, repeat within 29 ms; twice that is room for one that was missed. */
#define FL_DEVICE_RHYTHM_S 0.06

struct fl_device {
    long compared;         /* frames with the scene in motion both before and after */
    long identical;        /* of them, in no row other than the frame before, up to coding noise */
    long alone, paired;    /* of the identical, those that flips as usual cannot have left as they
                              were, in    runs with no other in the rhythm's reach, with one */
    double key_interval_s; /* between key frames, median; NaN with fewer than two */
    /* mean |ΔY| of frames at rest, grey levels, median; NaN if it never rests */
    double rest_change;
    double key_change;    /* the same of key frames at rest; NaN with fewer than two of them */
    double motion_change; /* the same of frames in motion that are not identical; NaN with few */
};

/* What each row band differs by from the frame before, grey levels: frames × bands, malloc'ed. All
 * that is asked of tiles here, so that they can go before. */
float *fl_band_changes(const struct fl_signals *s);
/* changes: of the same frames. scan: the same frames in time. longest_s: in torn footage the usual
 * output holds a picture no longer than this, so that a frame whose rows stood still for longer is
 * not its doing; 0: any frame that stood still counts; NaN: none. */
void fl_device_find(struct fl_device *out, const struct fl_signals *s, const float *changes,
                    const struct fl_scan *scan, double longest_s);

#endif
