/* Games and conditions by trip speed. A row each, from the left: name, flicks and takes, V50 on a
 * logarithmic axis, its figure, off share. High rows also show the flicks: tripped above the line,
 * held below. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "show/chart/chart_axes.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "show/text/escape.h"
#include "study/compare/rank.h"
#include "study/curve/curve.h"

enum {
    HEADS = 34,
    AXIS = 40,
    LEAST_ROW = 23,
    MOST_ROW = 170,
    TWO_LINES = 34 /* from here on a range stands under its figure */,
    TALL = 44 /* from here on flicks are shown */,
    NAMED = 90 /* and named */
};

struct layout {
    struct fl_axis v50, share;
    double name, name_w, count, figure, figure_w, top, row;
    size_t rows;
    enum fl_quantity q;
};

/* Ends of intervals count up to four times from V50, so that one wide interval does not squeeze the
 * rest. */
static struct fl_axis v50_axis(const struct fl_session *s, enum fl_quantity q, double left,
                               double right, bool flicks)
{
    double low = INFINITY, high = 0;
    for (size_t i = 0; i < s->n_ranks; i++) {
        const struct fl_curve *c = fl_rank_curve(&s->ranks[i], q);
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
    double pad = fmax(pow(high / low, 0.05), flicks ? 1.08 : 1.4);
    return (struct fl_axis){low / pad, high * pad, left, right, true};
}

static struct layout lay_out(const struct fl_session *s, struct fl_box b)
{
    struct layout l = {.q = fl_ranking_quantity(s), .name = b.x, .rows = s->n_ranks};
    double room = b.h - HEADS - AXIS;
    if ((double)l.rows * LEAST_ROW > room)
        l.rows = (size_t)fmax(1, floor(room / LEAST_ROW));
    l.row = fmin(MOST_ROW, room / (double)(l.rows ? l.rows : 1));
    l.top = b.y + HEADS + (room - l.row * (double)l.rows) / 2;
    l.name_w = 0.2 * b.w;
    l.count = b.x + 0.3 * b.w;
    l.v50 = v50_axis(s, l.q, b.x + 0.325 * b.w, b.x + 0.625 * b.w, l.row >= TALL);
    l.figure = b.x + 0.64 * b.w;
    l.figure_w = 0.17 * b.w;
    l.share = (struct fl_axis){0, 1, b.x + 0.82 * b.w, b.x + 0.885 * b.w, false};
    return l;
}

static const char *no_v50(const struct fl_rank *r, const struct fl_curve *c)
{
    if (r->control)
        return "synthesis disabled";
    if (!r->curve)
        return "no flicks measured";
    if (!c)
        return "other quantity";
    return c->bound == FL_BOUND_NO_RELATION  ? "cannot tell"
           : c->bound == FL_BOUND_NOT_POOLED ? "each setting its own"
                                             : "too few flicks";
}

/* The figure in bold, its interval beside or under it. */
static void draw_figure(struct fl_surface *c, const struct layout *l, double y,
                        const struct fl_curve *curve)
{
    char text[FL_FIGURE_SIZE + 16], figure[FL_FIGURE_SIZE], range[FL_RANGE_SIZE];
    bool above = curve->bound == FL_BOUND_ABOVE, below = curve->bound == FL_BOUND_BELOW;
    snprintf(text, sizeof text, "%s%s",
             above   ? "over "
             : below ? "under "
                     : "",
             fl_grouped_figure(figure, above || below ? curve->bound_at : curve->v50));
    fl_grouped_range(range, curve->v50_low, curve->v50_high);
    bool two = l->row >= TWO_LINES;
    if (!two && !fl_known(curve->v50_low) && !fl_known(curve->v50_high))
        snprintf(range, sizeof range, "open");
    fl_draw_text(c, l->figure, two && !above && !below ? y - 1 : y + 4.5, FL_LEFT, FL_BOLD, FL_INK,
                 l->figure_w, text);
    if (above || below)
        return;
    double x = two ? l->figure : l->figure + fl_text_width(c, FL_BOLD, text) + 7;
    fl_draw_text(c, x, two ? y + 12 : y + 4, FL_LEFT, FL_SMALL, FL_MUTED,
                 l->figure + l->figure_w - x, range);
}

static void draw_v50(struct fl_surface *c, const struct layout *l, double y,
                     const struct fl_rank *r)
{
    const struct fl_curve *curve = fl_rank_curve(r, l->q);
    fl_draw_line(c, l->v50.p0, y, l->v50.p1, y, 0.8, FL_RULE, 0);
    double cap = fmin(6, l->row / 5);
    if (curve && l->row >= TALL) {
        double room = l->row / 2 - 9;
        fl_chart_flicks(c, &l->v50, y - 7, room, true, curve, true, 3, FL_SERIES_2);
        fl_chart_flicks(c, &l->v50, y + 7, room, false, curve, false, 0, FL_MUTED);
        if (l->row >= NAMED && curve->trips)
            fl_draw_text(c, l->v50.p0 + 4, y - l->row / 2 + 16, FL_LEFT, FL_SMALL, FL_SERIES_2, 0,
                         "flicks that tripped");
        if (l->row >= NAMED && curve->flicks > curve->trips)
            fl_draw_text(c, l->v50.p1 - 4, y + l->row / 2 - 8, FL_RIGHT, FL_SMALL, FL_MUTED, 0,
                         "flicks that held");
    }
    bool above = curve && curve->bound == FL_BOUND_ABOVE,
         below = curve && curve->bound == FL_BOUND_BELOW;
    if ((above || below) && fl_known(curve->bound_at)) {
        fl_chart_interval(c, &l->v50, y, above ? curve->bound_at : FL_UNKNOWN,
                          below ? curve->bound_at : FL_UNKNOWN, cap, FL_SERIES_1);
        draw_figure(c, l, y, curve);
    } else if (curve && curve->bound == FL_BOUND_NONE && fl_known(curve->v50)) {
        fl_chart_interval(c, &l->v50, y, curve->v50_low, curve->v50_high, cap, FL_SERIES_1);
        bool closed = fl_known(curve->v50_low) && fl_known(curve->v50_high);
        fl_draw_mark(c, fl_axis_at(&l->v50, curve->v50), y, 2, fmin(11, l->row / 2.2), FL_SERIES_1,
                     closed);
        draw_figure(c, l, y, curve);
    } else {
        fl_draw_text(c, l->figure, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, l->figure_w,
                     no_v50(r, curve));
    }
}

/* The share in bold, its range with unseen time beside or under it. */
static void draw_range(struct fl_surface *c, const struct layout *l, double y, const char *share,
                       const struct fl_rank *r)
{
    char range[2 * FL_FIGURE_SIZE + 4], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    bool two = l->row >= TWO_LINES;
    double x = l->share.p1 + 8;
    fl_draw_text(c, x, two ? y - 1 : y + 4, FL_LEFT, FL_SMALL_BOLD, FL_INK, 0, share);
    if (!fl_known(r->off_share_low) || !fl_known(r->off_share_high))
        return;
    snprintf(range, sizeof range, "%s–%s", fl_grouped_whole(low, 100 * r->off_share_low),
             fl_grouped_whole(high, 100 * r->off_share_high));
    fl_draw_text(c, two ? x : x + fl_text_width(c, FL_SMALL_BOLD, share) + 5, two ? y + 12 : y + 4,
                 FL_LEFT, FL_SMALL, FL_MUTED, 0, range);
}

static void draw_share(struct fl_surface *c, const struct layout *l, double y,
                       const struct fl_rank *r, bool odd)
{
    const struct fl_axis *a = &l->share;
    char text[FL_FIGURE_SIZE + 8], figure[FL_FIGURE_SIZE];
    double high = fmin(8, l->row / 4.4);
    if (r->control || !fl_known(r->off_share)) {
        fl_draw_text(c, a->p0, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0,
                     r->control ? "–" : "not seen");
        return;
    }
    double low = fl_axis_at(a, fl_clamp(r->off_share_low, 0, 1)),
           top = fl_axis_at(a, fl_clamp(r->off_share_high, 0, 1));
    double x = fl_axis_at(a, fl_clamp(r->off_share, 0, 1)), under = y + high + 2.5;
    fl_draw_line(c, a->p0, y, a->p1, y, 0.8, FL_RULE, 0);
    fl_draw_box(c, a->p0, y - high, fmax(x - a->p0, 1), 2 * high, FL_OFF);
    if (fl_known(low) && fl_known(top))
        fl_draw_line(c, low, under, fmax(top, low + 1), under, 1.6, FL_MUTED, 0);
    snprintf(text, sizeof text, "%s %%%s", fl_grouped_whole(figure, 100 * r->off_share),
             odd ? "*" : "");
    draw_range(c, l, y, text, r);
}

/* Game and, where it says something, the condition under it. */
static void draw_name(struct fl_surface *c, const struct layout *l, const struct fl_rank *r,
                      double y)
{
    bool plain = !r->condition || !strcmp(r->condition, "default");
    bool two = !plain && l->row >= 30;
    char *one = fl_group_name(r->game, two ? NULL : r->condition);
    fl_draw_text(c, l->name, two ? y - 2 : y + 4.5, FL_LEFT, FL_BOLD, FL_INK, l->name_w, one);
    if (two)
        fl_draw_text(c, l->name, y + 12, FL_LEFT, FL_SMALL, FL_MUTED, l->name_w, r->condition);
    free(one);
}

static void draw_heads(struct fl_surface *c, const struct layout *l, struct fl_box b, double bottom,
                       bool alike)
{
    char text[96];
    double y = b.y + 12;
    snprintf(text, sizeof text, "trip speed V50, %s", fl_quantity_info(l->q)->unit_label);
    fl_draw_text(c, l->name, y, FL_LEFT, FL_SMALL, FL_MUTED, l->name_w, "easiest first");
    fl_draw_text(c, l->count, y, FL_RIGHT, FL_SMALL, FL_MUTED, 0, "flicks, takes");
    fl_draw_text(c, l->v50.p0, y, FL_LEFT, FL_SMALL, FL_MUTED, l->v50.p1 - l->v50.p0, text);
    fl_draw_text(c, l->figure, y, FL_LEFT, FL_SMALL, FL_MUTED, l->figure_w, "V50, 95 % interval");
    fl_draw_text(c, l->share.p0, y, FL_LEFT, FL_SMALL, FL_MUTED, b.x + b.w - l->share.p0,
                 alike ? "off in like flicks" : "seen time off");
    fl_draw_text(c, l->v50.p0, bottom + 33, FL_LEFT, FL_SMALL, FL_MUTED, 0, "← slow turns trip");
    fl_draw_text(c, l->v50.p1, bottom + 33, FL_RIGHT, FL_SMALL, FL_MUTED, 0, "only fast ones do →");
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct fl_session *s = data;
    struct layout l = lay_out(s, b);
    double bottom = l.top + l.row * (double)l.rows + 2, head = l.top - 8;
    draw_heads(c, &l, (struct fl_box){b.x, l.top - HEADS, b.w, b.h}, bottom, fl_ranks_alike(s));
    fl_draw_line(c, b.x, head, b.x + b.w, head, 0.8, FL_RULE, 0);
    fl_draw_x_axis(c, &l.v50, bottom, head, 7);
    for (size_t i = 0; i < l.rows; i++) {
        const struct fl_rank *r = &s->ranks[i];
        const struct fl_curve *curve = fl_rank_curve(r, l.q);
        double y = l.top + ((double)i + 0.5) * l.row;
        char text[48];
        draw_name(c, &l, r, y);
        if (curve) {
            snprintf(text, sizeof text, "%d, %d", curve->flicks, curve->takes);
            fl_draw_text(c, l.count, y + 4, FL_RIGHT, FL_SMALL, FL_MUTED, 0, text);
        }
        draw_v50(c, &l, y, r);
        draw_share(c, &l, y, r, fl_rank_odd(s, r));
    }
    if (l.rows < s->n_ranks) {
        char text[64];
        snprintf(text, sizeof text, "and %zu more", s->n_ranks - l.rows);
        fl_draw_text(c, b.x, bottom + 14, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
    }
}

static char *describe(const struct fl_session *s)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    for (size_t i = 0; i < s->n_ranks; i++) {
        const struct fl_rank *r = &s->ranks[i];
        char *name = fl_group_name(r->game, r->condition), v50[FL_V50_SIZE];
        fprintf(out, "%s%zu. %s: %s", i ? "; " : "", i + 1, name,
                r->control ? "control"
                : r->curve ? fl_v50_text(v50, r->curve)
                           : "no V50");
        if (!r->control && r->curve)
            fprintf(out, ", %d flicks in %d takes", r->curve->flicks, r->curve->takes);
        if (!r->control && fl_known(r->off_share))
            fprintf(out, ", off for %.0f %% of seen time%s (%.0f to %.0f %% with unseen time)",
                    100 * r->off_share, r->standardised ? " in like flicks" : "",
                    100 * r->off_share_low, 100 * r->off_share_high);
        free(name);
    }
    fputc('.', out);
    return fl_text_end(&stream);
}

static char *note(const struct fl_session *s)
{
    bool odd = false, tall = s->n_ranks <= 5;
    char *source = fl_chart_source((const struct fl_take *const *)s->takes, s->n_takes, s->name);
    for (size_t i = 0; i < s->n_ranks; i++)
        odd |= fl_rank_odd(s, &s->ranks[i]);
    char *text =
        fl_format("Diamond: V50 (hollow: open), bar: 95 %% interval, arrow: goes on.%s Off: share "
                  "of seen time%s%s; range, thin line: if the unseen were all on or all off. %s",
                  tall ? " Triangles tripped, rings held." : "",
                  fl_ranks_alike(s) ? ", in flicks as all have them" : "",
                  odd ? " (* of all time)" : "", source);
    free(source);
    return text;
}

struct fl_chart fl_ranking_chart(const struct fl_session *s)
{
    struct fl_chart p = {.title = fl_strdup("How fast a turn switches synthesis off"),
                         .desc = describe(s),
                         .note = note(s),
                         .least_w = 780,
                         .draw = draw,
                         .data = s};
    const struct fl_quantity_info *q = fl_quantity_info(fl_ranking_quantity(s));
    p.least_h = HEADS + AXIS + LEAST_ROW * (double)s->n_ranks;
    p.lead =
        fl_format("Peak %s, in %s, at which a flick has an even chance to trip; further left trips "
                  "more easily",
                  q->label, q->unit_label);
    return p;
}
