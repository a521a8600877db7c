/* Capture frames as a scan: where each lies on a constant grid of frame times, and when its rows
 * were shown.
 *
 * A display is scanned from top to bottom: row y of H in a frame of period T at time t was shown at
 * t + (1 - blank)·T·y/H (DESIGN: footage time). */
#ifndef FL_MEDIA_SCAN_H
#define FL_MEDIA_SCAN_H

#include <stddef.h>

#include "media/timeline.h"

/* Share of a capture period that is vertical blank, where the display's mode is not known. By the
 * timings of common modes it is 0.040 (CTA-861: 720 to 2160 rows at 60 and 120/s) and 0.028 to
 * 0.067 (VESA CVT reduced blanking at 60 to 144/s; up to 0.11 at 240/s); this lies in their middle,
 * and a mode of 0.067 shifts the last row of a frame by 0.2 ms at 120/s. */
#define FL_USUAL_BLANK 0.045

/* Frames that are missing for longer than this are missing for this long on the grid: a jump in
 * time is a gap, not hours of empty rows. Evidence is bridged over less (state/renewal.c), so
 * nothing is asked of what is left out. */
#define FL_SCAN_LONGEST_GAP_S 1.0

/* How the frames lie in time. */
struct fl_scan {
    size_t n;
    const double *time_s; /* n: footage time of each frame; borrowed */
    long *number;         /* n, rising: its place on the constant grid; gaps are missing frames, but
                             for the rest of long ones */
    double period_s;      /* of the grid */
    double blank;         /* the vertical blank's share of a period, 0..1 */
    double longest_gap_s; /* between two frames, whatever the grid says of it */
};

/* The timeline's own grid where its rate is constant, else the nearest place to each time, no two
 * frames at one. Borrows t->time_s; finish frees the rest. */
void fl_scan_init(struct fl_scan *out, const struct fl_timeline *t, double blank);
void fl_scan_finish(struct fl_scan *s);

#endif
