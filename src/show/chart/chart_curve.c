/* Chance to trip against peak speed. From top to bottom: flicks that tripped, curves, flicks that
 * held, V50 with its interval and its setting, a lane a setting. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "show/chart/chart_axes.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "study/compare/result.h"
#include "study/curve/curve.h"

enum {
    AXIS = 38,
    LEAST_PLOT = 76,
    PAGE_PLOT = 190,
    LEFT = 214,
    NARROW_LEFT = 58,
    TICK = 12,  /* least from one number to the next, where they stand one above the other */
    LEGEND = 32 /* a setting's two lines, where it has no room beside the axis */
};

struct curves {
    const struct fl_curve *const *v;
    size_t n;
};

struct layout {
    struct fl_axis x, y;
    double label, legend, tripped, held, v50, lane, v50_lane, bottom;
    bool narrow; /* settings stand above */
};

static struct curves curves_of(const struct fl_group *g)
{
    if (g->n_curves)
        return (struct curves){g->curve, g->n_curves};
    return (struct curves){&g->pooled, g->pooled ? 1 : 0};
}

static double lane_of(size_t n)
{
    return n <= 1 ? 34 : n <= 2 ? 24 : 15;
}

static double v50_lane_of(size_t n)
{
    return n <= 4 ? 30 : 17;
}

static double needed(size_t n, double plot)
{
    double k = (double)(n ? n : 1);
    return k * (2 * lane_of(n) + v50_lane_of(n)) + plot + AXIS + 24;
}

static double height(const void *data, double width)
{
    const size_t n = curves_of(data).n;
    return needed(n, PAGE_PLOT) + (width < FL_SURFACE_NARROW ? LEGEND * (double)n : 0);
}

static struct layout lay_out(const struct fl_surface *c, struct curves curves, struct fl_box b)
{
    double n = (double)(curves.n ? curves.n : 1);
    struct layout l = {.label = b.x,
                       .legend = b.y,
                       .lane = lane_of(curves.n),
                       .v50_lane = v50_lane_of(curves.n),
                       .narrow = c->narrow};
    l.bottom = b.y + b.h - AXIS;
    l.v50 = l.bottom - n * l.v50_lane - 4;
    l.held = l.v50 - n * l.lane - 8;
    l.tripped = b.y + (l.narrow ? LEGEND * (double)curves.n : 0);
    l.x = fl_trip_axis(curves.v, curves.n, b.x + (l.narrow ? NARROW_LEFT : LEFT), b.x + b.w - 6);
    l.y = (struct fl_axis){0, 1, l.held - 6, l.tripped + n * l.lane + 6, false};
    return l;
}

static void draw_curve(struct fl_surface *c, const struct layout *l, const struct fl_curve *curve,
                       size_t k)
{
    if (fl_trip_path(c, &l->x, &l->y, curve))
        fl_stroke(c, 2.4, fl_series_colour(k), (int)k);
}

static void figure_text(char text[FL_V50_SIZE], const struct fl_curve *c)
{
    char figure[FL_FIGURE_SIZE];
    struct fl_grouped_interval v50;
    const char *unit = fl_quantity_info(c->quantity)->unit_label;
    fl_grouped_figure(figure, c->bound_at);
    switch (c->bound) {
    case FL_BOUND_ABOVE: snprintf(text, FL_V50_SIZE, "over %s %s", figure, unit); break;
    case FL_BOUND_BELOW: snprintf(text, FL_V50_SIZE, "under %s %s", figure, unit); break;
    case FL_BOUND_NO_RELATION:
        snprintf(text, FL_V50_SIZE, "cannot tell: faster flicks did not trip more often");
        break;
    case FL_BOUND_TOO_FEW: snprintf(text, FL_V50_SIZE, "cannot tell: too few flicks"); break;
    case FL_BOUND_NOT_POOLED: snprintf(text, FL_V50_SIZE, "not one for all settings"); break;
    case FL_BOUND_NONE:
        fl_grouped_interval(&v50, c->v50, c->v50_low, c->v50_high);
        snprintf(text, FL_V50_SIZE, "%s %s (%s)", v50.at, unit, v50.range);
    }
}

/* Beside the bar, on the side that has room. */
static void draw_figure(struct fl_surface *c, const struct layout *l, double y, double from,
                        double to, const char *text)
{
    double w = fl_text_width(c, FL_SMALL_BOLD, text) + 10;
    if (to + w <= l->x.p1)
        fl_draw_text(c, to + 10, y + 4, FL_LEFT, FL_SMALL_BOLD, FL_INK, 0, text);
    else if (from - w >= l->x.p0)
        fl_draw_text(c, from - 10, y + 4, FL_RIGHT, FL_SMALL_BOLD, FL_INK, 0, text);
    else
        fl_draw_text(c, (l->x.p0 + l->x.p1) / 2, y - 6, FL_CENTRE, FL_SMALL_BOLD, FL_INK,
                     l->x.p1 - l->x.p0, text);
}

