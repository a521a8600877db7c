/* The page's ranking: a row a game and condition, lowest trip speed first. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text_stream.h"
#include "show/chart/chart_axes.h"
#include "show/chart/still.h"
#include "show/text/escape.h"
#include "study/compare/rank.h"
#include "study/curve/curve.h"

/* A row a game and condition: name, V50 with its interval on a logarithmic axis, off share. */
enum { TITLE = 18, HEADS = 44, FIRST = 56, ROW = 36, NARROW_ROW = 56, AXIS = 40 };

struct layout {
    struct fl_axis v50, share;
    double row;
};

static double height(const void *data, double width)
{
    const struct fl_session *s = data;
    return FIRST + (double)s->n_ranks * (width < FL_SURFACE_NARROW ? NARROW_ROW : ROW) + AXIS;
}

static struct fl_axis v50_axis(const struct fl_session *s, double left, double right)
{
    double low = INFINITY, high = 0;
    for (size_t i = 0; i < s->n_ranks; i++) {
        const struct fl_curve *c = fl_rank_curve(&s->ranks[i], fl_ranking_quantity(s));
        if (!c)
            continue;
        const double v[] = {c->v50, c->bound_at, fmax(c->v50_low, c->v50 / 4),
                            fmin(c->v50_high, c->v50 * 4)};
        for (int k = 0; k < 4; k++)
            if (v[k] > 0) {
                low = fmin(low, v[k]);
                high = fmax(high, v[k]);
            }
    }
    if (!(high > 0)) {
        low = 20;
        high = 1000;
    }
    double pad = fmax(pow(high / low, 0.08), 1.4);
    return (struct fl_axis){low / pad, high * pad, left, right, true};
}

static void draw_open(struct fl_surface *c, const struct fl_axis *a, double y, double from,
                      bool right)
{
    double x = fl_axis_at(a, from), end = right ? a->p1 : a->p0;
    fl_draw_line(c, x, y, end, y, 1.6, FL_SERIES_1, 1);
    fl_draw_arrow(c, end, y, right, FL_SERIES_1);
    fl_draw_mark(c, x, y, 2, 8, FL_SERIES_1, false);
}

static void draw_whisker(struct fl_surface *c, const struct fl_axis *a, double y,
                         const struct fl_curve *curve)
{
    fl_still_interval(c, a, y, curve->v50_low, curve->v50_high, 5, FL_SERIES_1);
    fl_draw_mark(c, fl_axis_at(a, curve->v50), y, 2, 9, FL_SERIES_1, true);
}

static const char *no_v50(const struct fl_rank *r, const struct fl_curve *c)
{
    if (r->control)
        return "control: synthesis disabled";
    if (!r->curve)
        return "no flicks measured";
    if (!c)
        return "measured in another quantity";
    return c->bound == FL_BOUND_NO_RELATION  ? "faster flicks did not trip more often"
           : c->bound == FL_BOUND_NOT_POOLED ? "each setting has its own"
                                             : "too few flicks";
}

