/* The clock between a take's trace and its footage, in steps: clicks, motion, flips. */
#ifndef FL_ALIGN_H
#define FL_ALIGN_H

#include <stdbool.h>

#include "clock/clock.h"
#include "clock/clock_join.h"
#include "clock/stick_response.h"
#include "look.h"
#include "recording.h"

/* From a picture's first row to its last, s; frames that stand at their flips show one instant. */
double fl_align_scan_s(const struct fl_recording *rec);
/* What is heard of the trace's buttons. */
void fl_align_sound(struct fl_heard *out, const struct fl_recording *rec);
/* Where the trace is a stick's: the response that its motion begins with. */
void fl_align_response(const struct fl_recording *rec, const struct fl_heard *heard,
                       const struct fl_seen *seen);
/* By motion, the hand's against the picture's, near where the clicks put it if that alone does not
 * tell. Refused, with the reason, where there is no trace, the two do not tell, or the clicks
 * contradict them (heard->join). */
void fl_align_motion(struct fl_clock *out, struct fl_heard *heard, const struct fl_recording *rec,
                     const struct fl_seen *seen);
/* The same clock settled on the states and flips of one look; as it was where they tell too little,
 * its error then unknown. */
void fl_align_flips(struct fl_clock *out, const struct fl_clock *by_motion,
                    const struct fl_recording *rec, const struct fl_seen *seen,
                    const struct fl_look *look);
/* How fast the picture moves at each deflection, native px/s, where the trace is a stick's; not
 * known without a clock. rate: place for FL_TURN_RATES. */
void fl_align_turn_curve(struct fl_turn_curve *out, struct fl_turn_rate *rate,
                         const struct fl_clock *c, const struct fl_recording *rec,
                         const struct fl_seen *seen);
/* The settled clock and the clicks together: clock/clock_join.h. */
void fl_align_join(struct fl_clock *c, struct fl_heard *heard, const struct fl_recording *rec);

#endif
