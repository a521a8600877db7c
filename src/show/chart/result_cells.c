/* Rows are 34 px and higher: two lines of text. What is refused is a dash. */
#include "show/chart/result_cells.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "show/chart/chart.h"
#include "show/chart/chart_axes.h"
#include "show/text/game_groups.h"
#include "show/text/grouped_number.h"
#include "show/text/result_words.h"

enum { UP = -2, DOWN = 12 }; /* base lines of a row's two texts about its middle */
enum { RANK_W = 44 };
#define QUARTER_TURN_DEG 90.0

size_t fl_ranking_rows(const struct fl_session *s)
{
    size_t n = 0;
    while (n < s->n_results && !s->results[n].control)
        n++;
    return n;
}

/* The setting with its takes and flicks, or as much of that as the room holds, malloc'ed: a setting
 * that is cut off is none. */
static char *setting_that_fits(struct fl_surface *c, const struct fl_result *r,
                               const struct fl_curve *curve, double room)
{
    char desk[FL_SETTING_SIZE], takes[FL_COUNT_SIZE], flicks[FL_COUNT_SIZE];
    fl_desk_text(desk, r->counts_per_inch, r->degrees_per_count);
    fl_chart_count(takes, (long)r->takes, "take", "takes");
    fl_chart_count(flicks, curve ? curve->flicks : 0, "flick", "flicks");
    const char *drill = r->drill ? ", a drill" : "";
    char *all = fl_format("%s%s · %s, %s", desk, drill, takes, flicks);
    if (fl_text_width(c, FL_SMALL, all) <= room)
        return all;
    free(all);
    char *most = fl_format("%s%s · %s", desk, drill, takes);
    if (fl_text_width(c, FL_SMALL, most) <= room)
        return most;
    free(most);
    return fl_strdup(desk);
}

void fl_draw_result_name(struct fl_surface *c, double x, double w, double y,
                         const struct fl_result *r, enum fl_quantity q)
{
    char rank[FL_RANK_SIZE], *name = fl_group_name(r->game, r->condition);
    char *setting = setting_that_fits(c, r, fl_result_curve(r, q), w - RANK_W);
    if (r->rank.first)
        fl_draw_text(c, x, y + UP, FL_LEFT, FL_SMALL, FL_MUTED, 0, fl_rank_text(rank, r));
    fl_draw_text(c, x + RANK_W, y + UP, FL_LEFT, FL_BOLD, FL_INK, w - RANK_W, name);
    fl_draw_text(c, x + RANK_W, y + DOWN, FL_LEFT, FL_SMALL, FL_MUTED, w - RANK_W, setting);
    free(name);
    free(setting);
}

void fl_draw_turning(struct fl_surface *c, const struct fl_axis *a, double y,
                     const struct fl_result *r)
{
    const struct fl_off_shares *o = &r->shares;
    char text[FL_SHARE_SIZE];
    fl_draw_line(c, a->p0, y, a->p1, y, 0.8, FL_RULE, 0);
    if (!(o->on_s > 0) || !fl_known(o->turning)) {
        fl_draw_text(c, a->p1 + 8, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0, "–");
        return;
    }
    const bool range = fl_known(o->turning_low) && fl_known(o->turning_high);
    if (range)
        fl_chart_interval(c, a, y, fmax(o->turning_low, 1e-9), o->turning_high, 6, FL_OFF);
    fl_draw_mark(c, fl_axis_at(a, o->turning), y, 1, 6, FL_OFF, true);
    fl_draw_text(c, a->p1 + 8, range ? y + UP : y + 4, FL_LEFT, FL_SMALL_BOLD, FL_INK, 0,
                 fl_share_text(text, o->turning));
    if (range)
        fl_draw_text(c, a->p1 + 8, y + DOWN, FL_LEFT, FL_SMALL, FL_MUTED, 0,
                     fl_share_range(text, o->turning_low, o->turning_high));
}

/* Why the row has no V50 in this quantity. */
static const char *no_v50(const struct fl_result *r, const struct fl_curve *c)
{
    if (!r->curve)
        return "no flicks measured";
    if (!c)
        return "other quantity";
    return c->bound == FL_BOUND_NO_RELATION ? "cannot tell" : "too few flicks";
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
        struct fl_grouped_interval v50;
        fl_grouped_interval(&v50, v->v50, v->v50_low, v->v50_high);
        snprintf(t->at, sizeof t->at, "%s", v50.at);
        snprintf(t->range, sizeof t->range, "%s", v50.range);
    } else {
        snprintf(t->range, sizeof t->range, "%s", no_v50(r, v));
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

void fl_draw_v50_mark(struct fl_surface *c, const struct fl_axis *a, double y, double cap,
                      const struct fl_result *r, enum fl_quantity q)
{
    const struct fl_curve *v = fl_result_curve(r, q);
    fl_draw_line(c, a->p0, y, a->p1, y, 0.8, FL_RULE, 0);
    bool above = v && v->bound == FL_BOUND_ABOVE, below = v && v->bound == FL_BOUND_BELOW;
    if ((above || below) && fl_known(v->bound_at)) {
        fl_chart_interval(c, a, y, above ? v->bound_at : FL_UNKNOWN,
                          below ? v->bound_at : FL_UNKNOWN, cap, FL_SERIES_1);
    } else if (v && v->bound == FL_BOUND_NONE && fl_known(v->v50)) {
        fl_chart_interval(c, a, y, v->v50_low, v->v50_high, cap, FL_SERIES_1);
        fl_draw_mark(c, fl_axis_at(a, v->v50), y, 2, 2 * cap, FL_SERIES_1, r->quotable);
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

/* "2 s", "0.5 s". */
void fl_draw_quarter_turns(struct fl_surface *c, const struct fl_axis *a, double y)
{
    static const double seconds[] = {0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10};
    double last = -INFINITY;
    for (int i = (int)(sizeof seconds / sizeof *seconds) - 1; i >= 0; i--) {
        const double v = QUARTER_TURN_DEG / seconds[i], x = v > 0 ? fl_axis_at(a, v) : NAN;
        char text[16];
        snprintf(text, sizeof text, "%g s", seconds[i]);
        const double half = fl_text_width(c, FL_SMALL, text) / 2;
        if (!(x >= a->p0 && x <= a->p1) || x - half < last + 6)
            continue;
        fl_draw_line(c, x, y, x, y + 4, 1, FL_MUTED, 0);
        fl_draw_text(c, x, y + 16, FL_CENTRE, FL_SMALL, FL_MUTED, 0, text);
        last = x + half;
    }
    fl_draw_line(c, a->p0, y, a->p1, y, 1, FL_MUTED, 0);
}
