/* The page's ranking: a row a setting, lowest trip speed first. The table above it has the shares;
 * on a narrow page, which rolls that table, they stand under the name too. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/chart/chart.h"
#include "show/chart/result_cells.h"
#include "show/chart/still.h"
#include "show/text/result_words.h"
#include "study/curve/curve.h"

enum { HEADS = 20, FIRST = 28, ROW = 25, NARROW_FIRST = 46, NARROW_ROW = 78, AXIS = 26, NAME = 46 };

static double height(const void *data, double width)
{
    const struct fl_session *s = data;
    double rows = (double)fl_ranking_rows(s);
    return AXIS +
           (width < FL_SURFACE_NARROW ? NARROW_FIRST + rows * NARROW_ROW : FIRST + rows * ROW);
}

/* "low detail, 800 counts/inch, 0.044°/count". */
static char *setting_text(const struct fl_result *r)
{
    char mouse[FL_MOUSE_SIZE];
    bool plain = !r->condition || !strcmp(r->condition, "default");
    return fl_format("%s%s%s%s", plain ? "" : r->condition, plain ? "" : ", ",
                     fl_mouse_text(mouse, r->counts_per_inch, r->degrees_per_count),
                     r->drill ? ", a drill" : "");
}

static void draw_wide_row(struct fl_surface *c, const struct fl_axis *a, double y,
                          const struct fl_result *r, enum fl_quantity q)
{
    char rank[FL_RANK_SIZE];
    char *setting = setting_text(r), *game = fl_group_name(r->game, NULL);
    double room = a->p0 - NAME - 16;
    double name_w = fmin(fl_text_width(c, FL_BOLD, game), 0.55 * room);
    if (r->rank.first)
        fl_draw_text(c, 8, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0, fl_rank_text(rank, r));
    fl_draw_text(c, NAME, y + 4.5, FL_LEFT, FL_BOLD, FL_INK, name_w + 1, game);
    fl_draw_text(c, NAME + name_w + 8, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, room - name_w - 8,
                 setting);
    fl_draw_v50_mark(c, a, y, 4.5, fl_result_curve(r, q));
    fl_draw_v50_line(c, a->p1 + 16, c->width - a->p1 - 20, y, r, q);
    free(setting);
    free(game);
}

static void draw_wide(struct fl_surface *c, const struct fl_session *s, enum fl_quantity q)
{
    const struct fl_axis a = fl_v50_axis(s, 0.44 * c->width, 0.81 * c->width, false);
    char head[128];
    snprintf(head, sizeof head, "V50: peak %s of an even chance to trip, %s",
             fl_quantity_info(q)->label, fl_quantity_info(q)->unit_label);
    fl_draw_text(c, 8, HEADS, FL_LEFT, FL_SMALL, FL_MUTED, a.p0 - 20,
                 "easiest first, with the places it may have");
    fl_draw_text(c, a.p0, HEADS, FL_LEFT, FL_SMALL, FL_MUTED, a.p1 - a.p0 + 10, head);
    fl_draw_text(c, a.p1 + 16, HEADS, FL_LEFT, FL_SMALL, FL_MUTED, 0, "V50, 95 % interval");
    fl_draw_x_axis(c, &a, FIRST + (double)fl_ranking_rows(s) * ROW, FIRST, 6);
    for (size_t i = 0; i < fl_ranking_rows(s); i++)
        draw_wide_row(c, &a, FIRST + ((double)i + 0.5) * ROW, &s->results[i], q);
}

static char *shares_text(const struct fl_result *r)
{
    char turning[FL_SHARE_SIZE], take[FL_SHARE_SIZE];
    if (r->control || !(r->shares.on_s > 0))
        return fl_strdup("");
    return fl_format("off: %s turning, %s of recording", fl_share_text(turning, r->shares.turning),
                     fl_known(r->shares.take)
                         ? fl_share_text(take, r->shares.take)
                         : fl_share_range(take, r->shares.plain_low, r->shares.plain_high));
}

static void draw_narrow_row(struct fl_surface *c, const struct fl_axis *a, double top,
                            const struct fl_result *r, enum fl_quantity q)
{
    char rank[FL_RANK_SIZE];
    char *game = fl_group_name(r->game, NULL), *shares = shares_text(r), *setting = setting_text(r);
    char *name = fl_format("%s%s%s", r->rank.first ? fl_rank_text(rank, r) : "",
                           r->rank.first ? "  " : "", game);
    double figure = a->p1 + 10, left = a->p0;
    fl_draw_text(c, left, top + 16, FL_LEFT, FL_BOLD, FL_INK, c->width - left - 10, name);
    fl_draw_text(c, left, top + 30, FL_LEFT, FL_SMALL, FL_MUTED, c->width - left - 10, setting);
    fl_draw_text(c, left, top + 44, FL_LEFT, FL_SMALL, FL_INK, c->width - left - 10, shares);
    fl_draw_v50_mark(c, a, top + 58, 4.5, fl_result_curve(r, q));
    fl_draw_v50_cell(c, figure, c->width - figure - 4, top + 58, r, q);
    free(game);
    free(shares);
    free(setting);
    free(name);
}

static void draw_narrow(struct fl_surface *c, const struct fl_session *s, enum fl_quantity q)
{
    const struct fl_axis a = fl_v50_axis(s, 14, c->width - 92, false);
    char head[96];
    snprintf(head, sizeof head, "V50, %s (95 %% interval)", fl_quantity_info(q)->unit_label);
    fl_draw_text(c, 14, 18, FL_LEFT, FL_SMALL, FL_MUTED, 0,
                 "easiest first, with the places it may have");
    fl_draw_text(c, 14, 32, FL_LEFT, FL_SMALL, FL_MUTED, 0, head);
    fl_draw_x_axis(c, &a, NARROW_FIRST + (double)fl_ranking_rows(s) * NARROW_ROW, NARROW_FIRST, 4);
    for (size_t i = 0; i < fl_ranking_rows(s); i++)
        draw_narrow_row(c, &a, NARROW_FIRST + (double)i * NARROW_ROW, &s->results[i], q);
}

static void draw(struct fl_surface *c, const void *data)
{
    const struct fl_session *s = data;
    (c->narrow ? draw_narrow : draw_wide)(c, s, fl_results_quantity(s));
}

struct fl_drawing fl_ranking_still(const struct fl_session *s)
{
    return (struct fl_drawing){.height = height,
                               .draw = draw,
                               .data = s,
                               .title = fl_strdup("Ranking by trip speed"),
                               .desc = fl_ranking_words(s)};
}
