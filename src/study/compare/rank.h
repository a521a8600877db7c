/* The ranking: games and conditions by how readily they trip. */
#ifndef FL_STUDY_COMPARE_RANK_H
#define FL_STUDY_COMPARE_RANK_H

#include "study/curve/curve.h"
#include "study/take/session.h"

/* One row of the ranking of all games and conditions by V50 (camera speed). */
struct fl_rank {
    const char *game, *condition;
    const struct fl_curve *curve; /* pooled over resolution for that game and condition */
    double off_share, off_share_low,
        off_share_high; /* standardised to common flicks, else as measured */
    bool standardised;
    bool control; /* synthesis disabled in all its takes */
};

/* Fills s->ranks from takes and curves. */
void fl_study_ranks(struct fl_session *s);

#endif
