/* What has been called of a stream, while it is looked back on: states and lapses, in footage time.
 */
#ifndef FL_LIVE_CALLED_H
#define FL_LIVE_CALLED_H

#include "live_store.h"

struct fl_live_span {
    enum fl_state state;
    double start_s, end_s;
};

/* Zero to begin with. */
struct fl_live_called {
    struct fl_live_span *span; /* in time order; what lies between them was not called */
    size_t n_spans, cap_spans;
    struct fl_lapse *lapse; /* in time order; one that goes on ends at INFINITY */
    size_t n_lapses, cap_lapses;
    enum fl_state seen;  /* called last but for unseen */
    double seen_until_s; /* until then */
    double off_until_s;  /* called off last */
    bool any_on;         /* on was seen: without it nothing is a lapse */
};

/* The state from from_s to to_s; own_s: where it began, which may have been called something else
 * before it was sure. */
enum fl_live_edge { FL_LIVE_NO_EDGE, FL_LIVE_TRIPPED, FL_LIVE_RETURNED };
/* Each run of off is a lapse, as in a whole take (state/label.c); it trips where on was seen last
 * before it, whatever lies between, and returns where on is seen next. *edge_s: when. */
enum fl_live_edge fl_live_called_add(struct fl_live_called *c, enum fl_state state, double own_s,
                                     double from_s, double to_s, double *edge_s);
/* Nothing is known of what comes next: a lapse that goes on is over as far as it was seen. */
void fl_live_called_part(struct fl_live_called *c);
void fl_live_called_forget(struct fl_live_called *c, double before_s);
/* As a take has it over a stretch, at these rates; what has not been called is unseen. For
 * fl_states_finish. */
struct fl_states fl_live_called_states(const struct fl_live_called *c,
                                       const struct fl_live_stretch *s,
                                       const struct fl_rates_found *rates);
void fl_live_called_finish(struct fl_live_called *c);

#endif
