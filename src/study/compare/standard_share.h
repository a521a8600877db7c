/* Off-shares of groups of takes, standardised to the flicks that all groups have in common. */
#ifndef FL_STUDY_COMPARE_STANDARD_SHARE_H
#define FL_STUDY_COMPARE_STANDARD_SHARE_H

#include "study/take/take.h"

struct fl_share_group {
    const char *name;             /* for the refusal */
    struct fl_take *const *takes; /* n */
    size_t n;
    double share, low, high; /* out: off/(on+off), off/all, (off+unseen)/all; NaN if refused */
    double error; /* out: standard error of share from its flicks (variance of a ratio by strata:
                     Cochran 1977, Sampling Techniques, ch. 6) */
};

/* Why shares of the groups are not beside each other: some takes are a drill, others play. One
 * line in the arena; NULL: they are of one kind. */
const char *fl_drill_beside_play(const struct fl_share_group *groups, size_t n,
                                 struct fl_arena *arena);
/* Direct standardisation: the pooled flicks inside the common range of peak q are cut into
 * quarters by their own quartiles; each group's shares in the quarters are weighted by the
 * pooled number of flicks. A drill is refused beside play. NULL, or one line on why it is refused,
 * in the arena. */
const char *fl_standardise_shares(struct fl_share_group *groups, size_t n, enum fl_quantity q,
                                  struct fl_arena *arena);

#endif
