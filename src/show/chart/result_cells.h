/* Cells of the ranking's rows: name, off share while turning, V50. */
#ifndef FL_SHOW_CHART_RESULT_CELLS_H
#define FL_SHOW_CHART_RESULT_CELLS_H

#include "show/draw/surface.h"
#include "study/compare/result.h"

/* Rows that are no controls: those before them, controls being last. */
size_t fl_ranking_rows(const struct fl_session *s);
/* Rank, game and condition, under them the setting with its takes and flicks; from x up to x + w,
 * about y. */
void fl_draw_result_name(struct fl_surface *c, double x, double w, double y,
                         const struct fl_result *r, enum fl_quantity q);
/* Off share while turning with its range, on an axis from 0 to 1; in figures to its right. Nothing
 * for a row without. */
void fl_draw_turning(struct fl_surface *c, const struct fl_axis *a, double y,
                     const struct fl_result *r);
/* V50 in figures, at x, with its interval below. */
void fl_draw_v50_cell(struct fl_surface *c, double x, double limit, double y,
                      const struct fl_result *r, enum fl_quantity q);
/* V50 with its interval, or its bound, on the axis about y; filled where the row may be quoted.
 * Nothing for a row without. */
void fl_draw_v50_mark(struct fl_surface *c, const struct fl_axis *a, double y, double cap,
                      const struct fl_result *r, enum fl_quantity q);
/* An axis over V50 of all rows, and over their flicks. */
struct fl_axis fl_v50_axis(const struct fl_session *s, double left, double right, bool flicks);
/* Below an axis of camera speed: how long a quarter turn takes at each speed. The line at y. */
void fl_draw_quarter_turns(struct fl_surface *c, const struct fl_axis *a, double y);

#endif
