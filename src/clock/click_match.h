/* Which lag puts button events on sudden sounds. */
#ifndef FL_CLOCK_CLICK_MATCH_H
#define FL_CLOCK_CLICK_MATCH_H

#include "clock/click_peaks.h"

#define FL_CLICK_RIVAL_S 0.15    /* a rival lag lies farther away than this */
#define FL_CLICK_DRIFT_PPM 300.0 /* largest drift looked for */

/* trace time = middle + (1 + drift)·(sound time + lag - middle); middle is a trace time. */
struct fl_click_line {
    double lag_s, drift, middle_s;
};

struct fl_click_match {
    struct fl_click_line line;
    double score, rival; /* sum of matched weights: best, best elsewhere */
};

/* Sudden sounds, and how far from an event one that belongs to it may lie. */
struct fl_click_sounds {
    const struct fl_click_peak *peak;
    size_t n;
    double tolerance_s;
};

/* Trace time of a sound, and sound time of an event. */
double fl_click_to_trace(const struct fl_click_line *l, double sound_s);
double fl_click_to_sound(const struct fl_click_line *l, double trace_s);
/* The strongest sound within reach_s of a sound time; NULL if there is none. */
const struct fl_click_peak *fl_click_nearest(const struct fl_click_sounds *sounds, double sound_s,
                                             double reach_s);
/* Searches every overlap of the two. event: trace times, rising. Where there are many, lag and
 * drift are found on the densest two minutes and followed from there. */
void fl_click_search(struct fl_click_match *out, const struct fl_click_sounds *sounds,
                     const double *event, size_t n_events);

#endif
