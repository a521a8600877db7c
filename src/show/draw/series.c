/* A long series as a line: no more points than the picture has columns. */
#include <math.h>

#include "show/draw/surface.h"

/* The points of one pixel column, reduced. */
struct column {
    long at;
    int n;
    double least, greatest;
    bool least_first;
};

static void emit(struct fl_surface *c, const struct column *k, double columns, bool *pen)
{
    double x = (double)k->at / columns, first = k->least_first ? k->least : k->greatest;
    double second = k->least_first ? k->greatest : k->least;
    if (*pen)
        cairo_line_to(c->cr, x, first);
    else
        cairo_move_to(c->cr, x, first);
    if (second != first || !*pen)
        cairo_line_to(c->cr, x,
                      second); /* a lone point gets a line of no length: with round caps a dot */
    *pen = true;
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
    k->n++;
}

void fl_draw_series(struct fl_surface *c, const struct fl_axis *ax, const struct fl_axis *ay,
                    const double *x, const float *y, size_t n, double width, enum fl_colour colour)
{
    const double columns =
        c->columns > 0 ? c->columns : 2; /* two: PNGs at twice the size lose nothing */
    struct column k = {.n = 0};
    bool pen = false;
    cairo_new_path(c->cr);
    for (size_t i = 0; i <= n; i++) {
        bool gap = i == n || !isfinite(y[i]) || !isfinite(x[i]);
        long at = gap ? 0 : lround(columns * fl_axis_at(ax, x[i]));
        if (k.n && (gap || at != k.at)) {
            emit(c, &k, columns, &pen);
            k.n = 0;
        }
        if (gap)
            pen = false;
        else
            take_in(&k, at, fl_axis_at(ay, y[i]));
    }
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
