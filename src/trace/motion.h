/* Events → motion at any trace time. */
#ifndef FL_TRACE_MOTION_H
#define FL_TRACE_MOTION_H

#include "trace/trace.h"

/* How fast a game turns the camera at a deflection of the stick: rising points, lines between. */
enum { FL_RESPONSE_POINTS = 24 };
struct fl_stick_response {
    int n;
    double deflection[FL_RESPONSE_POINTS]; /* 0..1 */
    double rate[FL_RESPONSE_POINTS];       /* any unit; 0 in the dead zone */
};

/* Cumulated counts with log-time look-up. Between two reports counts are taken as
 * spread evenly over the gap, at most over max_spread_s before the later report. */
struct fl_motion; /* of a trace without counts but with a stick, "counts" are what the stick turns
                     by: its deflection past its rest, integrated, 1000 a second at full deflection
                   */
struct fl_motion *fl_motion_new(const struct fl_trace *trace, double max_spread_s);
void fl_motion_free(struct fl_motion **m);
/* Typical time between two reports while the hand moves; 0 if unknown. Counts spread over it
 * run ahead of the reports themselves by half of it. */
double fl_motion_report_s(const struct fl_motion *m);
/* The path is a stick's. */
bool fl_motion_of_stick(const struct fl_motion *m);
/* The game's own response instead; m of a stick. */
void fl_motion_respond(struct fl_motion *m, const struct fl_stick_response *r);
/* Deflection under which a stick stays 95 % of the time that it is let go, 0..1; NaN without one.
 */
double fl_motion_stick_rest(const struct fl_motion *m);
/* t lies between the first event and the last. Before and after nothing is known: a logger that
 * started late, or stopped early, says nothing of the hand. */
bool fl_motion_covers(const struct fl_motion *m, double t_s);
/* Cumulated counts up to trace time t, from 0 before the first event. */
void fl_motion_path(const struct fl_motion *m, double t_s, double *x, double *y);
/* Mean count rate vector over [t - w/2, t + w/2), counts/s. */
void fl_motion_rate(const struct fl_motion *m, double t_s, double w_s, double *x, double *y);
/* Mean deflection across and down, -1..1, over the window; false without a stick, or before its
 * first event. */
bool fl_motion_stick_mean(const struct fl_motion *m, double t_s, double w_s, double mean[2]);
/* Mean stick deflection (0..1) and rate (1/s) over the window; NaN without stick. */
void fl_motion_stick(const struct fl_motion *m, double t_s, double w_s, double *deflection,
                     double *rate);

#endif
