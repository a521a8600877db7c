/* Spans as the state room left them → what was seen. Nothing is decided here, so that all that
 * rests on it can be worked out again from stored takes. */
#include "study/rule/sightings.h"

#include <stdlib.h>
#include <string.h>

static bool measured(const struct fl_state_span *s)
{
    return !s->reason || strcmp(s->reason, "use");
}

static struct fl_measured *part_at(struct fl_sightings *out, const struct fl_state_span *s,
                                   bool goes_on)
{
    if (!goes_on)
        FL_PUSH(out->part, out->n_parts, out->cap_parts,
                ((struct fl_measured){s->start_s, s->start_s, out->n, 0}));
    return &out->part[out->n_parts - 1];
}

void fl_sightings_find(struct fl_sightings *out, const struct fl_states *s)
{
    bool goes_on = false;
    *out = (struct fl_sightings){0};
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *a = &s->span[i];
        if (measured(a)) {
            struct fl_measured *p = part_at(out, a, goes_on);
            p->end_s = a->end_s;
            out->measured_s += a->end_s - a->start_s;
            if (a->state != FL_STATE_UNSEEN) {
                struct fl_sighting v = {a->start_s, a->end_s, a->state, i};
                FL_PUSH(out->v, out->n, out->cap, v);
                p->n++;
                *(a->state == FL_STATE_ON ? &out->on_s : &out->off_s) += a->end_s - a->start_s;
            }
        }
        goes_on = measured(a);
    }
}

void fl_sightings_finish(struct fl_sightings *s)
{
    free(s->v);
    free(s->part);
    *s = (struct fl_sightings){0};
}
