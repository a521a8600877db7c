/* The clock between a take's trace and its footage, in two steps. */
#ifndef FL_ALIGN_H
#define FL_ALIGN_H

#include <stdbool.h>

#include "clock/clock.h"
#include "look.h"
#include "recording.h"

/* By motion alone: the hand's against the picture's. Refused, with the reason, where there is no
 * trace or the two do not tell. */
void fl_align_motion(struct fl_clock *out, const struct fl_recording *rec,
                     const struct fl_seen *seen);
/* The same clock settled on the states and flips of one look; as it was where they tell too little,
 * its error then unknown. */
void fl_align_flips(struct fl_clock *out, const struct fl_clock *by_motion,
                    const struct fl_recording *rec, const struct fl_seen *seen,
                    const struct fl_look *look);

#endif