static void draw_v50(struct fl_surface *c, const struct layout *l, double y,
                     const struct fl_rank *r, enum fl_quantity q)
{
    const struct fl_curve *curve = fl_rank_curve(r, q);
    fl_draw_line(c, l->v50.p0, y, l->v50.p1, y, 0.8, FL_RULE, 0);
    if (curve && curve->bound == FL_BOUND_ABOVE && fl_known(curve->bound_at))
        draw_open(c, &l->v50, y, curve->bound_at, true);
    else if (curve && curve->bound == FL_BOUND_BELOW && fl_known(curve->bound_at))
        draw_open(c, &l->v50, y, curve->bound_at, false);
    else if (curve && curve->bound == FL_BOUND_NONE && fl_known(curve->v50))
        draw_whisker(c, &l->v50, y, curve);
    else {
        const char *text = no_v50(r, curve);
        double w = fl_text_width(c, FL_SMALL, text);
        fl_draw_box(c, l->v50.p0 + 4, y - 7, w + 8, 14, FL_PAPER);
        fl_draw_text(c, l->v50.p0 + 8, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
    }
}

static void draw_share(struct fl_surface *c, const struct layout *l, double y,
                       const struct fl_rank *r, bool odd)
{
    const struct fl_axis *a = &l->share;
    fl_draw_line(c, a->p0, y, a->p1, y, 0.8, FL_RULE, 0);
    if (r->control || !fl_known(r->off_share)) {
        const char *text = r->control ? "not applicable" : "not seen";
        fl_draw_box(c, a->p0 + 1, y - 7, fl_text_width(c, FL_SMALL, text) + 8, 14, FL_PAPER);
        fl_draw_text(c, a->p0 + 4, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
        return;
    }
    char text[48], figure[FL_FIGURE_SIZE];
    double x = fl_axis_at(a, fl_clamp(r->off_share, 0, 1));
    fl_draw_box(c, a->p0, y - 6, x - a->p0, 12, FL_OFF);
    if (fl_known(r->off_share_low) && fl_known(r->off_share_high)) {
        double low = fl_axis_at(a, r->off_share_low), high = fl_axis_at(a, r->off_share_high);
        fl_draw_line(c, low, y, high, y, 3.4, FL_PAPER, 0); /* a rim, so that it shows on the bar */
        fl_draw_line(c, low, y, high, y, 1.4, FL_INK, 0);
    }
    snprintf(text, sizeof text, "%s %%%s", fl_figure(figure, 100 * r->off_share), odd ? "*" : "");
    fl_draw_text(c, a->p1 + 8, y - 2, FL_LEFT, FL_SMALL, FL_INK, 0, text);
    snprintf(text, sizeof text, "%.0f–%.0f", 100 * r->off_share_low, 100 * r->off_share_high);
    if (fl_known(r->off_share_low) && fl_known(r->off_share_high))
        fl_draw_text(c, a->p1 + 8, y + 11, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
}

/* Game and, where it says something, the condition under it. */
static void draw_name(struct fl_surface *c, const struct layout *l, const struct fl_rank *r,
                      double y)
{
    bool plain = !r->condition || !strcmp(r->condition, "default");
    fl_draw_text(c, 10, plain ? y + 4 : y - 3, FL_LEFT, FL_PLAIN, FL_INK, l->v50.p0 - 24,
                 r->game ? r->game : "–");
    if (!plain)
        fl_draw_text(c, 10, y + 11, FL_LEFT, FL_SMALL, FL_MUTED, l->v50.p0 - 24, r->condition);
}

static void draw_row(struct fl_surface *c, const struct layout *l, const struct fl_session *s,
                     const struct fl_rank *r, double top, enum fl_quantity q)
{
    char *name = fl_group_name(r->game, r->condition);
    double y = c->narrow ? top + 36 : top + ROW / 2.0;
    if (c->narrow) {
        double w = fmin(fl_text_width(c, FL_PLAIN, name), c->width - 20);
        fl_draw_box(c, 8, top + 6, w + 4, 17, FL_PAPER);
        fl_draw_text(c, 10, top + 19, FL_LEFT, FL_PLAIN, FL_INK, c->width - 20, name);
    } else {
        draw_name(c, l, r, y);
    }
    draw_v50(c, l, y, r, q);
    draw_share(c, l, y, r, fl_rank_odd(s, r));
    free(name);
}

static struct layout lay_out(const struct fl_surface *c, const struct fl_session *s)
{
    double left = c->narrow ? 14 : 216, right = c->narrow ? c->width * 0.56 : c->width - 270;
    struct layout l = {.row = c->narrow ? NARROW_ROW : ROW};
    l.v50 = v50_axis(s, left, right);
    l.share = (struct fl_axis){0, 1, right + (c->narrow ? 18 : 36),
                               c->width - (c->narrow ? 54 : 70), false};
    return l;
}

static const char *share_head(const struct fl_session *s, bool narrow)
{
    if (fl_ranks_alike(s))
        return narrow ? "off in like flicks, %" : "off in like flicks, % of seen time";
    return narrow ? "time off, %" : "share of seen time off, %";
}

static void draw(struct fl_surface *c, const void *data)
{
    const struct fl_session *s = data;
    enum fl_quantity q = fl_ranking_quantity(s);
    struct layout l = lay_out(c, s);
    double bottom = FIRST + (double)s->n_ranks * l.row;
    char head[96];
    snprintf(head, sizeof head,
             c->narrow ? "V50, %s" : "V50: peak %s of an even chance to trip, %s",
             c->narrow ? fl_quantity_info(q)->unit_label : fl_quantity_info(q)->label,
             fl_quantity_info(q)->unit_label);
    fl_draw_text(c, 10, TITLE, FL_LEFT, FL_BOLD, FL_INK, c->width - 20,
                 "Most easily tripped first");
    fl_draw_text(c, l.v50.p0, HEADS, FL_LEFT, FL_SMALL, FL_INK, l.v50.p1 - l.v50.p0 + 10, head);
    fl_draw_text(c, l.share.p0, HEADS, FL_LEFT, FL_SMALL, FL_INK, 0, share_head(s, c->narrow));
    fl_draw_x_axis(c, &l.v50, bottom, FIRST, c->narrow ? 4 : 7);
    struct fl_axis percent = l.share;
    percent.v1 = 100;
    fl_draw_x_axis(c, &percent, bottom, FIRST, c->narrow ? 2 : 4);
    for (size_t i = 0; i < s->n_ranks; i++)
        draw_row(c, &l, s, &s->ranks[i], FIRST + (double)i * l.row, q);
    bool odd = false;
    for (size_t i = 0; i < s->n_ranks; i++)
        odd |= fl_rank_odd(s, &s->ranks[i]);
    if (odd)
        fl_draw_text(c, c->width - 10, bottom + 34, FL_RIGHT, FL_SMALL, FL_MUTED, c->width - 20,
                     "* of all seen time, as its flicks are not like the others'");
}

struct fl_drawing fl_ranking_still(const struct fl_session *s)
{
    struct fl_drawing d = {
        .height = height, .draw = draw, .data = s, .title = fl_strdup("Ranking by trip speed")};
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    for (size_t i = 0; i < s->n_ranks; i++) {
        const struct fl_rank *r = &s->ranks[i];
        char *name = fl_group_name(r->game, r->condition), v50[FL_V50_SIZE];
        fprintf(out, "%s%zu. %s: %s", i ? "; " : "", i + 1, name,
                r->control ? "control"
                : r->curve ? fl_v50_text(v50, r->curve)
                           : "no V50");
        free(name);
    }
    d.desc = fl_text_end(&stream);
    return d;
}
