/* What a game's cut-off may watch: for each quantity, V50 of every setting against the mean of all
 * of them. Where a quantity is what is watched its marks meet at 1; those of the others lie as far
 * apart as the settings move them. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "show/chart/chart.h"
#include "show/chart/chart_axes.h"
#include "show/text/escape.h"
#include "study/curve/quantity_rank.h"

enum {
    MOST = 12, /* settings */
    AXIS = 38,
    LEFT = 178,
    NARROW_LEFT = 138,
    LEGEND = 20,
    LEAST_ROW = 40,
    PAGE_ROW = 48,
    NEAR = 4 /* an interval reaches at most this many times its V50, for the axis */
};

struct row {
    const struct fl_quantity_rank *rank;
    const struct fl_curve *v[MOST]; /* NULL: no V50 there */
    double mean;                    /* geometric, of those V50 */
};

struct watched {
    struct row row[FL_QUANTITIES];
    size_t rows;
    const struct fl_curve *setting[MOST]; /* one curve of each, to name it by */
    size_t n;
    double low, high; /* ratios that the axis holds */
};

static bool same(double a, double b)
{
    return a == b || (!fl_known(a) && !fl_known(b));
}

static size_t setting_of(struct watched *w, const struct fl_curve *c)
{
    size_t i = 0;
    for (; i < w->n; i++)
        if (same(w->setting[i]->counts_per_inch, c->counts_per_inch) &&
            same(w->setting[i]->degrees_per_count, c->degrees_per_count) &&
            !strcmp(w->setting[i]->condition, c->condition))
            return i;
    if (w->n < MOST)
        w->setting[w->n++] = c;
    return i;
}

static void add_curves(struct watched *w, const struct fl_session *s, struct row *r)
{
    double sum = 0;
    int n = 0;
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        if (c->pooled || c->quantity != r->rank->quantity || strcmp(c->game, r->rank->game) != 0 ||
            !c->condition || !fl_known(c->v50))
            continue;
        const size_t k = setting_of(w, c);
        if (k >= MOST)
            continue;
        r->v[k] = c;
        sum += log(c->v50);
        n++;
    }
    r->mean = n > 1 ? exp(sum / n) : FL_UNKNOWN;
}

static void widen(struct watched *w, const struct row *r)
{
    for (size_t k = 0; k < w->n; k++) {
        const struct fl_curve *c = r->v[k];
        if (!c)
            continue;
        fl_widen(&w->low, &w->high, c->v50 / r->mean);
        fl_widen(&w->low, &w->high, fmax(c->v50_low, c->v50 / NEAR) / r->mean);
        fl_widen(&w->low, &w->high, fmin(c->v50_high, c->v50 * NEAR) / r->mean);
    }
}

/* Rows with V50 at two settings or more, that fits best first. */
static struct watched watched_of(const struct fl_chart_of *of)
{
    struct watched w = {.low = 0.8, .high = 1.25};
    for (size_t i = 0; i < of->s->n_quantities && w.rows < FL_QUANTITIES; i++) {
        struct row r = {.rank = &of->s->quantities[i]};
        if (!of->g->game || strcmp(r.rank->game, of->g->game) != 0)
            continue;
        add_curves(&w, of->s, &r);
        if (!fl_known(r.mean))
            continue;
        widen(&w, &r);
        size_t at = w.rows++;
        for (; at && r.rank->lead > w.row[at - 1].rank->lead; at--)
            w.row[at] = w.row[at - 1];
        w.row[at] = r;
    }
    return w;
}

/* One a game: with the first of its conditions. */
static bool first_of_game(const struct fl_chart_of *of)
{
    for (size_t i = 0; i < of->s->n_curves; i++)
        if (!strcmp(of->s->curves[i].game, of->g->game))
            return fl_group_has(of->g, of->g->game, of->s->curves[i].condition);
    return false;
}

bool fl_watched_chart_due(const struct fl_chart_of *of)
{
    return of->g->game && !of->g->control && first_of_game(of) && watched_of(of).rows > 1;
}

static double height(const void *data, double width)
{
    const struct watched w = watched_of(data);
    const double lines = width < FL_SURFACE_NARROW ? (double)w.n : ceil((double)w.n / 2);
    return LEGEND * lines + PAGE_ROW * (double)w.rows + AXIS + 8;
}

static void draw_legend(struct fl_surface *c, const struct watched *w, struct fl_box b)
{
    const size_t columns = c->narrow ? 1 : 2;
    for (size_t k = 0; k < w->n; k++) {
        const struct fl_curve *v = w->setting[k];
        const double room = b.w / (double)columns, x = b.x + (double)(k % columns) * room,
                     y = b.y + ((double)(k / columns) + 0.5) * LEGEND;
        const bool plain = !v->condition || !strcmp(v->condition, "default");
        char desk[FL_SETTING_SIZE];
        char *text =
            fl_format("%s%s%s", fl_desk_text(desk, v->counts_per_inch, v->degrees_per_count),
                      plain ? "" : " · ", plain ? "" : v->condition);
        fl_draw_mark(c, x + 5, y, (int)k, 9, fl_series_colour(k), true);
        fl_draw_text(c, x + 16, y + 4, FL_LEFT, FL_SMALL, FL_INK, room - 24, text);
        free(text);
    }
}

