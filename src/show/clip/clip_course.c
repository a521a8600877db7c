/* The still part of a clip, drawn once: what moves lies over it. */
#include "show/clip/clip_course.h"

#include <math.h>
#include <stdio.h>

#include "show/clip/clip_text.h"
#include "show/draw/surface.h"

/* Heights in units. */
#define SMALL FL_CLIP_SMALL
#define TRACK 34
#define AXIS FL_CLIP_AXIS
#define LEAST_GRAPH 40 /* there is none in less room */

unsigned fl_clip_dark(enum fl_colour c)
{
    return fl_palette[c].dark;
}

void fl_clip_box(cairo_t *cr, double x, double y, double w, double h, unsigned rgb)
{
    fl_clip_colour(cr, rgb, 1);
    cairo_rectangle(cr, x, y, w, h);
    cairo_fill(cr);
}

static void hatch(cairo_t *cr, double x, double y, double w, double h, double step, unsigned rgb)
{
    cairo_save(cr);
    cairo_rectangle(cr, x, y, w, h);
    cairo_clip(cr);
    fl_clip_colour(cr, rgb, 1);
    cairo_set_line_width(cr, step / 4);
    for (double k = floor((x - h) / step) * step; k < x + w; k += step) {
        cairo_move_to(cr, k, y + h);
        cairo_line_to(cr, k + h, y);
    }
    cairo_stroke(cr);
    cairo_restore(cr);
}

void fl_clip_band(cairo_t *cr, double x, double y, double w, double h, double unit,
                  enum fl_state state)
{
    if (state == FL_STATE_ON)
        fl_clip_box(cr, x, y, w, 0.5 * h, fl_palette[FL_ON].light);
    else if (state == FL_STATE_OFF)
        fl_clip_box(cr, x, y + 0.5 * h, w, 0.5 * h, fl_clip_dark(FL_OFF));
    else
        hatch(cr, x, y + 0.3 * h, w, 0.4 * h, 10 * unit, fl_clip_dark(FL_UNSEEN));
}

struct course {
    cairo_t *cr;
    const struct fl_take *t;
    struct fl_span span;
    struct fl_axis time, rate;
    double top, bottom, track, unit; /* of the graph; of the states */
};

static double greatest(const struct course *c)
{
    const struct fl_states *s = &c->t->states;
    double most = fmax(fmax(fl_states_on_output_hz(s), s->base_rate_off_hz), 10);
    for (size_t i = 0; i < s->n_frames && i < (size_t)c->t->frames; i++)
        if (c->t->time_s[i] >= c->span.start_s && c->t->time_s[i] < c->span.end_s &&
            isfinite(s->unique_rate_hz[i]))
            most = fmax(most, s->unique_rate_hz[i]);
    return most;
}

static bool fits(const struct course *c, const char *text, double room)
{
    return fl_clip_text_width(c->cr, SMALL * c->unit, false, text) < room - 8 * c->unit;
}

static void mark_lapses(const struct course *c)
{
    const struct fl_states *s = &c->t->states;
    for (size_t i = 0; i < s->n_lapses; i++) {
        const double a = fmax(fl_axis_at(&c->time, s->lapse[i].start_s), c->time.p0);
        const double b = fmin(fl_axis_at(&c->time, s->lapse[i].end_s), c->time.p1);
        char text[40];
        if (b <= a)
            continue;
        fl_clip_box(c->cr, a, c->top, b - a, c->bottom - c->top, fl_clip_dark(FL_OFF_SOFT));
        snprintf(text, sizeof text, "lapse %zu", i + 1);
        if (!fits(c, text, b - a)) /* the number alone */
            snprintf(text, sizeof text, "%zu", i + 1);
        if (fits(c, text, b - a))
            fl_clip_text(c->cr, (a + b) / 2, c->bottom - 9 * c->unit, FL_CENTRE, SMALL * c->unit,
                         false, fl_clip_dark(FL_OFF), 0, text);
    }
}

/* Names of lines that lie close together are kept apart: the next one at or below *free_from. */
static void reference(const struct course *c, double hz, const char *name, double *free_from)
{
    char text[40];
    if (!fl_known(hz) || hz <= 0 || hz > c->rate.v1)
        return;
    const double y = floor(fl_axis_at(&c->rate, hz)) + 0.5;
    const double dash[] = {6 * c->unit, 6 * c->unit};
    fl_clip_colour(c->cr, fl_clip_dark(FL_MUTED), 0.8);
    cairo_set_line_width(c->cr, fmax(1, 1.5 * c->unit));
    cairo_set_dash(c->cr, dash, 2, 0);
    cairo_move_to(c->cr, c->time.p0, y);
    cairo_line_to(c->cr, c->time.p1, y);
    cairo_stroke(c->cr);
    cairo_set_dash(c->cr, NULL, 0, 0);
    const double base = fmax(y + 9 * c->unit, *free_from);
    *free_from = base + SMALL * c->unit;
    snprintf(text, sizeof text, "%s %.0f", name, hz);
    fl_clip_text(c->cr, c->time.p1 + 12 * c->unit, base, FL_LEFT, SMALL * c->unit, false,
                 fl_clip_dark(FL_MUTED), 0, text);
}

/* A point a half pixel, so that long spans stay cheap; each holds until the next: a rate does not
 * slide from one state's to the other's. */
