/* When one rule says that synthesis comes back, lapse by lapse, beside what was seen of it.
 *
 * Only the return is modelled: trips are as seen. From the start of a run seen off the rule waits
 * until its quantity has been below theta_on for d_on; a run that follows before then belongs to
 * the same lapse. */
#ifndef FL_STUDY_RULE_RETURNS_H
#define FL_STUDY_RULE_RETURNS_H

#include "study/rule/harmless.h"
#include "study/rule/rule_track.h"

/* One take as returns are read from it. The take must outlive it. */
struct fl_return_view {
    const struct fl_take *take;
    struct fl_sightings seen;
    struct fl_span_list calm; /* harmless time */
    double *calm_since_s;     /* a sighting: since when all was harmless until a base period and a
                                 half after it began; INFINITY: it was not */
    struct fl_track track[FL_HARMLESS_QUANTITIES];
    bool has[FL_HARMLESS_QUANTITIES]; /* the track, of fl_harmless_quantity */
    double frame_s;                   /* a base period */
    double edge_s;                    /* how well an edge is known: half a capture period */
};

/* What comes next is seen on; off, in a run of its own; off although all was harmless since the
 * rule's return, so that nothing can have tripped it; nothing. */
enum fl_return_next { FL_NEXT_ON, FL_NEXT_OFF, FL_NEXT_OFF_CALM, FL_NEXT_NONE };

struct fl_return {
    size_t first, last; /* sightings of the lapse */
    double low_s;       /* last sure moment of off */
    double high_s;      /* start of what is seen next, or the end of what was measured */
    double at_s;        /* the rule's return; INFINITY: not within what was measured */
    bool unknown;       /* the motion is not known: at_s is low_s + d_on */
    double peak;        /* FL_NEXT_OFF: most of the quantity between the rule's return and what
                           followed, which must have tripped it; NaN: not known */
    enum fl_return_next next;
};

struct fl_returns {
    struct fl_return *v; /* n, malloc'ed */
    size_t n, cap;
};

/* The spans of one take in which a quantity is below a threshold. track NULL: not measured. */
struct fl_quiet {
    const struct fl_track *track;
    struct fl_span_list below;
};

/* Takes over *seen. calm_since_s and calm are set from h. */
void fl_return_view_make(struct fl_return_view *v, const struct fl_take *t,
                         struct fl_sightings *seen, const struct fl_harmless *h);
void fl_return_view_finish(struct fl_return_view *v);

/* k: of fl_harmless_quantity. theta_on NaN: nothing is known of the motion. q->below is emptied
 * first; its memory is kept. */
void fl_quiet_find(struct fl_quiet *q, const struct fl_return_view *v, int k, double theta_on);
/* When a rule with this delay returns if it is off at time t; INFINITY: not as long as the take
 * lasts; NaN: the quantity becomes unknown first. */
double fl_return_after(const struct fl_quiet *q, double t_s, double d_on_s);
/* How far off a bracket's ends may be, s. Beside unseen time that is a rendered frame, as one flip
 * alone shows no state; an edge that was seen lies where it was seen. */
double fl_return_unseen_edge(const struct fl_return *r, const struct fl_return_view *v);
/* out is emptied first; its memory is kept. */
void fl_returns_find(struct fl_returns *out, const struct fl_return_view *v,
                     const struct fl_quiet *q, double d_on_s);

#endif
