/* How well one motion quantity explains a game's trips. */
#ifndef FL_STUDY_CURVE_QUANTITY_RANK_H
#define FL_STUDY_CURVE_QUANTITY_RANK_H

#include "study/take/take.h"

struct fl_quantity_rank {
    const char *game;
    enum fl_quantity quantity;
    double deviance_explained, auc, agreement_p;
    double left_out_deviance; /* a flick, on takes left out of the fit; NaN when not fitted */
    enum fl_quantity against; /* the best of the other quantities there; FL_QUANTITIES: none */
    double lead, lead_se; /* by how much its deviance a take is below that one's, and the standard
                             error; below 0: it is behind; NaN: none, se also under three takes */
    int ratios; /* pairs of settings whose V50 could be compared, each with two takes or more */
    double ratio_low, ratio_high; /* of those ratios' intervals the lowest and the highest end; NaN:
                                     open or none */
    bool stands;                  /* may still be what is watched */
    const char *verdict;          /* "named" or "cannot tell" or "not measured" */
    /* what would settle it; the same for all of a game; NULL when one is named */
    const char *to_record;
};

#endif
