/* Trip curves of a session's settings, fitted together (study/curve/hierarchy.h). */
#ifndef FL_STUDY_CURVE_CURVE_FIT_H
#define FL_STUDY_CURVE_CURVE_FIT_H

#include "study/curve/curve.h"
#include "study/curve/hierarchy.h"

/* The takes of one setting, none of them a control. */
struct fl_curve_takes {
    struct fl_take *const *takes;
    size_t n;
};

struct fl_curve_fit; /* one quantity of a session */

/* Fits c[0..n-1]. Game, condition, counts_per_inch and degrees_per_count are left to the caller.
 * What the curves point to goes into the arena; c must stay as long as what is returned. Settings
 * in which faster flicks did not trip more often (Firth's slope is not above 0) have no V50, and
 * say nothing of the session's slope, nor do those with a bound. */
struct fl_curve_fit *fl_curve_fit_new(struct fl_curve *c, const struct fl_curve_takes *of, size_t n,
                                      enum fl_quantity q, const struct fl_hierarchy_prior *prior,
                                      struct fl_arena *arena);
void fl_curve_fit_free(struct fl_curve_fit **f); /* NULL is fine; clears the pointer */
/* The curve over the n settings listed in `members`: theirs together, if each has a V50 from two
 * takes or more and no two contradict each other (p of their ratio, Bonferroni-adjusted, 0.05 or
 * above); the farthest bound if all have bounds on one side; else not pooled, and why. One member:
 * its curve. */
void fl_curve_fit_pool(const struct fl_curve_fit *f, struct fl_curve *out, const size_t *members,
                       size_t n);
/* One setting by itself. */
void fl_curve_fit_one(struct fl_curve *c, struct fl_take *const *takes, size_t n,
                      enum fl_quantity q, struct fl_arena *arena);

#endif
