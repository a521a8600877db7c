/* Settings by trip speed. A row each, from the left: rank and name, off shares, lapses, V50 on a
 * logarithmic axis and in figures. High rows also show the flicks: tripped above the line, held
 * below. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "show/chart/chart.h"
#include "show/chart/chart_axes.h"
#include "show/chart/result_cells.h"
#include "show/text/result_words.h"
#include "study/curve/curve.h"

enum {
    HEADS = 46,
    AXIS = 40,
    LEAST_ROW = 30,
    MOST_ROW = 150,
    TALL = 44 /* from here on flicks are shown */,
    NAMED = 90 /* and named */
};

struct layout {
    struct fl_axis v50;
    struct fl_result_columns at;
    double top, row;
    size_t rows;
    enum fl_quantity q;
};

static struct layout lay_out(const struct fl_session *s, struct fl_box b)
{
    struct layout l = {.q = fl_results_quantity(s),
                       .at = fl_result_columns(b.x, b.x + b.w),
                       .rows = fl_ranking_rows(s)};
    double room = b.h - HEADS - AXIS;
    if ((double)l.rows * LEAST_ROW > room)
        l.rows = (size_t)fmax(1, floor(room / LEAST_ROW));
    l.row = fmin(MOST_ROW, room / (double)(l.rows ? l.rows : 1));
    l.top = b.y + HEADS + (room - l.row * (double)l.rows) / 2;
    l.v50 = fl_v50_axis(s, l.at.v50, l.at.figure - 16, l.row >= TALL);
    return l;
}

static void draw_flicks(struct fl_surface *c, const struct layout *l, double y,
                        const struct fl_curve *curve)
{
    double room = l->row / 2 - 9;
    fl_chart_flicks(c, &l->v50, y - 7, room, true, curve, true, 3, FL_SERIES_2);
    fl_chart_flicks(c, &l->v50, y + 7, room, false, curve, false, 0, FL_MUTED);
    if (l->row < NAMED)
        return;
    if (curve->trips)
        fl_draw_text(c, l->v50.p0 + 4, y - l->row / 2 + 16, FL_LEFT, FL_SMALL, FL_SERIES_2, 0,
                     "flicks that tripped");
    if (curve->flicks > curve->trips)
        fl_draw_text(c, l->v50.p1 - 4, y + l->row / 2 - 8, FL_RIGHT, FL_SMALL, FL_MUTED, 0,
                     "flicks that held");
}

static void draw_row(struct fl_surface *c, const struct layout *l, double y,
                     const struct fl_result *r)
{
    const struct fl_curve *curve = fl_result_curve(r, l->q);
    fl_draw_result_cells(c, &l->at, y, r);
    if (curve && l->row >= TALL)
        draw_flicks(c, l, y, curve);
    fl_draw_v50_mark(c, &l->v50, y, fmin(5.5, l->row / 5), curve);
    fl_draw_v50_cell(c, l->at.figure, l->at.end - l->at.figure, y, r, l->q);
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct fl_session *s = data;
    struct layout l = lay_out(s, b);
    double bottom = l.top + l.row * (double)l.rows + 2, head = l.top - 6;
    fl_draw_result_heads(c, &l.at, head - 8, l.q);
    fl_draw_line(c, b.x, head, b.x + b.w, head, 0.8, FL_RULE, 0);
    fl_draw_x_axis(c, &l.v50, bottom, head, 6);
    fl_draw_text(c, l.v50.p0, bottom + 33, FL_LEFT, FL_SMALL, FL_MUTED, 0, "← slow turns trip");
    fl_draw_text(c, l.v50.p1, bottom + 33, FL_RIGHT, FL_SMALL, FL_MUTED, 0, "only fast ones do →");
    for (size_t i = 0; i < l.rows; i++)
        draw_row(c, &l, l.top + ((double)i + 0.5) * l.row, &s->results[i]);
    if (l.rows < fl_ranking_rows(s)) {
        char text[64];
        snprintf(text, sizeof text, "and %zu more", fl_ranking_rows(s) - l.rows);
        fl_draw_text(c, b.x, bottom + 14, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
    }
}

char *fl_ranking_words(const struct fl_session *s)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    if (!s->n_results)
        fputs("Nothing was measured.", out);
    for (size_t i = 0; i < s->n_results; i++) {
        const struct fl_result *r = &s->results[i];
        char *name = fl_result_name(r), *said = fl_result_sentence(r), rank[FL_RANK_SIZE];
        fprintf(out, "%s%s%s%s: %s", i ? " " : "", r->rank.first ? fl_rank_text(rank, r) : "",
                r->rank.first ? ". " : "", name, said);
        free(name);
        free(said);
    }
    return fl_text_end(&stream);
}

static char *note(const struct fl_session *s)
{
    bool drills = false, tall = fl_ranking_rows(s) <= 6;
    char *source = fl_chart_source((const struct fl_take *const *)s->takes, s->n_takes, s->name);
    for (size_t i = 0; i < s->n_results; i++)
        drills |= s->results[i].drill;
    char *text = fl_format(
        "Diamond: V50, in bold where it may be quoted (three takes, little open, a narrow "
        "interval).%s Recording: rest as on unless a lapse goes on.%s %s",
        tall ? " Triangles tripped, rings held." : "",
        drills ? " Shares of a drill are of deliberate flicks." : "", source);
    free(source);
    return text;
}

struct fl_chart fl_ranking_chart(const struct fl_session *s)
{
    struct fl_chart p = {.title = fl_strdup("How fast a turn switches synthesis off"),
                         .desc = fl_ranking_words(s),
                         .note = note(s),
                         .least_w = 860,
                         .draw = draw,
                         .data = s};
    const struct fl_quantity_info *q = fl_quantity_info(fl_results_quantity(s));
    p.least_h = HEADS + AXIS + LEAST_ROW * (double)fl_ranking_rows(s);
    p.lead =
        fl_format("Peak %s, in %s, at which a flick has an even chance to trip; further left trips "
                  "more easily",
                  q->label, q->unit_label);
    return p;
}
