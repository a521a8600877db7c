/* What a session found of one setting: a row of the ranking, and what every sentence, table and
 * chart leads with. */
#ifndef FL_STUDY_COMPARE_RESULT_H
#define FL_STUDY_COMPARE_RESULT_H

#include "study/compare/lapse_figures.h"
#include "study/compare/off_shares.h"
#include "study/compare/rank_range.h"
#include "study/curve/curve.h"
#include "study/take/session.h"

/* V50 of a setting in the quantity that its game watches. */
struct fl_watched_v50 {
    const struct fl_curve *curve; /* NULL: none is named or leads, or it is the row's own */
    bool named;                   /* else it leads on takes left out by more than its error */
    size_t settings;              /* of the mouse that the curve is pooled over; 1: not pooled */
    bool resolutions;             /* these differ in counts per inch, each in its own */
};

struct fl_result {
    const char *game, *condition;
    double counts_per_inch, degrees_per_count; /* NaN: not known */
    bool degrees_found;                        /* by the picture: the session does not say */
    bool control;                              /* synthesis disabled */
    size_t takes;
    /* Of takes that are play, or of drills where there is no play: a drill's shares say nothing of
     * play. */
    bool drill;
    size_t share_takes;
    struct fl_off_shares shares;
    struct fl_lapse_figures lapses;
    const struct fl_curve *curve; /* in camera speed, else the next that was measured; NULL: none */
    struct fl_watched_v50 watched;
    bool quotable;
    const char *why;           /* not quotable: one line; NULL */
    const char *why_short;     /* the same for a narrow column: "2 takes; V50 within ×2.5"; NULL */
    struct fl_rank_range rank; /* by V50 among the session's rows of one quantity, lowest first */
    size_t order;              /* of appearance in the session */
};

/* The quantity that rows are ranked in: camera speed if a row has it, else the first row's. */
enum fl_quantity fl_results_quantity(const struct fl_session *s);
/* The row's curve in this quantity; NULL: it has none, as a control. */
const struct fl_curve *fl_result_curve(const struct fl_result *r, enum fl_quantity q);

#endif
