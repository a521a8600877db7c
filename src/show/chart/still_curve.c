/* The page's trip curves: flicks on a logarithmic axis, curves through them, intervals of V50. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/chart/chart_axes.h"
#include "show/chart/still.h"
#include "show/text/escape.h"
#include "study/curve/curve.h"

/* From top to bottom: title, legend (a row a series), tripped flicks (a lane a series), the curves,
 * held flicks (lanes), V50 intervals (lanes), axis. Lanes keep series apart without colour. */
enum { TITLE = 18, LEGEND = 40, ROW = 19, LANE = 24, V50_LANE = 18, PLOT = 190, AXIS = 44 };

struct layout {
    struct fl_axis x, y;
    double left, right, tripped, plot, held, v50, bottom;
    size_t n;
    const struct fl_curve *const *curve;
};

static size_t series_count(const struct fl_group *g)
{
    return g->n_curves ? g->n_curves : g->pooled ? 1 : 0;
}

static double height(const void *data, double width)
{
    (void)width;
    double n = (double)series_count(data);
    return LEGEND + n * ROW + n * (LANE + LANE + V50_LANE) + PLOT + 36 + AXIS;
}

static struct layout lay_out(const struct fl_surface *c, const struct fl_group *g)
{
    struct layout l = {.left = c->narrow ? 54 : 84, .right = c->width - 16, .n = series_count(g)};
    double n = (double)l.n;
    l.curve = g->n_curves ? g->curve : &g->pooled;
    l.tripped = LEGEND + n * ROW + 8;
    l.plot = l.tripped + n * LANE + 6;
    l.held = l.plot + PLOT + 6;
    l.v50 = l.held + n * LANE + 10;
    l.bottom = l.v50 + n * V50_LANE + 6;
    l.x = fl_trip_axis(l.curve, l.n, l.left, l.right);
    l.y = (struct fl_axis){0, 1, l.plot + PLOT, l.plot, false};
    return l;
}

static void draw_legend(struct fl_surface *c, const struct layout *l, size_t k)
{
    const struct fl_curve *curve = l->curve[k];
    char setting[FL_SETTING_SIZE], v50[FL_V50_SIZE];
    double y = LEGEND + (double)k * ROW;
    fl_draw_line(c, 10, y, 40, y, 2, fl_series_colour(k), (int)k);
    fl_draw_mark(c, 25, y, (int)k, 8, fl_series_colour(k), true);
    fl_setting_text(setting, curve);
    char *text = fl_format(c->narrow ? "%s (%d of %d tripped)" : "%s: %d of %d flicks tripped. %s",
                           setting, curve->trips, curve->flicks, fl_v50_text(v50, curve));
    fl_draw_text(c, 48, y + 4, FL_LEFT, c->narrow ? FL_SMALL : FL_PLAIN, FL_INK, c->width - 56,
                 text);
    free(text);
}

/* Places a mark in its lane: beside earlier ones that it would cover, in turns above and below. */
static double lane_offset(const double *x, const double *dy, int n, double at)
{
    static const double step[] = {0, -6, 6, -3, 3, -8.5, 8.5};
    for (int s = 0; s < 7; s++) {
        bool free_place = true;
        for (int i = 0; i < n && free_place; i++)
            free_place = hypot(x[i] - at, dy[i] - step[s]) > 5.5;
        if (free_place)
            return step[s];
    }
    return step[n % 7];
}

static void draw_flicks(struct fl_surface *c, const struct layout *l, size_t k, bool tripped)
{
    const struct fl_curve *curve = l->curve[k];
    double lane = (tripped ? l->tripped : l->held) + ((double)k + 0.5) * LANE;
    double *x = FL_NEW(double, (size_t)curve->flicks + 1),
           *dy = FL_NEW(double, (size_t)curve->flicks + 1);
    int n = 0;
    for (int i = 0; i < curve->flicks; i++) {
        if (curve->points[i].tripped != tripped || !(curve->points[i].v > 0))
            continue;
        x[n] = fl_axis_at(&l->x, curve->points[i].v);
        dy[n] = lane_offset(x, dy, n, x[n]);
        fl_draw_mark(c, x[n], lane + dy[n], (int)k, c->narrow ? 5 : 6.5, fl_series_colour(k),
                     tripped);
        n++;
    }
    free(x);
    free(dy);
}

static void draw_curve(struct fl_surface *c, const struct layout *l, size_t k)
{
    if (fl_trip_path(c, &l->x, &l->y, l->curve[k]))
        fl_stroke(c, 2, fl_series_colour(k), (int)k);
}

