/* Settings by trip speed. A row each, from the left: rank and name, off share while turning on an
 * axis of its own, V50 on a logarithmic axis and in figures; below that axis how long a quarter
 * turn takes at such a speed, which people can picture. High rows also show the flicks: tripped
 * above the line, held below. */
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
    HEADS = 34,
    AXIS = 24,
    TURNS = 36, /* the second scale */
    LEAST_ROW = 36,
    MOST_ROW = 150,
    PAGE_ROW = 36,
    FEW = 4,   /* rows at most of a picture that shows the flicks */
    TALL = 58, /* from here on there is room for them */
    NARROW_ROW = 88,
    NARROW_HEADS = 34,
    FIGURE = 88, /* px for V50 in figures */
    SHARE = 62   /* px for a share in figures */
};
#define NAME_PART 0.39
#define TURNING_PART 0.13

struct layout {
    struct fl_axis turning, v50;
    double name, name_w, figure, end, top, row;
    size_t rows;
    enum fl_quantity q;
    bool narrow, tall;
};

static double foot_of(enum fl_quantity q)
{
    return AXIS + (q == FL_CAMERA_SPEED ? TURNS : 0);
}

static double height(const void *data, double width)
{
    const struct fl_session *s = data;
    const size_t n = fl_ranking_rows(s);
    const double foot = foot_of(fl_results_quantity(s));
    if (width < FL_SURFACE_NARROW)
        return NARROW_HEADS + NARROW_ROW * (double)n + foot;
    return HEADS + PAGE_ROW * (double)n + foot;
}

static void place_rows(struct layout *l, struct fl_box b, size_t all)
{
    const double heads = l->narrow ? NARROW_HEADS : HEADS,
                 least = l->narrow ? NARROW_ROW : LEAST_ROW, room = b.h - heads - foot_of(l->q);
    l->rows = all;
    if ((double)all * least > room)
        l->rows = (size_t)fmax(1, floor(room / least));
    l->row = fmin(MOST_ROW, room / (double)(l->rows ? l->rows : 1));
    l->top = b.y + heads + (room - l->row * (double)l->rows) / 2;
    l->tall = !l->narrow && l->row >= TALL && all <= FEW;
}

static struct layout lay_out(const struct fl_surface *c, const struct fl_session *s,
                             struct fl_box b)
{
    struct layout l = {.q = fl_results_quantity(s),
                       .name = b.x,
                       .end = b.x + b.w,
                       .figure = b.x + b.w - FIGURE,
                       .narrow = c->narrow};
    place_rows(&l, b, fl_ranking_rows(s));
    l.name_w = l.narrow ? b.w : NAME_PART * b.w - 12;
    const double turning = b.x + NAME_PART * b.w;
    l.turning = (struct fl_axis){0, 1, turning, turning + TURNING_PART * b.w, false};
    l.v50 = fl_v50_axis(s, l.narrow ? b.x + 6 : l.turning.p1 + SHARE + 20, l.figure - 14, l.tall);
    return l;
}

static void draw_flicks(struct fl_surface *c, const struct layout *l, double y,
                        const struct fl_curve *curve, bool named)
{
    double room = l->row / 2 - 12;
    fl_chart_flicks(c, &l->v50, y - 7, room, true, curve, true, 3, FL_SERIES_2);
    fl_chart_flicks(c, &l->v50, y + 7, room, false, curve, false, 0, FL_MUTED);
    if (!named)
        return;
    if (curve->trips)
        fl_draw_text(c, l->v50.p0 + 4, y - l->row / 2 + 16, FL_LEFT, FL_SMALL, FL_SERIES_2, 0,
                     "flicks that tripped");
    if (curve->flicks > curve->trips)
        fl_draw_text(c, l->v50.p1 - 4, y + l->row / 2 - 8, FL_RIGHT, FL_SMALL, FL_MUTED, 0,
                     "flicks that held");
}

static void draw_row(struct fl_surface *c, const struct layout *l, double y,
                     const struct fl_result *r, const struct fl_result *first)
{
    const struct fl_curve *curve = fl_result_curve(r, l->q);
    fl_draw_result_name(c, l->name, l->name_w, y, r, l->q);
    fl_draw_turning(c, &l->turning, y, r);
    if (curve && l->tall)
        draw_flicks(c, l, y, curve, r == first);
    fl_draw_v50_mark(c, &l->v50, y, fmin(5.5, l->row / 5), r, l->q);
    fl_draw_v50_cell(c, l->figure, l->end - l->figure, y, r, l->q);
}

/* Name, share in words and trip speed one below another. */
static void draw_narrow_row(struct fl_surface *c, const struct layout *l, double top,
                            const struct fl_result *r)
{
    char share[FL_SHARE_SIZE], range[FL_SHARE_SIZE];
    const struct fl_off_shares *o = &r->shares;
    fl_draw_result_name(c, l->name, l->name_w, top + 14, r, l->q);
    if (o->on_s > 0 && fl_known(o->turning)) {
        char *text =
            fl_format("off for %s of the time spent turning (%s)", fl_share_text(share, o->turning),
                      fl_share_range(range, o->turning_low, o->turning_high));
        fl_draw_text(c, l->name, top + 43, FL_LEFT, FL_SMALL, FL_INK, l->end - l->name, text);
        free(text);
    }
    fl_draw_v50_mark(c, &l->v50, top + 62, 5, r, l->q);
    fl_draw_v50_cell(c, l->figure, l->end - l->figure, top + 62, r, l->q);
}

