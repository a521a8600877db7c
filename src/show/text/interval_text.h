/* A figure and its interval in no more digits than the interval supports. */
#ifndef FL_SHOW_TEXT_INTERVAL_TEXT_H
#define FL_SHOW_TEXT_INTERVAL_TEXT_H

#include "show/text/escape.h"

struct fl_interval_text {
    char at[FL_FIGURE_SIZE], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
};

/* All three rounded alike: at most two significant digits of the interval's half-width (JCGM
 * 100:2008, 7.2.6), one where the two would be above 35 (Particle Data Group, Review of Particle
 * Physics, introduction, "Rounding"), if that leaves the figure two; and three of the figure. An
 * open end (NaN) is "–"; with both open, three digits. Returns t. */
const struct fl_interval_text *fl_interval_text(struct fl_interval_text *t, double x, double low,
                                                double high);

#endif
