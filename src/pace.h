/* Whether measuring keeps up with a stream. What it cannot keep up with is skipped a stretch at a
 * time: half of the pictures would show half of the rates, but a gap shows as one.
 *
 * Late is who falls back against the clock on the wall while there is more to read: recorders write
 * in bursts of many seconds, and a burst that was waited for is not late, however old its first
 * picture. */
#ifndef FL_PACE_H
#define FL_PACE_H

#include <stdbool.h>
#include <stdint.h>

/* Zero to begin with. */
struct fl_pace {
    double wall_s, pts_s, least_s; /* where it was counted from last; least behind since then */
    int64_t waits;
    bool began, skipping;
};

/* A picture of time pts_s is there at wall_s. waits: how often the stream has been waited for so
 * far (media/byte_source.h); 0 throughout where it is no stream. True: skip it. */
bool fl_pace_skips(struct fl_pace *p, double wall_s, double pts_s, int64_t waits);

#endif
