/* Which moments a check by eye asks about, drawn at random. */
#ifndef FL_STUDY_COMPARE_AUDIT_DRAW_H
#define FL_STUDY_COMPARE_AUDIT_DRAW_H

#include <stdint.h>

#include "study/compare/audit_ground.h"

struct fl_audit_moment {
    size_t take; /* in the session */
    long frame;  /* the capture frame that is asked about */
    enum fl_stratum stratum;
};

/* Draws up to n moments into out, a third from each stratum (what n does not share evenly goes to
 * the first ones), in random order; returns how many. Within a stratum every frame has the same
 * chance, but a stretch is asked about once at most, whatever the stratum: what follows is drawn
 * from the stretches that are left, and where none is, the stratum stays short. The same seed draws
 * the same moments. */
size_t fl_audit_draw(struct fl_audit_moment *out, const struct fl_audit_ground *g, size_t n,
                     uint64_t seed);

#endif