/* Settings one below another within the row. */
static void draw_row(struct fl_surface *c, const struct watched *w, const struct fl_axis *x,
                     double left, double top, double high, const struct row *r)
{
    const double step = fmin(12, (high - 12) / (double)w->n),
                 first = top + high / 2 - step * ((double)w->n - 1) / 2;
    fl_draw_line(c, left, top, x->p1, top, 0.8, FL_RULE, 0);
    fl_draw_text(c, left, top + high / 2 - 2, FL_LEFT, FL_BOLD, FL_INK, x->p0 - left - 8,
                 fl_quantity_info(r->rank->quantity)->label);
    fl_draw_text(c, left, top + high / 2 + 12, FL_LEFT, FL_SMALL, FL_MUTED, x->p0 - left - 8,
                 r->rank->verdict);
    for (size_t k = 0; k < w->n; k++) {
        const struct fl_curve *v = r->v[k];
        if (!v)
            continue;
        const double y = first + (double)k * step;
        fl_chart_interval(c, x, y, v->v50_low / r->mean, v->v50_high / r->mean, 3.5,
                          fl_series_colour(k));
        fl_draw_mark(c, fl_axis_at(x, v->v50 / r->mean), y, (int)k, 8, fl_series_colour(k), true);
    }
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct watched w = watched_of(data);
    const double lines = c->narrow ? (double)w.n : ceil((double)w.n / 2), legend = LEGEND * lines,
                 top = b.y + legend + 8, bottom = b.y + b.h - AXIS;
    const struct fl_axis x = {w.low / 1.1, w.high * 1.1, b.x + (c->narrow ? NARROW_LEFT : LEFT),
                              b.x + b.w - 8, true};
    draw_legend(c, &w, b);
    fl_draw_x_axis(c, &x, bottom, top, c->narrow ? 4 : 9);
    fl_draw_line(c, fl_axis_at(&x, 1), top, fl_axis_at(&x, 1), bottom, 1.6, FL_INK, 0);
    for (size_t i = 0; i < w.rows; i++) {
        const double high = (bottom - top) / (double)w.rows;
        draw_row(c, &w, &x, b.x, top + (double)i * high, high, &w.row[i]);
    }
    fl_draw_text(c, (x.p0 + x.p1) / 2, bottom + 32, FL_CENTRE, FL_SMALL, FL_MUTED, 0,
                 "V50 against the mean of all settings");
}

static char *title(const struct watched *w, const char *name)
{
    for (size_t i = 0; i < w->rows; i++) {
        const char *label = fl_quantity_info(w->row[i].rank->quantity)->label;
        if (w->row[i].rank->grade == FL_WATCH_NAMED)
            return fl_format("%s watches %s", name, label);
        if (w->row[i].rank->grade == FL_WATCH_ONLY)
            return fl_format("%s: of what it may watch only %s still fits", name, label);
    }
    return fl_format("%s: what it watches is not known yet", name);
}

static char *describe(const struct watched *w)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    fputs("V50 of each setting against the mean of all settings.", out);
    for (size_t i = 0; i < w->rows; i++) {
        const char *parted = " ";
        fprintf(out, " %s (%s):", fl_quantity_info(w->row[i].rank->quantity)->label,
                w->row[i].rank->verdict);
        for (size_t k = 0; k < w->n; k++) {
            char desk[FL_SETTING_SIZE];
            const struct fl_curve *v = w->row[i].v[k];
            if (!v)
                continue;
            fprintf(out, "%s%.3g with %s", parted, v->v50 / w->row[i].mean,
                    fl_desk_text(desk, v->counts_per_inch, v->degrees_per_count));
            parted = ", ";
        }
        fputc('.', out);
    }
    return fl_text_end(&stream);
}

struct fl_chart fl_watched_chart(const struct fl_chart_of *of)
{
    const struct watched w = watched_of(of);
    struct fl_chart p = {.least_w = 620,
                         .least_h =
                             LEGEND * ceil((double)w.n / 2) + AXIS + 8 + LEAST_ROW * (double)w.rows,
                         .height = height,
                         .draw = draw,
                         .data = of};
    char *name = fl_chart_name(of->g->game, NULL),
         *source = fl_chart_source(of->g->takes, of->g->n_takes, of->s->name);
    p.title = title(&w, name);
    p.lead =
        fl_strdup("The quantity that is watched trips at one speed in every setting: its marks "
                  "meet at 1, those of the others do not");
    p.note =
        fl_format("Bars: 95 %% intervals, arrow: open. Unlikely by: how much worse it tells the "
                  "trips of takes left out, ± its standard error. %s",
                  source);
    p.desc = describe(&w);
    free(name);
    free(source);
    return p;
}