static void draw_turning_axis(struct fl_surface *c, const struct fl_axis *a, double bottom,
                              double head)
{
    static const double at[] = {0, 0.5, 1};
    for (int i = 0; i < 3; i++) {
        char text[16];
        const double x = fl_axis_at(a, at[i]);
        snprintf(text, sizeof text, "%g %%", 100 * at[i]);
        fl_draw_line(c, x, head, x, bottom + 4, 0.8, FL_RULE, 0);
        fl_draw_text(c, x, bottom + 16, FL_CENTRE, FL_SMALL, FL_MUTED, 0, text);
    }
    fl_draw_line(c, a->p0, bottom, a->p1, bottom, 1, FL_MUTED, 0);
}

static void draw_heads(struct fl_surface *c, const struct layout *l, double y)
{
    char text[96], shorter[48];
    const struct fl_quantity_info *q = fl_quantity_info(l->q);
    snprintf(text, sizeof text, "V50, peak %s in %s", q->label, q->unit_label);
    snprintf(shorter, sizeof shorter, "V50, %s", q->unit_label);
    if (l->narrow) {
        fl_draw_text(c, l->name, y - 13, FL_LEFT, FL_SMALL, FL_MUTED, l->end - l->name, text);
        fl_draw_text(c, l->name, y + 1, FL_LEFT, FL_SMALL, FL_MUTED, 0,
                     "easiest first, with the places it may have");
        return;
    }
    fl_draw_text(c, l->name, y, FL_LEFT, FL_SMALL, FL_MUTED, l->name_w,
                 "easiest first, with the places it may have");
    fl_draw_text(c, l->turning.p0, y, FL_LEFT, FL_SMALL, FL_MUTED, 0, "off while turning");
    fl_chart_text(c, l->v50.p0, y, FL_LEFT, FL_SMALL, FL_MUTED, l->figure - 4 - l->v50.p0, text,
                  shorter);
    fl_draw_text(c, l->figure, y, FL_LEFT, FL_SMALL, FL_MUTED, l->end - l->figure, "95 % interval");
}

static void draw_axes(struct fl_surface *c, const struct layout *l, double bottom, double head)
{
    fl_draw_x_axis(c, &l->v50, bottom, head, l->narrow ? 4 : 6);
    if (!l->narrow)
        draw_turning_axis(c, &l->turning, bottom, head);
    if (l->q != FL_CAMERA_SPEED)
        return;
    fl_draw_quarter_turns(c, &l->v50, bottom + 34);
    if (l->narrow)
        fl_draw_text(c, l->figure, bottom + 50, FL_LEFT, FL_SMALL, FL_MUTED, l->end - l->figure,
                     "a quarter turn");
    else
        fl_draw_text(c, l->v50.p0 - 10, bottom + 38, FL_RIGHT, FL_SMALL, FL_MUTED, 0,
                     "a quarter turn in");
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct fl_session *s = data;
    struct layout l = lay_out(c, s, b);
    double bottom = l.top + l.row * (double)l.rows + 2, head = l.top - 6;
    draw_heads(c, &l, head - 6);
    fl_draw_line(c, b.x, head, b.x + b.w, head, 0.8, FL_RULE, 0);
    draw_axes(c, &l, bottom, head);
    for (size_t i = 0; i < l.rows; i++) {
        if (l.narrow)
            draw_narrow_row(c, &l, l.top + (double)i * l.row, &s->results[i]);
        else
            draw_row(c, &l, l.top + ((double)i + 0.5) * l.row, &s->results[i], s->results);
    }
    if (l.rows < fl_ranking_rows(s)) {
        char text[64];
        snprintf(text, sizeof text, "and %zu more", fl_ranking_rows(s) - l.rows);
        fl_draw_text(c, b.x, bottom + 16, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
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
    bool drills = false;
    const size_t controls = s->n_results - fl_ranking_rows(s);
    char *source = fl_chart_source((const struct fl_take *const *)s->takes, s->n_takes, s->name);
    for (size_t i = 0; i < s->n_results; i++)
        drills |= s->results[i].drill;
    char *text = fl_format(
        "Filled: may be quoted (three takes, little open, a narrow interval); hollow: not "
        "yet.%s%s %s",
        drills ? " Shares of a drill are of deliberate flicks." : "",
        controls > 1    ? " Controls with synthesis disabled are left out."
        : controls == 1 ? " The control with synthesis disabled is left out."
                        : "",
        source);
    free(source);
    return text;
}

bool fl_ranking_chart_due(const struct fl_chart_of *of)
{
    return of->s->n_results > 0;
}

struct fl_chart fl_ranking_chart(const struct fl_chart_of *of)
{
    const struct fl_session *s = of->s;
    struct fl_chart p = {.title = fl_strdup("How fast a turn switches synthesis off"),
                         .desc = fl_ranking_words(s),
                         .note = note(s),
                         .least_w = 690,
                         .height = height,
                         .draw = draw,
                         .data = s};
    const struct fl_quantity_info *q = fl_quantity_info(fl_results_quantity(s));
    const size_t rows = fl_ranking_rows(s);
    p.least_h =
        HEADS + foot_of(fl_results_quantity(s)) + (rows > FEW ? LEAST_ROW : TALL) * (double)rows;
    p.lead =
        fl_format("Peak %s, in %s, at which a flick has an even chance to trip; further left trips "
                  "more easily",
                  q->label, q->unit_label);
    return p;
}
