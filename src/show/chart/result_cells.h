/* Cells of a ranking's rows, drawn alike on page and chart: a figure, and under it its interval. */
#ifndef FL_SHOW_CHART_RESULT_CELLS_H
#define FL_SHOW_CHART_RESULT_CELLS_H

#include "show/draw/surface.h"
#include "study/compare/result.h"

/* Where columns begin, px. */
struct fl_result_columns {
    double rank, name, turning, take, lapses, median, v50, figure, end;
};

/* name to end given, the others share what room there is. */
struct fl_result_columns fl_result_columns(double name, double end);
/* Rows that are no controls: those before them, controls being last. */
size_t fl_ranking_rows(const struct fl_session *s);
/* Two lines of heads, the lower one's base line at y. */
void fl_draw_result_heads(struct fl_surface *c, const struct fl_result_columns *l, double y,
                          enum fl_quantity q);
/* Rank, name and shares of a row about y. */
void fl_draw_result_cells(struct fl_surface *c, const struct fl_result_columns *l, double y,
                          const struct fl_result *r);
/* V50 in figures, bold where it may be quoted, at x. */
void fl_draw_v50_cell(struct fl_surface *c, double x, double limit, double y,
                      const struct fl_result *r, enum fl_quantity q);
/* The same in one line. */
void fl_draw_v50_line(struct fl_surface *c, double x, double limit, double y,
                      const struct fl_result *r, enum fl_quantity q);
/* Interval or bound on the axis about y; nothing for a row without. */
void fl_draw_v50_mark(struct fl_surface *c, const struct fl_axis *a, double y, double cap,
                      const struct fl_curve *curve);
/* An axis over V50 of all rows, and over their flicks. */
struct fl_axis fl_v50_axis(const struct fl_session *s, double left, double right, bool flicks);
/* Why the row has no V50 in this quantity. Static. */
const char *fl_no_v50(const struct fl_result *r, const struct fl_curve *c);

#endif