/* In place of curves where there is none. */
static void say_no_curve(struct fl_surface *c, const struct layout *l)
{
    const char *why = fl_no_trip_curve(l->curve, l->n);
    if (why && l->n)
        fl_draw_text(c, (l->left + l->right) / 2, fl_axis_at(&l->y, 0.3), FL_CENTRE, FL_PLAIN,
                     FL_MUTED, l->right - l->left, why);
}

static void draw_v50(struct fl_surface *c, const struct layout *l, size_t k)
{
    const struct fl_curve *curve = l->curve[k];
    double y = l->v50 + ((double)k + 0.5) * V50_LANE;
    enum fl_colour colour = fl_series_colour(k);
    if (curve->bound == FL_BOUND_ABOVE) {
        fl_still_interval(c, &l->x, y, curve->bound_at, FL_UNKNOWN, 4, colour);
    } else if (curve->bound == FL_BOUND_BELOW) {
        fl_still_interval(c, &l->x, y, FL_UNKNOWN, curve->bound_at, 4, colour);
    } else if (fl_known(curve->v50)) {
        double x = fl_axis_at(&l->x, curve->v50);
        fl_still_interval(c, &l->x, y, curve->v50_low, curve->v50_high, 4, colour);
        fl_draw_line(c, x, fl_axis_at(&l->y, 0.5), x, y, 1, colour, 2);
        fl_draw_mark(c, x, y, (int)k, 9, colour, true);
    } else {
        fl_draw_text(c, l->left + 6, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0, "no V50");
    }
}

static void draw_probability_axis(struct fl_surface *c, const struct layout *l)
{
    static const double at[] = {0, 0.1, 0.5, 0.9, 1};
    for (int i = 0; i < 5; i++) {
        char text[16];
        double y = fl_axis_at(&l->y, at[i]);
        snprintf(text, sizeof text, "%g %%", 100 * at[i]);
        fl_draw_line(c, l->left, y, l->right, y, at[i] == 0.5 ? 1.2 : 0.8, FL_RULE, 0);
        fl_draw_text(c, l->left - 7, y + 4, FL_RIGHT, FL_SMALL, FL_MUTED, 0, text);
    }
    const struct {
        double y, lane;
        const char *name;
    } lanes[] = {{l->tripped, LANE, "tripped"}, {l->held, LANE, "held"}, {l->v50, V50_LANE, "V50"}};
    for (int i = 0; i < 3; i++)
        fl_draw_text(c, l->left - 7, lanes[i].y + (double)l->n * lanes[i].lane / 2 + 4, FL_RIGHT,
                     FL_SMALL, FL_INK, 0, lanes[i].name);
    if (!c->narrow)
        fl_draw_text(c, 10, fl_axis_at(&l->y, 0.5) - 12, FL_LEFT, FL_SMALL, FL_INK, 0, "chance");
    if (!c->narrow)
        fl_draw_text(c, 10, fl_axis_at(&l->y, 0.5) + 2, FL_LEFT, FL_SMALL, FL_INK, 0, "to trip");
}

static void draw(struct fl_surface *c, const void *data)
{
    const struct fl_group *g = data;
    const struct fl_quantity_info *info = fl_quantity_info(g->quantity);
    struct layout l = lay_out(c, g);
    char *name = fl_group_name(g->game, g->condition), axis[96];
    fl_draw_text(c, 10, TITLE, FL_LEFT, FL_BOLD, FL_INK, c->width - 20, name);
    fl_draw_x_axis(c, &l.x, l.bottom, l.tripped, c->narrow ? 5 : 9);
    draw_probability_axis(c, &l);
    say_no_curve(c, &l);
    for (size_t k = 0; k < l.n; k++) {
        draw_legend(c, &l, k);
        draw_curve(c, &l, k);
        draw_flicks(c, &l, k, true);
        draw_flicks(c, &l, k, false);
        draw_v50(c, &l, k);
    }
    snprintf(axis, sizeof axis, "peak %s of the flick, %s (logarithmic)", info->label,
             info->unit_label);
    fl_draw_text(c, (l.left + l.right) / 2, l.bottom + 34, FL_CENTRE, FL_SMALL, FL_MUTED, 0, axis);
    free(name);
}

struct fl_drawing fl_curve_still(const struct fl_group *g)
{
    struct fl_drawing d = {.height = height, .draw = draw, .data = g};
    char *name = fl_group_name(g->game, g->condition), v50[FL_V50_SIZE];
    const struct fl_curve *c = g->pooled ? g->pooled : g->n_curves ? g->curve[0] : NULL;
    d.title = fl_format("Trip curve: %s", name);
    d.desc = fl_format("Chance that a flick trips against its peak %s. %d flicks, %d tripped; %s.",
                       fl_quantity_info(g->quantity)->label, c ? c->flicks : 0, c ? c->trips : 0,
                       c ? fl_v50_text(v50, c) : "no curve");
    free(name);
    return d;
}
