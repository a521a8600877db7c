/* Rows are 30 px and higher: two lines of text. What is refused, and what a control has not, is a
 * dash. */
#include "show/chart/result_cells.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/chart/chart.h"
#include "show/chart/chart_axes.h"
#include "show/text/game_groups.h"
#include "show/text/grouped_number.h"
#include "show/text/result_words.h"

enum { UP = -1, DOWN = 12 }; /* base lines of a row's two texts about its middle */

/* Parts of the room; the V50 axis has what is left. */
#define RANK_W 38.0
#define NAME_PART 0.235
#define SHARE_PART 0.087
#define LAPSES_PART 0.066
#define FIGURE_PART 0.125
#define GAP 14.0

struct fl_result_columns fl_result_columns(double name, double end)
{
    struct fl_result_columns l = {.rank = name, .name = name + RANK_W, .end = end};
    double room = end - name;
    l.turning = l.name + NAME_PART * room;
    l.take = l.turning + SHARE_PART * room;
    l.lapses = l.take + SHARE_PART * room;
    l.median = l.lapses + LAPSES_PART * room;
    l.v50 = l.median + LAPSES_PART * room + GAP;
    l.figure = end - FIGURE_PART * room;
    return l;
}

size_t fl_ranking_rows(const struct fl_session *s)
{
    size_t n = 0;
    while (n < s->n_results && !s->results[n].control)
        n++;
    return n;
}

static void put_two(struct fl_surface *c, double x, double y, double limit, const char *one,
                    const char *two)
{
    fl_draw_text(c, x, y - 12, FL_LEFT, FL_SMALL, FL_MUTED, limit, one);
    fl_draw_text(c, x, y, FL_LEFT, FL_SMALL, FL_MUTED, limit, two);
}

void fl_draw_result_heads(struct fl_surface *c, const struct fl_result_columns *l, double y,
                          enum fl_quantity q)
{
    char text[96];
    snprintf(text, sizeof text, "at its peak, %s", fl_quantity_info(q)->unit_label);
    put_two(c, l->name, y, l->turning - l->name - 6, "easiest first,",
            "with the places it may have");
    put_two(c, l->turning, y, 0, "off while", "turning");
    put_two(c, l->take, y, 0, "off share of", "recording");
    put_two(c, l->lapses, y, 0, "lapses", "a minute");
    put_two(c, l->median, y, 0, "median", "length");
    put_two(c, l->v50, y, l->figure - l->v50 - 4, "V50: even chance to trip", text);
    put_two(c, l->figure, y, l->end - l->figure, "V50,", "95 % interval");
}

static void put_figure(struct fl_surface *c, double x, double y, const char *figure,
                       const char *under)
{
    fl_draw_text(c, x, y + UP, FL_LEFT, FL_SMALL_BOLD, FL_INK, 0, figure);
    if (under)
        fl_draw_text(c, x, y + DOWN, FL_LEFT, FL_SMALL, FL_MUTED, 0, under);
}

static void put_share(struct fl_surface *c, double x, double y, double share, double low,
                      double high)
{
    char at[FL_SHARE_SIZE], from[FL_SHARE_SIZE], to[FL_SHARE_SIZE], range[3 * FL_SHARE_SIZE];
    fl_share_text(from, low);
    fl_share_text(to, high);
    from[strcspn(from, " ")] = to[strcspn(to, " ")] = 0;
    snprintf(range, sizeof range, "%s–%s", from, to);
    put_figure(c, x, y, fl_share_text(at, share), fl_known(low) && fl_known(high) ? range : NULL);
}

static void put_name(struct fl_surface *c, const struct fl_result_columns *l, double y,
                     const struct fl_result *r)
{
    char rank[FL_RANK_SIZE], mouse[FL_MOUSE_SIZE];
    double room = l->turning - l->name - 8;
    bool plain = !r->condition || !strcmp(r->condition, "default");
    char *game = fl_group_name(r->game, NULL);
    char *setting = fl_format("%s%s%s%s", plain ? "" : r->condition, plain ? "" : ", ",
                              fl_mouse_text(mouse, r->counts_per_inch, r->degrees_per_count),
                              r->drill ? ", a drill" : "");
    if (r->rank.first)
        fl_draw_text(c, l->rank, y + UP, FL_LEFT, FL_SMALL, FL_MUTED, 0, fl_rank_text(rank, r));
    fl_draw_text(c, l->name, y + UP, FL_LEFT, FL_BOLD, FL_INK, room, game);
    fl_draw_text(c, l->name, y + DOWN, FL_LEFT, FL_SMALL, FL_MUTED, room, setting);
    free(game);
    free(setting);
}

void fl_draw_result_cells(struct fl_surface *c, const struct fl_result_columns *l, double y,
                          const struct fl_result *r)
{
    const struct fl_off_shares *o = &r->shares;
    const struct fl_lapse_figures *f = &r->lapses;
    char figure[FL_FIGURE_SIZE], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE], text[80];
    put_name(c, l, y, r);
    if (!(o->on_s > 0))
        return;
    bool taken = fl_known(o->take);
    put_share(c, l->turning, y, o->turning, o->turning_low, o->turning_high);
    put_share(c, l->take, y, o->take, taken ? o->take_low : o->plain_low,
              taken ? o->take_high : o->plain_high);
    snprintf(text, sizeof text, "%s–%s", fl_grouped_whole(low, f->per_min_low),
             fl_grouped_whole(high, f->per_min_high));
    put_figure(c, l->lapses, y, fl_grouped_whole(figure, f->per_min),
               f->low < f->high ? text : NULL);
    snprintf(text, sizeof text, fl_known(f->median_s) ? "%s s" : "–",
             fl_grouped_figure(figure, f->median_s));
    put_figure(c, l->median, y, text, NULL);
}

