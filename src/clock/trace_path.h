/* The hand's path as a table over one span of trace time, for fits that look it up very often. */
#ifndef FL_CLOCK_TRACE_PATH_H
#define FL_CLOCK_TRACE_PATH_H

#include <stddef.h>

#include "trace/motion.h"

#define FL_TRACE_PATH_STEP_S 0.001 /* a report of a common mouse */

struct fl_trace_path {
    double start_s;
    size_t n;
    double *at; /* n × 2: counts across, down */
};

/* Beyond the span the hand rests where it was at its end. */
void fl_trace_path_init(struct fl_trace_path *p, const struct fl_motion *motion, double from_s,
                        double to_s);
void fl_trace_path_finish(struct fl_trace_path *p);
void fl_trace_path_at(const struct fl_trace_path *p, double t_s, double at[2]);
/* Counts/s, mean over 8 ms about t: smooth enough for slopes of a fit. */
void fl_trace_path_speed(const struct fl_trace_path *p, double t_s, double speed[2]);

#endif
