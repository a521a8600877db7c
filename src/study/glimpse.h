/* Which capture frames show a lapse's edges, and what is kept of them for a picture. */
#ifndef FL_STUDY_GLIMPSE_H
#define FL_STUDY_GLIMPSE_H

#include <stdbool.h>

#include "study/take.h"

/* What only the measuring side has; t->frames long. */
struct fl_sight {
    int bands;
    const float *verdict; /* frames × bands: -1 changed .. 1 stood still, as in flip/rows.h */
    const double *pts_s;  /* the container's own times; NaN where it gave none */
    const bool *key;      /* coded as a key frame */
};

/* Fills t->glimpses from t's lapses: an edge that was seen, in the frames from a few before it to a few base
 * periods after it; the ends of a bracket that lie elsewhere, in a few frames each. Glimpses of a lapse
 * never overlap. */
void fl_glimpses_take(struct fl_take *t, const struct fl_sight *s);

#endif
