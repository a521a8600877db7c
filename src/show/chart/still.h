/* The page's still charts: what they show of a take or a session, in the page's own colours and in
 * any width, also a phone's. Each result is finished with fl_drawing_finish; what it draws from
 * must outlive it. Charts for publication: chart.h. */
#ifndef FL_SHOW_CHART_STILL_H
#define FL_SHOW_CHART_STILL_H

#include "show/draw/surface.h"
#include "show/text/game_groups.h"

/* States, unique rate and speed of one take on one time axis. */
struct fl_drawing fl_timeline_still(const struct fl_take *t);
/* Trip curves of one game and condition, a series a resolution, with flicks and V50 intervals. */
struct fl_drawing fl_curve_still(const struct fl_group *g);
/* All games and conditions by V50 with the off share beside. */
struct fl_drawing fl_ranking_still(const struct fl_session *s);

/* Inside (still_parts.c). An interval on a horizontal axis at y, with caps of 2·cap; NaN, or
 * outside of the axis: open, an arrow at its end. */
void fl_still_interval(struct fl_surface *c, const struct fl_axis *a, double y, double low,
                       double high, double cap, enum fl_colour colour);

#endif