static void draw_rate(const struct course *c)
{
    const struct fl_take *t = c->t;
    const struct fl_states *s = &t->states;
    bool pen = false;
    long column = -1;
    double before = 0;
    for (size_t i = 0; i < s->n_frames && i < (size_t)t->frames; i++) {
        const double time = t->time_s[i], v = s->unique_rate_hz[i];
        if (time < c->span.start_s || time >= c->span.end_s || !isfinite(v)) {
            pen = false;
            continue;
        }
        const double x = fl_axis_at(&c->time, time), y = fl_axis_at(&c->rate, fmin(v, c->rate.v1));
        if (pen && lrint(2 * x) == column)
            continue;
        column = lrint(2 * x);
        if (pen)
            cairo_line_to(c->cr, x, before);
        before = y;
        (pen ? cairo_line_to : cairo_move_to)(c->cr, x, y);
        if (!pen)
            cairo_line_to(c->cr, x, y);
        pen = true;
    }
    fl_clip_colour(c->cr, fl_clip_dark(FL_INK), 1);
    cairo_set_line_width(c->cr, 3.5 * c->unit);
    cairo_set_line_join(c->cr, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_ROUND);
    cairo_stroke(c->cr);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_BUTT);
}

static void draw_track(const struct course *c)
{
    const struct fl_states *s = &c->t->states;
    const double h = TRACK * c->unit;
    fl_clip_box(c->cr, c->time.p0, c->track, c->time.p1 - c->time.p0, h, fl_clip_dark(FL_RULE));
    for (size_t i = 0; i < s->n_spans; i++) {
        const double a = fmax(fl_axis_at(&c->time, s->span[i].start_s), c->time.p0);
        const double b = fmin(fl_axis_at(&c->time, s->span[i].end_s), c->time.p1);
        if (b > a)
            fl_clip_band(c->cr, a, c->track, b - a, h, c->unit, s->span[i].state);
    }
}

static void draw_times(const struct course *c)
{
    double tick[FL_TICKS];
    const int n = fl_axis_ticks(&c->time, c->time.p1 - c->time.p0 > 1200 * c->unit ? 10 : 5, tick);
    const double y = c->track + TRACK * c->unit, base = y + AXIS * c->unit - 6 * c->unit;
    for (int i = 0; i < n; i++) {
        char text[40];
        const double x = fl_axis_at(&c->time, tick[i]);
        snprintf(text, sizeof text, "%.6g s", tick[i]);
        fl_clip_box(c->cr, floor(x), y, fmax(1, floor(2 * c->unit)), 6 * c->unit,
                    fl_clip_dark(FL_MUTED));
        const double half = fl_clip_text_width(c->cr, SMALL * c->unit, false, text) / 2;
        fl_clip_text(c->cr, fl_clamp(x, c->time.p0 + half, c->time.p1 - half + 60 * c->unit), base,
                     FL_CENTRE, SMALL * c->unit, false, fl_clip_dark(FL_MUTED), 0, text);
    }
}

/* Room to the right of the plot, for the names of the reference lines. */
#define NAMES 104

static struct fl_axis time_axis(const struct fl_clip_layout *l, struct fl_span span)
{
    const struct fl_clip_box *b = &l->course;
    return (struct fl_axis){span.start_s, span.end_s, b->x, b->x + b->w - NAMES * l->unit, false};
}

int fl_clip_mark_column(const struct fl_clip_layout *l, struct fl_span span, double time_s)
{
    const struct fl_axis a = time_axis(l, span);
    return (int)lrint(fl_axis_at(&a, time_s));
}

static void draw_graph(const struct course *c)
{
    const double u = c->unit, on = fl_states_on_output_hz(&c->t->states),
                 off = c->t->states.base_rate_off_hz;
    double free_from = 0;
    mark_lapses(c);
    reference(c, fmax(on, off) == on ? on : off, fmax(on, off) == on ? "on" : "off", &free_from);
    reference(c, fmax(on, off) == on ? off : on, fmax(on, off) == on ? "off" : "on", &free_from);
    fl_clip_box(c->cr, c->time.p0, c->bottom, c->time.p1 - c->time.p0, fmax(1, 2 * u),
                fl_clip_dark(FL_RULE));
    draw_rate(c);
    fl_clip_text(c->cr, c->time.p0, c->top - 7 * u, FL_LEFT, 0.9 * SMALL * u, false,
                 fl_clip_dark(FL_MUTED), 0, "unique rate, pictures a second");
}

void fl_clip_course(cairo_t *cr, const struct fl_take *t, const struct fl_clip_layout *l,
                    struct fl_span span)
{
    const struct fl_clip_box *b = &l->course;
    const double u = l->unit;
    struct course c = {.cr = cr, .t = t, .span = span, .time = time_axis(l, span), .unit = u};
    c.track = b->y + b->h - (TRACK + AXIS) * u;
    c.top =
        b->y + (22 + 0.9 * SMALL) * u; /* below the head of the mark and the name of the graph */
    c.bottom = c.track - 8 * u;
    c.rate = (struct fl_axis){0, 1.12 * greatest(&c), c.bottom, c.top, false};
    if (c.bottom - c.top >= LEAST_GRAPH * u)
        draw_graph(&c);
    draw_track(&c);
    draw_times(&c);
}