static void draw_v50(struct fl_surface *c, const struct layout *l, const struct fl_curve *curve,
                     size_t k)
{
    double y = l->v50 + ((double)k + 0.5) * l->v50_lane, low = FL_UNKNOWN, high = FL_UNKNOWN;
    enum fl_colour colour = fl_series_colour(k);
    char text[FL_V50_SIZE];
    figure_text(text, curve);
    bool point = curve->bound == FL_BOUND_NONE && fl_known(curve->v50);
    if (curve->bound == FL_BOUND_ABOVE)
        low = curve->bound_at;
    else if (curve->bound == FL_BOUND_BELOW)
        high = curve->bound_at;
    else if (point) {
        low = curve->v50_low;
        high = curve->v50_high;
    } else {
        fl_draw_text(c, l->x.p0 + 10, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, l->x.p1 - l->x.p0 - 10,
                     text);
        return;
    }
    double x = point ? fl_axis_at(&l->x, curve->v50) : 0;
    if (point)
        fl_draw_line(c, x, fl_axis_at(&l->y, 0.5), x, y, 1, colour, 2);
    fl_chart_interval(c, &l->x, y, low, high, 5, colour);
    if (point) {
        fl_draw_mark(c, x, fl_axis_at(&l->y, 0.5), (int)k, 9, colour, true);
        fl_draw_mark(c, x, y, (int)k, 10, colour, true);
    }
    draw_figure(c, l, y, fl_known(low) ? fmax(fl_axis_at(&l->x, low), l->x.p0) : l->x.p0,
                fl_known(high) ? fmin(fl_axis_at(&l->x, high), l->x.p1) : l->x.p1, text);
}

/* Mark, setting and how many flicks: beside the setting's V50, above all where that is too narrow,
 * in one line where lanes are. */
static void draw_setting(struct fl_surface *c, const struct layout *l, const struct fl_curve *curve,
                         size_t k)
{
    const bool two = l->narrow || l->v50_lane >= 28;
    const double lane = l->narrow ? LEGEND : l->v50_lane, x = l->label + 16,
                 y = (l->narrow ? l->legend : l->v50) + ((double)k + 0.5) * lane,
                 room = (l->narrow ? l->x.p1 : l->x.p0 - 8) - x;
    char setting[FL_SETTING_SIZE], takes[FL_COUNT_SIZE];
    if (curve->pooled)
        fl_setting_text(setting, curve);
    else
        fl_desk_text(setting, curve->counts_per_inch, curve->degrees_per_count);
    fl_chart_count(takes, curve->takes, "take", "takes");
    char *counts = fl_format("%s%s%d of %d tripped", two ? takes : "", two ? ", " : "",
                             curve->trips, curve->flicks);
    const double w = two ? 0 : fl_text_width(c, FL_SMALL, counts) + 8;
    fl_draw_mark(c, l->label + 5, two ? y - 5 : y, (int)k, 9, fl_series_colour(k), true);
    fl_draw_text(c, x, two ? y - 1 : y + 4, FL_LEFT, FL_SMALL_BOLD, FL_INK, room - w, setting);
    fl_draw_text(c, two ? x : x + room, two ? y + 12 : y + 4, two ? FL_LEFT : FL_RIGHT, FL_SMALL,
                 FL_MUTED, room, counts);
    free(counts);
}

static void draw_axes(struct fl_surface *c, const struct layout *l, double n)
{
    static const double at[] = {0, 0.1, 0.5, 0.9, 1};
    const bool low = 0.1 * fabs(l->y.p0 - l->y.p1) < TICK; /* numbers would touch */
    const struct {
        double y;
        const char *name;
    } lanes[] = {{l->tripped + n * l->lane / 2, "tripped"}, {l->held + n * l->lane / 2, "held"}};
    double right = l->x.p0 - 8;
    fl_draw_x_axis(c, &l->x, l->bottom, l->tripped, l->narrow ? 5 : 9);
    for (int i = 0; i < 5; i++) {
        char text[16];
        double y = fl_axis_at(&l->y, at[i]);
        snprintf(text, sizeof text, "%g %%", 100 * at[i]);
        fl_draw_line(c, l->x.p0, y, l->x.p1, y, at[i] == 0.5 ? 1.4 : 0.8, FL_RULE, 0);
        if (!low || i % 2 == 0)
            fl_draw_text(c, right, y + 4, FL_RIGHT, FL_SMALL, FL_MUTED, 0, text);
    }
    for (int i = 0; i < 2; i++)
        fl_draw_text(c, right, lanes[i].y + 4, FL_RIGHT, FL_SMALL, FL_INK, 0, lanes[i].name);
    if (!l->narrow)
        fl_draw_text(c, right - 46, fl_axis_at(&l->y, 0.5) + 4, FL_RIGHT, FL_SMALL_BOLD, FL_INK, 0,
                     "chance to trip");
}

