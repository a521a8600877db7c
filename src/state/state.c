/* Names, memory and look-up of states. */
#include "state/state.h"

#include <stdlib.h>

const char *fl_state_name(enum fl_state s)
{
    return s == FL_STATE_ON ? "on" : s == FL_STATE_OFF ? "off" : "unseen";
}

void fl_states_finish(struct fl_states *s)
{
    free(s->span);
    free(s->lapse);
    free(s->reduction);
    free(s->frame_state);
    free(s->frame_confidence);
    free(s->unique_rate_hz);
    free(s->changed_share);
    *s = (struct fl_states){0};
}

/* Files from before N was found hold none, and base rates of pairs. */
double fl_states_on_output_hz(const struct fl_states *s)
{
    return (s->frames_per_rendered ? s->frames_per_rendered : 2) * s->base_rate_on_hz;
}

enum fl_state fl_states_at(const struct fl_states *s, double t)
{
    size_t lo = 0, hi = s->n_spans;
    while (lo < hi) {
        size_t mid = (lo + hi) / 2;
        if (s->span[mid].end_s <= t)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo < s->n_spans && s->span[lo].start_s <= t ? s->span[lo].state : FL_STATE_UNSEEN;
}
