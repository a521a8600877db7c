/* The posterior and the best path → runs of one state. */
#ifndef FL_STATE_RUNS_H
#define FL_STATE_RUNS_H

#include <stdbool.h>
#include <stddef.h>

#include "state/renewal.h"
#include "state/state.h"

/* A run of one state holds a posterior of this much throughout, and of that much somewhere (a run
 * off need not if the second witness confirms it). Choices: the first bridges a doubtful flip, the
 * second keeps noise from making runs; both are chances, not shares of time. */
#define FL_RUN_SURE 0.85f
#define FL_RUN_CERTAIN 0.99f

/* Where one state is seen without a break. */
struct fl_run {
    enum fl_state state; /* on or off */
    size_t from, to;     /* slots */
    double from_s, to_s; /* edges; refined from flips */
    double confidence;   /* 0..1: the posterior's mean over its slots */
    float peak;          /* of the posterior */
    bool halved;         /* off by its rate, on by its steps and detail */
    bool undecided;      /* steps and detail say neither */
    bool confirmed;      /* off by its steps and detail, too */
    double hitch; /* ln likelihood of one base period on that lasts longer : off, by steps and
                     detail, of a run off of so few gaps that it may be one; else NaN */
    bool whole;   /* such a run has all the gaps of one, and on follows */
};

struct fl_runs {
    struct fl_run *v; /* n, malloc'ed, in time order */
    size_t n, cap;
};

/* Of a solved take, at the rates that it was solved with; before the second witness is heard. */
void fl_runs_collect(struct fl_runs *out, const struct fl_renewal *r, const struct fl_evidence *e,
                     const struct fl_rates *rates);
void fl_runs_finish(struct fl_runs *r);

/* Start of a slot; of slot n, the end of the last one. */
double fl_slot_edge_s(const struct fl_evidence *e, size_t slot);
/* Gaps of the best path that lie within a run: the first; *last is one past the end. */
size_t fl_run_gaps(const struct fl_run *v, const struct fl_renewal *r, const struct fl_evidence *e,
                   size_t *last);

#endif
