/* Coarse lag between picture and hand over every possible overlap. */
#ifndef FL_CLOCK_LAG_H
#define FL_CLOCK_LAG_H

#include "clock/speed_track.h"

#define FL_LAG_RIVAL_S 0.15 /* a rival peak lies farther away than this: a flick's width */
#define FL_LAG_DRIFT_PPM                                                       \
    300.0 /* largest drift looked for: two bad quartz clocks, and a frame rate \
             that is declared a little wrong */

struct fl_lag {
    double offset_s, drift_ppm; /* trace time = offset + (1 + drift)·footage time */
    double explained;           /* share of the picture's motion in the overlap that fits, 0..1 */
    double overlap;             /* share of the picture's motion inside the trace, 0..1 */
    double score, rival;        /* log likelihood a unit of motion: best, best elsewhere */
    double gain_x, gain_y;      /* squeezed picture per squeezed hand */
};

/* Trace time - footage time in the middle of the picture: the lags that count. */
struct fl_lag_band {
    double least_s, most_s;
};

/* Score at a lag: -(share of the picture's motion in the overlap) · ln(1 - explained), the
 * profile log likelihood under a free gain of either sign on each axis; so a short overlap
 * cannot win by chance. band: NULL for all lags. The hand's track has the fine step. Longest hand:
 * 2^20 picture steps. */
void fl_lag_search(struct fl_lag *out, const struct fl_speed_track *picture,
                   const struct fl_speed_track *hand, const struct fl_lag_band *band);

#endif
