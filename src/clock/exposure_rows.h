/* What each captured picture shows: which flips its rows stand for. */
#ifndef FL_CLOCK_EXPOSURE_ROWS_H
#define FL_CLOCK_EXPOSURE_ROWS_H

#include "clock/clock.h"

enum { FL_EXPOSURE_ROWS = 9 };

/* Output frames that stand in the rows of one picture. */
struct fl_shown {
    int n;
    /* Footage time of each one's flip; where that is not known, the scan time of the row less the
     * hold. */
    double flip_s[FL_EXPOSURE_ROWS];
    double share[FL_EXPOSURE_ROWS]; /* of the rows; they sum to 1 */
};

/* A picture against the one before. */
struct fl_exposure_rows {
    double time_s, step_s; /* middle of the scan; since the picture before */
    double x, y;           /* the scene's shift between the two */
    double off;            /* share of the rows in state off */
    struct fl_shown now, before;
};

/* Pictures whose shift is known and whose rows all lie in a state: malloc'ed, *n of them. */
struct fl_exposure_rows *fl_exposure_rows_find(const struct fl_shift_series *picture,
                                               const struct fl_clock_screen *screen, size_t *n);

#endif
