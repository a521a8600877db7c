/* Is a recording usable, and what to change: facts and findings from a measured take. */
#ifndef FL_STUDY_TAKE_USABLE_H
#define FL_STUDY_TAKE_USABLE_H

#include <stdbool.h>

#include "study/take/take.h"

enum fl_finding_kind {
    FL_UNUSABLE, /* nothing can be measured from the recording */
    FL_LIMIT,    /* something cannot, or less surely */
    FL_ADVICE,   /* the next recording should be better */
    FL_NOTE      /* a warning of the measurement */
};
const char *fl_finding_name(enum fl_finding_kind kind); /* "unusable", "limit", "advice", "note" */

struct fl_finding {
    enum fl_finding_kind kind;
    const char *code; /* fixed word */
    char found[160];  /* what was found */
    char change[160]; /* what to change; "" for notes */
};

/* Can the two states be told apart at this capture rate? */
enum fl_told { FL_TOLD_UNKNOWN, FL_TOLD_NO, FL_TOLD_YES };
const char *fl_told_name(enum fl_told told); /* "unknown", "no", "yes" */

struct fl_usable_facts {
    double on_output_hz, off_output_hz; /* output rates seen; NaN: not seen, or not counted */
    bool on_above_capture; /* on was seen, but every row was new in every frame: its rate is not
                              known */
    double changed_hz;     /* share of rows that changed × capture rate, in motion; NaN */
    double off_most_hz;    /* faster output without synthesis cannot be told from on */
    enum fl_told told;
    double torn_share; /* of the frames that tell, 0..1: those with a tear; NaN */
    double moving_s;   /* scene motion of at least 1.5 px of 512 across per capture period */
    double seen_share; /* of it: on or off, 0..1; NaN */
    double told_from_px, told_from_deg_s; /* px a capture frame and camera speed from which most of
                                  the time is on or off; NaN: nowhere, or no field of view */
    double longest_gap_s;                 /* between two frames */
    double trace_share;    /* of the footage that the trace covers; NaN without a clock */
    double hand_most_cm_s; /* 99th percentile in flicks; NaN without trace or counts per inch */
};

enum { FL_FINDINGS_MAX = 24 };

struct fl_usable {
    struct fl_usable_facts facts;
    int n; /* most important first: unusable, limits, advice, notes */
    struct fl_finding finding[FL_FINDINGS_MAX];
};

/* part: only the first seconds were read, so that length and number of flicks say nothing. */
void fl_usable_judge(struct fl_usable *out, const struct fl_take *t, bool part);
/* The verdict is the kind of the first finding, from FL_ADVICE on plainly usable. */
enum fl_finding_kind fl_usable_verdict(const struct fl_usable *u);
const char *
fl_verdict_text(enum fl_finding_kind verdict); /* "usable", "usable with limits", "unusable" */

/* usable_facts.c */
void fl_usable_facts(struct fl_usable_facts *out, const struct fl_take *t);

#endif
