/* How much each picture differs from the one before: mean |ΔY| of all of it, grey levels. */
#ifndef FL_SIGNAL_CHANGE_H
#define FL_SIGNAL_CHANGE_H

#include "signal/signals.h"

extern const struct fl_signal_kind fl_change_signal;

/* s->n of them; NaN in row 0. */
static inline float *fl_changes(const struct fl_signals *s)
{
    return fl_signals_row(s, &fl_change_signal, 0);
}

#endif