static void say_no_curve(struct fl_surface *c, const struct layout *l, struct curves curves)
{
    const char *why = fl_no_trip_curve(curves.v, curves.n);
    if (why)
        fl_draw_text(c, (l->x.p0 + l->x.p1) / 2, fl_axis_at(&l->y, 0.62), FL_CENTRE, FL_BOLD,
                     FL_MUTED, l->x.p1 - l->x.p0, why);
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct fl_group *g = data;
    const struct fl_quantity_info *info = fl_quantity_info(g->quantity);
    struct curves curves = curves_of(g);
    struct layout l = lay_out(c, curves, b);
    char axis[96];
    draw_axes(c, &l, (double)curves.n);
    say_no_curve(c, &l, curves);
    for (size_t k = 0; k < curves.n; k++)
        draw_curve(c, &l, curves.v[k], k);
    for (size_t k = 0; k < curves.n; k++) {
        double lane = (double)k * l.lane;
        fl_chart_flicks(c, &l.x, l.tripped + lane + l.lane, l.lane - 2, true, curves.v[k], true,
                        (int)k, fl_series_colour(k));
        fl_chart_flicks(c, &l.x, l.held + lane, l.lane - 2, false, curves.v[k], false, (int)k,
                        fl_series_colour(k));
        draw_v50(c, &l, curves.v[k], k);
        draw_setting(c, &l, curves.v[k], k);
    }
    snprintf(axis, sizeof axis, "peak %s of the flick, %s, logarithmic", info->label,
             info->unit_label);
    fl_draw_text(c, (l.x.p0 + l.x.p1) / 2, l.bottom + 32, FL_CENTRE, FL_SMALL, FL_MUTED, 0, axis);
}

static char *describe(const struct fl_group *g)
{
    struct curves curves = curves_of(g);
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    fprintf(out, "Chance that a flick trips against its peak %s.",
            fl_quantity_info(g->quantity)->label);
    for (size_t k = 0; k < curves.n; k++) {
        char setting[FL_SETTING_SIZE], v50[FL_V50_SIZE];
        const struct fl_curve *c = curves.v[k];
        fprintf(out, " %s: %d of %d flicks tripped, %d takes; %s.", fl_setting_text(setting, c),
                c->trips, c->flicks, c->takes, fl_v50_text(v50, c));
    }
    return fl_text_end(&stream);
}

/* The group's row of the ranking with the lowest V50; NULL: none has one. */
static const struct fl_result *first_result(const struct fl_session *s, const struct fl_group *g)
{
    for (size_t i = 0; i < s->n_results; i++) {
        const struct fl_result *r = &s->results[i];
        const struct fl_curve *c = fl_result_curve(r, g->quantity);
        if (fl_group_has(g, r->game, r->condition) && c && fl_known(c->v50))
            return r;
    }
    return NULL;
}

static char *lead(const struct fl_session *s, const struct fl_group *g)
{
    char v50[FL_V50_SIZE], desk[FL_SETTING_SIZE] = "";
    const struct fl_result *r = first_result(s, g);
    const bool several = r && g->n_settings > 1;
    if (!r)
        return fl_strdup("Chance that a flick switches synthesis off, by its peak speed");
    figure_text(v50, fl_result_curve(r, g->quantity));
    if (several)
        fl_desk_text(desk, r->counts_per_inch, r->degrees_per_count);
    return fl_format("An even chance to switch synthesis off at %s%s%s", v50,
                     several ? ", with " : "", desk);
}

bool fl_curve_chart_due(const struct fl_chart_of *of)
{
    return curves_of(of->g).n > 0;
}

struct fl_chart fl_curve_chart(const struct fl_chart_of *of)
{
    const struct fl_session *s = of->s;
    const struct fl_group *g = of->g;
    struct fl_chart p = {.lead = lead(s, g),
                         .desc = describe(g),
                         .least_h = needed(curves_of(g).n, LEAST_PLOT),
                         .height = height,
                         .least_w = 620,
                         .draw = draw,
                         .data = g};
    char *name = fl_chart_name(g->game, g->condition),
         *source = fl_chart_source(g->takes, g->n_takes, s->name);
    const struct fl_curve *all = fl_group_curve(g);
    char more[128] = "";
    if (g->left_out)
        snprintf(more, sizeof more, " %zu further settings are left out.", g->left_out);
    if (all && all->not_fitted)
        snprintf(more + strlen(more), sizeof more - strlen(more), " %d more could not be judged.",
                 all->not_fitted);
    p.title = fl_format("%s: at what speed it trips", name);
    p.note =
        fl_format("V50: the speed of an even chance; bar: its 95 %% interval, arrow: open.%s %s",
                  more, source);
    free(name);
    free(source);
    return p;
}
