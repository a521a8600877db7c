/* A look at a take: what is said of every moment of it on one body of evidence.
 *
 * The first look goes by the picture alone; a second one may be helped by the trace. Each makes
 * values of its own, so that both can be compared. */
#ifndef FL_LOOK_H
#define FL_LOOK_H

#include <stdbool.h>

#include "clock/clock.h"
#include "recording.h"
#include "signal/covered.h"
#include "signal/scene_speed.h"
#include "state/flips.h"
#include "state/rates.h"
#include "state/state.h"

/* What the pictures show, whatever is made of it later: the same for every look. */
struct fl_seen {
    struct fl_rows rows;
    struct fl_scene_speed speed; /* as the rows around each frame tell it */
    struct fl_covered covered;
    float *band_changes; /* signal/device.h */
    float **columns;     /* figures of each frame for the files: signal/kinds.h */
};

void fl_seen_find(struct fl_seen *out, const struct fl_recording *rec);
/* Rows and speed alone: all that a look rests on. The rest stays 0. */
void fl_seen_find_rows(struct fl_seen *out, const struct fl_recording *rec);
void fl_seen_finish(struct fl_seen *s);

struct fl_look {
    bool torn; /* output frames tear inside capture frames, by the picture alone */
    struct fl_rates_found found;
    struct fl_states states;
    struct fl_flips flips;
};

/* By the picture alone. threads: 0: one a core. */
void fl_look_first(struct fl_look *out, const struct fl_recording *rec, const struct fl_seen *seen,
                   int threads);
/* The same at rates that are known, of footage that may hold too little to find them; with what the
 * trace tells of the scene's speed where there is one and the clock is known. */
void fl_look_at_rates(struct fl_look *out, const struct fl_recording *rec,
                      const struct fl_seen *seen, const struct fl_rates_found *rates,
                      const struct fl_clock *clock, int threads);
/* With what the trace tells of the scene's speed, on a clock fitted to the first look; lapses that
 * the first one did not show are marked. False, and nothing made, where the trace cannot help:
 * there is none, its clock was refused, trace and picture agree nowhere, or every flip is recorded
 * anyway. */
bool fl_look_again(struct fl_look *out, const struct fl_look *first, const struct fl_clock *clock,
                   const struct fl_recording *rec, const struct fl_seen *seen, int threads);
void fl_look_finish(struct fl_look *l);

#endif
