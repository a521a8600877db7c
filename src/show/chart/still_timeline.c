/* The page's timeline of a take: states, unique rate and speed on one time axis. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/chart/chart_axes.h"
#include "show/chart/still.h"
#include "show/text/escape.h"
#include "show/text/game_groups.h"

/* Vertical places, px. */
enum {
    TITLE = 18,
    LEGEND = 40,
    STRIP = 58,
    STRIP_HIGH = 16,
    RATE = 106,
    PANEL_HIGH = 104,
    SPEED = 250,
    BOTTOM = SPEED + PANEL_HIGH,
    HEIGHT = BOTTOM + 42
};

struct layout {
    struct fl_axis time;
    double left, right;
};

static double height(const void *data, double width)
{
    (void)data;
    return HEIGHT + (width < FL_SURFACE_NARROW ? 20 : 0);
}

/* A legend entry: swatch drawn at x by the caller; returns where the next one starts. */
static double legend_text(struct fl_surface *c, double x, double y, const char *text)
{
    fl_draw_text(c, x, y + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
    return x + fl_text_width(c, FL_SMALL, text) + 16;
}

static void draw_band(struct fl_surface *c, double x, double y, double w, double h,
                      enum fl_state state)
{
    if (state == FL_STATE_UNSEEN)
        fl_draw_hatch(c, x, y, w, h, FL_UNSEEN);
    else
        fl_draw_box(c, x, y, w, h, state == FL_STATE_OFF ? FL_OFF : FL_ON);
}

static void draw_legend(struct fl_surface *c, const struct layout *l, double y)
{
    static const struct {
        enum fl_state state;
        const char *text;
    } band[] = {
        {FL_STATE_ON, "synthesis on"}, {FL_STATE_OFF, "off"}, {FL_STATE_UNSEEN, "cannot be seen"}};
    double x = c->narrow ? 10 : l->left;
    for (int i = 0; i < 3; i++) {
        draw_band(c, x, y - 5, 18, 10, band[i].state);
        x = legend_text(c, x + 23, y, band[i].text);
    }
    if (c->narrow) {
        x = 10;
        y += 20;
    }
    fl_draw_mark(c, x + 4, y, 3, 8, FL_OFF, true);
    x = legend_text(c, x + 13, y, "flick that tripped");
    fl_draw_mark(c, x + 4, y, 0, 7, FL_INK, false);
    x = legend_text(c, x + 13, y, "held");
    fl_draw_mark(c, x + 4, y, 0, 4, FL_UNSEEN, true);
    legend_text(c, x + 13, y, "not used");
}

static void draw_strip(struct fl_surface *c, const struct layout *l, const struct fl_states *s,
                       double y)
{
    for (int pass = 0; pass < 2; pass++) /* off last: short lapses stay visible */
        for (size_t i = 0; i < s->n_spans; i++) {
            const struct fl_state_span *span = &s->span[i];
            if ((span->state == FL_STATE_OFF) != (pass == 1))
                continue;
            double a = fl_axis_at(&l->time, span->start_s), b = fl_axis_at(&l->time, span->end_s);
            draw_band(c, a, y, pass ? fmax(b - a, 0.7) : b - a, STRIP_HIGH, span->state);
        }
    fl_set_colour(c, FL_MUTED);
    cairo_set_line_width(c->cr, 0.8);
    cairo_rectangle(c->cr, l->time.p0, y, l->time.p1 - l->time.p0, STRIP_HIGH);
    cairo_stroke(c->cr);
}

static void draw_reference(struct fl_surface *c, const struct layout *l, const struct fl_axis *y,
                           double v, const char *name)
{
    char text[64];
    if (!fl_known(v) || v > y->v1)
        return;
    double at = fl_axis_at(y, v);
    fl_draw_line(c, l->left, at, l->right, at, 1, FL_MUTED, 2);
    snprintf(text, sizeof text, c->narrow ? "%s" : "%s %.3g", name, v);
    fl_draw_text(c, l->right + 5, at + 4, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
}

static void draw_rate(struct fl_surface *c, const struct layout *l, const struct fl_take *t,
                      double top)
{
    const struct fl_states *s = &t->states;
    struct fl_axis y = fl_rate_axis(s, top + PANEL_HIGH, top);
    fl_draw_text(c, l->left, top - 7, FL_LEFT, FL_SMALL, FL_INK, 0, "Unique rate, flips/s");
    fl_shade_lapses(c, &l->time, s, top, PANEL_HIGH);
    fl_draw_y_axis(c, &y, l->left, l->right, 4);
    draw_reference(c, l, &y, 2 * s->base_rate_on_hz, "on");
    draw_reference(c, l, &y, s->base_rate_off_hz, "off");
    size_t n = s->n_frames < (size_t)t->frames ? s->n_frames : (size_t)t->frames;
    if (s->unique_rate_hz && n)
        fl_draw_steps(c, &l->time, &y, t->time_s, s->unique_rate_hz, n, 1.5, FL_INK);
}

static void mark_flicks(struct fl_surface *c, const struct layout *l, const struct fl_take *t,
                        const struct fl_axis *y, enum fl_quantity q)
{
    const double scale = t->n_flicks > 120 ? 0.65 : 1;
    for (size_t i = 0; i < t->n_flicks; i++) {
        const struct fl_flick *f = &t->flicks[i];
        if (!fl_known(f->peak[q]) || !fl_known(f->peak_s))
            continue;
        double x = fl_axis_at(&l->time, f->peak_s), at = fl_axis_at(y, fmin(f->peak[q], y->v1));
        if (!fl_flick_counts(f))
            fl_draw_mark(c, x, at, 0, 4 * scale, FL_UNSEEN, true);
        else if (f->tripped == FL_YES)
            fl_draw_mark(c, x, at, 3, 8 * scale, FL_OFF, true);
        else
            fl_draw_mark(c, x, at, 0, 7 * scale, FL_INK, false);
    }
}

static void draw_speed(struct fl_surface *c, const struct layout *l, const struct fl_take *t,
                       double top)
{
    enum fl_quantity q = fl_course_quantity(t);
    fl_shade_lapses(c, &l->time, &t->states, top, PANEL_HIGH);
    if (q == FL_QUANTITIES) {
        fl_draw_text(c, l->left, top - 7, FL_LEFT, FL_SMALL, FL_INK, 0,
                     "No motion could be measured");
        return;
    }
    const struct fl_quantity_info *info = fl_quantity_info(q);
    char title[80];
    snprintf(title, sizeof title, "%c%s, %s", info->label[0] - 32, info->label + 1,
             info->unit_label);
    struct fl_axis y = {0, 1.15 * fl_greatest(t->quantity[q], (size_t)t->frames, 1),
                        top + PANEL_HIGH, top, false};
    fl_draw_text(c, l->left, top - 7, FL_LEFT, FL_SMALL, FL_INK, 0, title);
    fl_draw_y_axis(c, &y, l->left, l->right, 4);
    if (q == FL_CAMERA_SPEED)
        draw_reference(c, l, &y, t->visible_floor_deg_s, c->narrow ? "seen" : "seen from");
    fl_draw_series(c, &l->time, &y, t->time_s, t->quantity[q], (size_t)t->frames, 1.2, FL_SERIES_1);
    mark_flicks(c, l, t, &y, q);
}

static void draw(struct fl_surface *c, const void *data)
{
    const struct fl_take *t = data;
    struct layout l = {.left = c->narrow ? 40 : 52, .right = c->width - (c->narrow ? 34 : 90)};
    l.time = (struct fl_axis){0, t->duration_s > 0 ? t->duration_s : 1, l.left, l.right, false};
    double down = c->narrow ? 20 : 0;
    char *name = fl_group_name(t->spec.game, t->spec.condition),
         *title = fl_format("%s · %s", t->spec.id, name);
    fl_draw_text(c, 10, TITLE, FL_LEFT, FL_BOLD, FL_INK, c->width - 20, title);
    draw_legend(c, &l, LEGEND);
    draw_strip(c, &l, &t->states, STRIP + down);
    draw_rate(c, &l, t, RATE + down);
    draw_speed(c, &l, t, SPEED + down);
    fl_draw_x_axis(c, &l.time, BOTTOM + down, BOTTOM + down, c->narrow ? 5 : 10);
    fl_draw_text(c, (l.left + l.right) / 2, BOTTOM + down + 33, FL_CENTRE, FL_SMALL, FL_MUTED, 0,
                 "footage time, s");
    free(title);
    free(name);
}

struct fl_drawing fl_timeline_still(const struct fl_take *t)
{
    struct fl_drawing d = {.height = height, .draw = draw, .data = t};
    char off[FL_FIGURE_SIZE], unseen[FL_FIGURE_SIZE];
    d.title = fl_format("Timeline of take %s", t->spec.id);
    d.desc =
        fl_format("State, unique rate and speed over %.1f s: %zu lapses, off for %s s, not visible "
                  "for %s s.",
                  t->duration_s, t->states.n_lapses, fl_figure(off, t->exposure.off_s),
                  fl_figure(unseen, t->exposure.unseen_s));
    return d;
}
