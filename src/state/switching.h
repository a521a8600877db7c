/* Chances of switching from one mode of gaps to another, at a flip. */
#ifndef FL_STATE_SWITCHING_H
#define FL_STATE_SWITCHING_H

#include "state/gaps.h"

/* ln 0: far below any sum of evidence, far above the least float. */
#define FL_NEVER (-1e30f)

/* ln chance that a gap of mode b follows one of mode a, into t[a][b]; FL_NEVER where none does. */
void fl_switching(float t[FL_GAP_MODES][FL_GAP_MODES], const struct fl_rates *rates);
/* ln chance that a stretch of evidence opens in a mode; FL_NEVER where it cannot. */
float fl_switching_opens(enum fl_gap_mode mode);

#endif
