/* What the rhythm of the output explains of repeats and jumps. */
#ifndef FL_STUDY_TAKE_RECORDER_RHYTHM_H
#define FL_STUDY_TAKE_RECORDER_RHYTHM_H

#include "study/take/take.h"

/* For fl_device_find: the time that this take's output usually holds a picture at most. The states
 * and flips must be there. */
double fl_recorder_longest_s(const struct fl_take *t);
/* Finds the jumps and decides what the rhythm of the output explains; sets t->repeated_frames. The
 * states must be there. */
void fl_judge_recorder(struct fl_take *t);

#endif
