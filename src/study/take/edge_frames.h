/* Which capture frames show a lapse's edges, and what is kept of them for a picture. */
#ifndef FL_STUDY_TAKE_EDGE_FRAMES_H
#define FL_STUDY_TAKE_EDGE_FRAMES_H

#include <stdbool.h>

#include "study/take/take.h"

/* What only the measuring side has; t->frames long. */
struct fl_edge_source {
    int bands;
    const float *verdict; /* frames × bands: -1 changed .. 1 stood still, as in signal/rows.h */
    const double *pts_s;  /* the container's own times; NaN where it gave none */
    const bool *key;      /* coded as a key frame */
};

/* Fills t->edge_frames from t's lapses: an edge that was seen, in the frames from a few before it
 * to a few base periods after it; the ends of a bracket that lie elsewhere, in a few frames each.
 * Glimpses of a lapse never overlap. */
void fl_edge_frames_find(struct fl_take *t, const struct fl_edge_source *s);

#endif
