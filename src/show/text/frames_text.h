/* How many output frames each rendered one has while synthesis is on, in words. */
#ifndef FL_SHOW_TEXT_FRAMES_TEXT_H
#define FL_SHOW_TEXT_FRAMES_TEXT_H

#include "state/state.h"

enum { FL_FRAMES_TEXT = 40 };
/* "3"; "4, at times fewer"; "2 or 3" where the picture does not tell. Writes to buf, returns it. */
const char *fl_frames_text(const struct fl_states *s, char buf[FL_FRAMES_TEXT]);

#endif
