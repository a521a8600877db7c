/* A long series as a line: no more points than the picture has columns. */
#include <math.h>

#include "show/draw/surface.h"

/* The points of one pixel column, reduced. */
struct column {
    long at;
    int n;
    double least, greatest, last;
    bool least_first;
};

struct pen {
    double columns; /* a px */
    bool steps;     /* a value holds until the next one */
    bool down;
    double y; /* of the value before */
};

static void emit(struct fl_surface *c, const struct column *k, struct pen *pen)
{
    double x = (double)k->at / pen->columns, first = k->least_first ? k->least : k->greatest;
    double second = k->least_first ? k->greatest : k->least;
    if (pen->down && pen->steps)
        cairo_line_to(c->cr, x, pen->y);
    if (pen->down)
        cairo_line_to(c->cr, x, first);
    else
        cairo_move_to(c->cr, x, first);
    if (second != first || !pen->down)
        cairo_line_to(c->cr, x,
                      second); /* a lone point gets a line of no length: with round caps a dot */
    if (pen->steps && k->last != second)
        cairo_line_to(c->cr, x, k->last);
    pen->y = k->last;
    pen->down = true;
}

static void take_in(struct column *k, long at, double y)
{
    if (k->n == 0)
        *k = (struct column){.at = at, .least = y, .greatest = y};
    if (y < k->least) {
        k->least = y;
        k->least_first = false;
    }
    if (y > k->greatest) {
        k->greatest = y;
        k->least_first = true;
    }
    k->last = y;
    k->n++;
}

/* The path of what is known, in the order of columns. */
static void trace(struct fl_surface *c, const struct fl_axis *ax, const struct fl_axis *ay,
                  const double *x, const float *y, size_t n, struct pen pen)
{
    struct column k = {.n = 0};
    cairo_new_path(c->cr);
    for (size_t i = 0; i <= n; i++) {
        bool gap = i == n || !isfinite(y[i]) || !isfinite(x[i]);
        long at = gap ? 0 : lround(pen.columns * fl_axis_at(ax, x[i]));
        if (k.n && (gap || at != k.at)) {
            emit(c, &k, &pen);
            k.n = 0;
        }
        if (gap)
            pen.down = false;
        else
            take_in(&k, at, fl_axis_at(ay, y[i]));
    }
}

static void draw(struct fl_surface *c, double width, enum fl_colour colour)
{
    fl_set_dash(c, 0);
    cairo_set_line_join(c->cr, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_ROUND); /* a lone point still shows */
    if (c->theme == FL_THEME_CLEAR) {
        fl_set_colour(c, FL_PAPER);
        cairo_set_line_width(c->cr, width + FL_RIM);
        cairo_stroke_preserve(c->cr);
    }
    fl_set_colour(c, colour);
    cairo_set_line_width(c->cr, width);
    cairo_stroke(c->cr);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_BUTT);
}

/* Two columns a px: PNGs at twice the size lose nothing. */
static struct pen pen_of(const struct fl_surface *c, bool steps)
{
    return (struct pen){.columns = c->columns > 0 ? c->columns : 2, .steps = steps};
}

void fl_draw_series(struct fl_surface *c, const struct fl_axis *ax, const struct fl_axis *ay,
                    const double *x, const float *y, size_t n, double width, enum fl_colour colour)
{
    trace(c, ax, ay, x, y, n, pen_of(c, false));
    draw(c, width, colour);
}

void fl_draw_steps(struct fl_surface *c, const struct fl_axis *ax, const struct fl_axis *ay,
                   const double *x, const float *y, size_t n, double width, enum fl_colour colour)
{
    trace(c, ax, ay, x, y, n, pen_of(c, true));
    draw(c, width, colour);
}
