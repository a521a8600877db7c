/* How often synthesis was off, over some takes: the shares that sentences lead with (DESIGN:
 * shares). */
#ifndef FL_STUDY_COMPARE_OFF_SHARES_H
#define FL_STUDY_COMPARE_OFF_SHARES_H

#include <stddef.h>

#include "study/take/take.h"

/* Shares are 0..1; NaN where unknown. */
struct fl_off_shares {
    double on_s, off_s, unseen_s; /* sums over the takes */
    /* Of the time spent turning that was seen or inferred; the ends count unseen turning as on, as
     * off. NaN without turning. */
    double turning, turning_low, turning_high;
    /* Of the recording: takes by their length, each end the mean of theirs. NaN where one of the
     * takes is refused. */
    double take, take_low, take_high;
    double plain_low, plain_high; /* of the recording, all unseen time as on, as off */
    double open;                  /* of the recording, what inference leaves open; NaN: not known */
    const char *take_refused;     /* why take is NaN, of the first take that is refused; NULL */
};

/* Controls among other takes are left out: their time off is not the game's doing. */
struct fl_off_shares fl_off_shares_of(const struct fl_take *const *takes, size_t n);

#endif
