/* The cut-off rule itself, run over a series of one motion quantity (DESIGN: cut-off rule):
 * off once q > theta_off for d_off, on again once q < theta_on for d_on. */
#ifndef FL_STUDY_RULE_CUTOFF_H
#define FL_STUDY_RULE_CUTOFF_H

#include <stdbool.h>
#include <stddef.h>

#include "base/units.h"

struct fl_cutoff {
    double theta_off, theta_on; /* in the quantity's unit, theta_on <= theta_off */
    double d_off_s, d_on_s;
};

/* Samples with an index for long jumps. Between samples q is taken as linear. */
struct fl_speeds {
    const double *time_s; /* n, increasing */
    const float *q;
    size_t n;
    float *top, *bottom; /* most and least of each block of samples; malloc'ed */
};
void fl_speeds_index(struct fl_speeds *s, const double *time_s, const float *q, size_t n);
void fl_speeds_finish(struct fl_speeds *s);

/* A growing list of spans, kept between runs so that it need not grow again. */
struct fl_span_list {
    struct fl_span *v; /* malloc'ed */
    size_t n, cap;
};

/* Appends the spans in which the rule is off over samples [from, to), none of which is NaN;
 * off: its state at the first of them. A span that is still on ends at end_s. */
void fl_cutoff_run(const struct fl_cutoff *c, const struct fl_speeds *s, size_t from, size_t to,
                   double end_s, bool off, struct fl_span_list *out);

/* Spans above (above = true) or below theta over samples [from, to), with ends between samples. */
void fl_crossings(const struct fl_speeds *s, size_t from, size_t to, double end_s, double theta,
                  bool above, struct fl_span_list *out);

#endif
