/* Which frames are coded as key frames, as the container says. */
#ifndef FL_SIGNAL_KEY_FRAMES_H
#define FL_SIGNAL_KEY_FRAMES_H

#include "signal/signals.h"

extern const struct fl_signal_kind fl_key_frames_signal;

/* s->n of them. */
static inline const bool *fl_key_frames(const struct fl_signals *s)
{
    return fl_signals_row(s, &fl_key_frames_signal, 0);
}

#endif
