/* One take as the cut-off rule sees it: a motion quantity beside the time in which the state was
 * seen, cut into events. */
#ifndef FL_STUDY_RULE_RULE_TRACK_H
#define FL_STUDY_RULE_RULE_TRACK_H

#include "study/rule/cutoff.h"
#include "study/take/take.h"

/* Samples without a gap in the quantity, and the state that is seen first in them. */
struct fl_track_part {
    size_t from, to;
    double end_s;
    bool off;
};

/* Time in one seen state, within one part and one event, outside the brackets of all lapses. */
struct fl_track_piece {
    double start_s, end_s;
    bool off;
    size_t event;
};

/* Seconds of seen time, and of it those in which the rule says the other state. */
struct fl_disagreement {
    double on_s, on_wrong_s, off_s, off_wrong_s;
};

struct fl_track {
    const struct fl_take *take;
    enum fl_quantity quantity;
    float *q; /* the quantity, gaps up to 0.1 s bridged by a line */
    struct fl_speeds speeds;
    struct fl_track_part *part;
    size_t n_parts;
    struct fl_track_piece *piece;
    size_t n_pieces;
    /* stretches around one flick each, from rest to rest, never cut inside a lapse */
    size_t events;
    double *event_end_s;
    double *on_s, *off_s;
    size_t cells;                   /* weighted seen time up to each cell of a fixed step */
    double total_on_s, total_off_s; /* weighted */
};

/* False, and nothing to free, if the take has no such quantity or no frames. Every event weighs 1.
 */
bool fl_track_make(struct fl_track *k, const struct fl_take *t, enum fl_quantity q);
void fl_track_finish(struct fl_track *k);
/* How often each event counts (events long); NULL: once each. */
void fl_track_weigh(struct fl_track *k, const unsigned *weight);

/* The rule's off spans in the take. buffer is emptied first. */
void fl_track_run(const struct fl_track *k, const struct fl_cutoff *c, struct fl_span_list *buffer);
/* Adds to *d how the rule and the seen states disagree, by the weights. */
void fl_track_judge(const struct fl_track *k, const struct fl_cutoff *c,
                    struct fl_span_list *buffer, struct fl_disagreement *d);
/* Unweighted seen time on and off within [start_s, end_s). */
void fl_track_seen(const struct fl_track *k, double start_s, double end_s, double *on_s,
                   double *off_s);
/* Most of a quantity in [from, to]; NaN if it is known nowhere in it. */
double fl_track_most(const struct fl_track *k, double from_s, double to_s);

#endif
