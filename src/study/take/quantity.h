/* Motion quantities of one take at every capture frame. */
#ifndef FL_STUDY_TAKE_QUANTITY_H
#define FL_STUDY_TAKE_QUANTITY_H

#include "study/take/take.h"
#include "trace/motion.h"

/* Velocity from which flicks are found; +x right, +y down, of the camera, the hand or the stick. */
struct fl_velocity {
    /* camera speed, else count rate, stick deflection, image step; FL_QUANTITIES: none */
    enum fl_quantity quantity;
    float *x, *y; /* frames long, in the take's arena; NaN where not known */
    float *speed; /* the take's quantity[quantity] */
    /* quantity[] once more, as means over FL_FLICK_KERNEL_MS: what flicks are described by; NULL
     * where quantity[] is. In `scratch`. */
    float *flick[FL_QUANTITIES];
};

/* Sets kernel_ms and quantity[]. Warns when something could not be had. motion and image_change
 * may be NULL, see measure.h. scratch: holds what only flicks are made from. */
void fl_quantities(struct fl_take *t, const struct fl_motion *motion, const float *image_change,
                   struct fl_velocity *v, struct fl_arena *scratch);

#endif
