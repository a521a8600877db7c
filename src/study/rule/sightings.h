/* What was seen of a take: its stretches of on and off, and what was measured of it at all. */
#ifndef FL_STUDY_RULE_SIGHTINGS_H
#define FL_STUDY_RULE_SIGHTINGS_H

#include "study/take/take.h"

/* A stretch in which one state was seen. */
struct fl_sighting {
    double start_s, end_s;
    enum fl_state state; /* on or off */
    size_t span;         /* in the take's states */
};

/* Time without a break in what was measured (a take's `use`). */
struct fl_measured {
    double start_s, end_s;
    size_t first, n; /* sightings in it */
};

struct fl_sightings {
    struct fl_sighting *v; /* n, malloc'ed, in time order */
    size_t n, cap;
    struct fl_measured *part; /* n_parts, malloc'ed, in time order */
    size_t n_parts, cap_parts;
    double measured_s, on_s, off_s;
};

void fl_sightings_find(struct fl_sightings *out, const struct fl_states *s);
void fl_sightings_finish(struct fl_sightings *s);

#endif
