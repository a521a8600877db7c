/* Time on, off and unseen; smoothness lost. */
#ifndef FL_STUDY_TAKE_EXPOSURE_H
#define FL_STUDY_TAKE_EXPOSURE_H

#include "study/take/take.h"

#define FL_MOTION_DEG_S 25.0 /* camera speed above which the picture is in motion */

/* From states, lapses and camera speed; spans outside the take's `use` do not count. */
void fl_expose(struct fl_take *t);
/* The part of it that is of motion: anew, once what is inferred of unseen time has changed. */
void fl_expose_motion(struct fl_take *t);
void fl_smooth(struct fl_take *t);

#endif
