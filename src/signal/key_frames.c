/* A fact of the file, not of the scene: it also holds outside the spans in use. */
#include "signal/key_frames.h"

static void push(void *state, const struct fl_signal_view *v, void *row)
{
    (void)state;
    *(bool *)row = v->key;
}

const struct fl_signal_kind fl_key_frames_signal = {.row_size = sizeof(bool), .push = push};
