/* States and lapses (DESIGN: words). */
#ifndef FL_STATE_STATE_H
#define FL_STATE_STATE_H

#include <stdbool.h>
#include <stddef.h>

enum fl_state { FL_STATE_UNSEEN, FL_STATE_ON, FL_STATE_OFF };

const char *fl_state_name(enum fl_state s); /* "unseen", "on", "off" */

/* What a lapse was seen by: the rate of flips, the second witness (steps and detail:
 * half_rate_test.h), the trace. */
enum { FL_EVIDENCE_RATE = 1, FL_EVIDENCE_SHARPNESS = 2, FL_EVIDENCE_TRACE = 4 };

struct fl_state_span {
    double start_s, end_s;
    enum fl_state state;
    double confidence;     /* 0..1 */
    const char *reason;    /* why unseen: a fixed word ("still", "rates", "ambiguous", "use"); NULL
                              otherwise */
    double unique_rate_hz; /* mean over the span; NaN: unseen, or the state's flips cannot be
                              counted */
    unsigned evidence;     /* FL_EVIDENCE_*: what a span off was seen by; 0 otherwise */
    int frames_per_rendered; /* output frames for each rendered one: 1 off; 0: unknown, or unseen */
};

/* On with fewer synthesised frames for each rendered one than the feature makes at most. */
struct fl_reduction {
    double start_s, end_s;
    int from, to; /* output frames for each rendered one: of the take, and here (at least 2) */
};

/* How the best time of a lapse's end was found: seen to a base period; by the setting's return rule
 * run over the motion; or by the rule's delay alone, the motion unknown. */
enum fl_end_found { FL_END_SEEN, FL_END_RULE, FL_END_DELAY };

struct fl_lapse {
    double start_s, end_s;                   /* best times */
    double start_range_s[2], end_range_s[2]; /* [last sure, first sure] */
    enum fl_end_found end_found;
    bool has_trip;   /* on was seen last before it; false: off was, or nothing yet */
    bool has_return; /* on was seen next after it; false: off was, or nothing more */
    /* Another lapse lies beside it, and on was not seen between: the boundary is inferred. */
    bool parted_before, parted_after;
    /* The take's spans off that it is made of: the first, counted among spans off from 0, and how
     * many follow one another. */
    size_t run, runs;
    double unique_rate_hz; /* NaN if unknown */
    double confidence;     /* 0..1, mean over all that was seen of it */
    unsigned evidence;     /* FL_EVIDENCE_*, of any part of it */
};

struct fl_states {
    struct fl_state_span *span; /* n_spans, malloc'ed: tile [0, duration) without gaps */
    size_t n_spans;
    struct fl_lapse *lapse; /* n_lapses, malloc'ed, in time order */
    size_t n_lapses;
    double base_rate_on_hz, base_rate_off_hz; /* NaN if never seen */
    int frames_per_rendered;        /* with synthesis on, the most; 0: unknown, or never on */
    unsigned frames_possible;       /* bit n: it may be n; 0 if never on */
    struct fl_reduction *reduction; /* n_reductions, malloc'ed, in time order */
    size_t n_reductions;
    /* One value a capture frame (n_frames), malloc'ed. */
    size_t n_frames;
    enum fl_state *frame_state;
    float *frame_confidence;
    float *unique_rate_hz; /* from flips of the frame's own state, over a 0.25 s window inside its
                              span; NaN if unknown */
    float *changed_share;  /* share of row bands that changed; NaN if it cannot be told */
};

void fl_states_finish(struct fl_states *s);
/* New pictures a second with synthesis on; NaN if unknown. */
double fl_states_on_output_hz(const struct fl_states *s);
/* State at footage time t; unseen outside. */
enum fl_state fl_states_at(const struct fl_states *s, double t_s);

#endif