struct v50_texts {
    char at[FL_FIGURE_SIZE + 16], range[FL_RANGE_SIZE]; /* "": none */
};

static void v50_texts(struct v50_texts *t, const struct fl_result *r, const struct fl_curve *v)
{
    char figure[FL_FIGURE_SIZE];
    *t->at = *t->range = 0;
    if (v && (v->bound == FL_BOUND_ABOVE || v->bound == FL_BOUND_BELOW) && fl_known(v->bound_at)) {
        snprintf(t->at, sizeof t->at, "%s %s", v->bound == FL_BOUND_ABOVE ? "over" : "under",
                 fl_grouped_figure(figure, v->bound_at));
    } else if (v && v->bound == FL_BOUND_NONE && fl_known(v->v50)) {
        snprintf(t->at, sizeof t->at, "%s", fl_grouped_figure(figure, v->v50));
        fl_grouped_range(t->range, v->v50_low, v->v50_high);
    } else {
        snprintf(t->range, sizeof t->range, "%s", fl_no_v50(r, v));
    }
}

void fl_draw_v50_cell(struct fl_surface *c, double x, double limit, double y,
                      const struct fl_result *r, enum fl_quantity q)
{
    struct v50_texts t;
    v50_texts(&t, r, fl_result_curve(r, q));
    bool two = *t.at && *t.range;
    fl_draw_text(c, x, two ? y + UP : y + 4.5, FL_LEFT, r->quotable ? FL_BOLD : FL_PLAIN, FL_INK,
                 limit, t.at);
    fl_draw_text(c, x, two ? y + DOWN : y + 4, FL_LEFT, FL_SMALL, FL_MUTED, limit, t.range);
}

void fl_draw_v50_line(struct fl_surface *c, double x, double limit, double y,
                      const struct fl_result *r, enum fl_quantity q)
{
    struct v50_texts t;
    enum fl_face face = r->quotable ? FL_BOLD : FL_PLAIN;
    v50_texts(&t, r, fl_result_curve(r, q));
    double w = *t.at ? fl_text_width(c, face, t.at) + 7 : 0;
    fl_draw_text(c, x, y + 4.5, FL_LEFT, face, FL_INK, limit, t.at);
    fl_draw_text(c, x + w, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, limit - w, t.range);
}

void fl_draw_v50_mark(struct fl_surface *c, const struct fl_axis *a, double y, double cap,
                      const struct fl_curve *v)
{
    fl_draw_line(c, a->p0, y, a->p1, y, 0.8, FL_RULE, 0);
    bool above = v && v->bound == FL_BOUND_ABOVE, below = v && v->bound == FL_BOUND_BELOW;
    if ((above || below) && fl_known(v->bound_at)) {
        fl_chart_interval(c, a, y, above ? v->bound_at : FL_UNKNOWN,
                          below ? v->bound_at : FL_UNKNOWN, cap, FL_SERIES_1);
    } else if (v && v->bound == FL_BOUND_NONE && fl_known(v->v50)) {
        bool closed = fl_known(v->v50_low) && fl_known(v->v50_high);
        fl_chart_interval(c, a, y, v->v50_low, v->v50_high, cap, FL_SERIES_1);
        fl_draw_mark(c, fl_axis_at(a, v->v50), y, 2, 2 * cap, FL_SERIES_1, closed);
    }
}

/* Ends of intervals count up to four times from V50, so that one wide interval does not squeeze the
 * rest. */
struct fl_axis fl_v50_axis(const struct fl_session *s, double left, double right, bool flicks)
{
    enum fl_quantity q = fl_results_quantity(s);
    double low = INFINITY, high = 0;
    for (size_t i = 0; i < s->n_results; i++) {
        const struct fl_curve *c = fl_result_curve(&s->results[i], q);
        if (!c)
            continue;
        fl_widen(&low, &high, c->v50);
        fl_widen(&low, &high, c->bound_at);
        fl_widen(&low, &high, fmax(c->v50_low, c->v50 / 4));
        fl_widen(&low, &high, fmin(c->v50_high, c->v50 * 4));
        for (int k = 0; k < c->flicks && flicks; k++)
            fl_widen(&low, &high, c->points[k].v);
    }
    if (!(high > 0)) {
        low = 20;
        high = 1000;
    }
    double pad = fmax(pow(high / low, 0.05), flicks ? 1.08 : 1.3);
    return (struct fl_axis){low / pad, high * pad, left, right, true};
}

const char *fl_no_v50(const struct fl_result *r, const struct fl_curve *c)
{
    if (r->control)
        return "synthesis disabled";
    if (!r->curve)
        return "no flicks measured";
    if (!c)
        return "other quantity";
    return c->bound == FL_BOUND_NO_RELATION ? "cannot tell" : "too few flicks";
}
