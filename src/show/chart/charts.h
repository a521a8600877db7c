/* The page's charts: what they show of a take or a session. Each result is finished with
 * fl_drawing_finish; what it draws from must outlive it. The writer's charts are plates (plate.h).
 */
#ifndef FL_SHOW_CHART_CHARTS_H
#define FL_SHOW_CHART_CHARTS_H

#include "show/draw/surface.h"
#include "show/store/writer.h"
#include "show/text/game_groups.h"

/* States, unique rate and speed of one take on one time axis. */
struct fl_drawing fl_timeline_drawing(const struct fl_take *t);
/* Trip curves of one game and condition, a series a resolution, with flicks and V50 intervals. */
struct fl_drawing fl_curve_drawing(const struct fl_group *g);
/* All games and conditions by V50 with the off share beside. */
struct fl_drawing fl_ranking_drawing(const struct fl_session *s);

extern const struct fl_writer fl_chart_writer;

#endif
