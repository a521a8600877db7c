/* Harmless motion: so slow that a setting was often seen on at it, and no trip began
 * (DESIGN: shares). */
#ifndef FL_STUDY_RULE_HARMLESS_H
#define FL_STUDY_RULE_HARMLESS_H

#include "study/rule/cutoff.h"
#include "study/rule/sightings.h"

/* Hand speed, camera speed, image change. */
enum { FL_HARMLESS_QUANTITIES = 3 };
extern const enum fl_quantity fl_harmless_quantity[FL_HARMLESS_QUANTITIES];

/* Share of a setting's trips that may begin in harmless time: slips of the eye. */
#define FL_HARMLESS_TRIPS 0.05

/* Of one setting. Nothing moving is harmless whatever the levels. */
struct fl_harmless {
    double level[FL_HARMLESS_QUANTITIES]; /* in the quantity's unit; NaN: not measured */
    size_t trips;          /* on gave way to off, with or without unseen time between */
    size_t harmless_trips; /* of them all about was harmless, from 0.1 s before on was last seen to
                              a base period and a half after off was first seen */
};

/* The levels of n takes of one setting: each quantity as fast as on was seen at for 1 s or more in
 * five stretches or more, then all lowered in step until no more than the share above of the trips
 * began below them. seen: of each take. */
void fl_harmless_learn(struct fl_harmless *h, struct fl_take *const *takes,
                       const struct fl_sightings *seen, size_t n);
/* Appends the spans of t in which every known quantity is at or below its level. Where hand and
 * camera speed are both unknown, or image change is, nothing is harmless. */
void fl_harmless_spans(const struct fl_harmless *h, const struct fl_take *t,
                       struct fl_span_list *out);

#endif
