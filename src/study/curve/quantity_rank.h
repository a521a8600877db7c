/* How well one motion quantity explains a game's trips. */
#ifndef FL_STUDY_CURVE_QUANTITY_RANK_H
#define FL_STUDY_CURVE_QUANTITY_RANK_H

#include "study/take/take.h"

/* How far it can be told that a quantity is what the cut-off watches. */
enum fl_watch_grade {
    FL_WATCH_NOT_MEASURED,
    FL_WATCH_CANNOT_TELL,
    FL_WATCH_UNLIKELY, /* another tells takes left out far better, or its trip speeds disagree */
    FL_WATCH_ONLY,     /* all others that are measured are unlikely, but it is not yet sure */
    FL_WATCH_NAMED
};

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
    enum fl_watch_grade grade;
    bool agrees; /* no two settings at which its trip speeds differ by more than counts as equal */
    bool stands; /* measured and not unlikely */
    bool parted; /* from every other that stands, by two of the game's settings at least */
    /* the grade in words: "named", "only one that still fits", "unlikely by 12.3 ± 2.1" (deviance a
     * take more than the best other's, with its standard error), "cannot tell", "not measured" */
    const char *verdict;
    /* what would settle it; the same for all of a game; NULL when one is named */
    const char *to_record;
};

#endif
