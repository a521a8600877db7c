/* Drawing primitives: one draw function, rendered to SVG, PDF and PNG alike.
 *
 * Lengths are px at scale 1, y down. Text is set in Inter, else DejaVu Sans. */
#ifndef FL_SHOW_DRAW_SURFACE_H
#define FL_SHOW_DRAW_SURFACE_H

#include <cairo.h>
#include <pango/pangocairo.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/units.h"
#include "show/draw/palette.h"

/* A text, or a paragraph, as it is about to be drawn. */
struct fl_placed_text {
    double x, y, w, h; /* of its ink, px of the surface */
    double px;         /* height of the text */
    enum fl_colour colour;
    bool cut; /* it ends in an ellipsis */
    const char *text;
};

struct fl_surface {
    cairo_t *cr;
    double width, height;
    bool narrow; /* phone: under 560 px */
    enum fl_theme theme;
    double columns; /* finest width that matters, as columns a px; 0: two */
    /* Told of every text; false leaves it out. NULL: all are drawn. */
    bool (*on_text)(void *to, const struct fl_placed_text *text);
    void *to;
};
#define FL_SURFACE_NARROW 560
#define FL_PAGE_WIDE 880 /* on the page */
#define FL_PAGE_PHONE 350

/* A picture to be drawn. title and desc are plain text. */
struct fl_drawing {
    const char *title, *desc;
    double (*height)(const void *data, double width);
    void (*draw)(struct fl_surface *c, const void *data);
    const void *data;
};

/* SVG text, malloc'ed. prefix NULL: a file of its own, fixed colours. Else for inlining: every id
 * starts with prefix, colours are the page's custom properties. */
char *fl_drawing_svg(const struct fl_drawing *d, double width, const char *prefix);

/* An empty layout in the fonts of every picture, figures of equal width, the same metrics on every
 * surface; px: height of the text. */
PangoLayout *fl_text_layout(cairo_t *cr, double px, bool bold);

/* Value ↔ position. */
struct fl_axis {
    double v0, v1, p0, p1;
    bool log;
};
double fl_axis_at(const struct fl_axis *a, double v); /* unclamped */
/* Round values (1, 2, 5 × 10ⁿ steps; on a log axis of more than a factor of three such values
 * themselves) inside the axis, about
 * `wanted` of them, at most FL_TICKS. Returns how many. */
enum { FL_TICKS = 24 };
int fl_axis_ticks(const struct fl_axis *a, int wanted, double tick[FL_TICKS]);
/* Short text for a tick: no more decimals than needed, digits grouped as in grouped_number.h. */
void fl_tick_text(char buf[32], double v);

enum fl_anchor { FL_LEFT, FL_CENTRE, FL_RIGHT };
/* 12.5 px, 14 px semibold, 11 px, 11 px semibold, 21 px semibold */
enum fl_face { FL_PLAIN, FL_BOLD, FL_SMALL, FL_SMALL_BOLD, FL_TITLE };
#define FL_PLAIN_PX 12.5
/* y: base line. Text longer than limit (0: none) ends in an ellipsis. Characters that no font here
 * has become one U+FFFD a run. Text runs from the left whatever script it begins with. */
void fl_draw_text(struct fl_surface *c, double x, double y, enum fl_anchor anchor,
                  enum fl_face face, enum fl_colour colour, double limit, const char *text);
double fl_text_width(struct fl_surface *c, enum fl_face face, const char *text);
/* Text in lines of at most width, at most `lines` of them, the last one ending in an ellipsis where
 * more would follow; top: upper edge. Returns the height, also when c draws nothing (dry). */
double fl_draw_paragraph(struct fl_surface *c, double x, double top, double width, int lines,
                         enum fl_face face, enum fl_colour colour, bool dry, const char *text);

void fl_set_colour(struct fl_surface *c, enum fl_colour colour);
void fl_draw_box(struct fl_surface *c, double x, double y, double w, double h,
                 enum fl_colour colour);
void fl_draw_hatch(struct fl_surface *c, double x, double y, double w, double h,
                   enum fl_colour colour);
/* dash: pattern number, 0 solid. */
enum { FL_DASHES = 4 };
void fl_set_dash(struct fl_surface *c, int dash);
/* Strokes the current path. In the clear theme text, lines and marks wear a rim of FL_PAPER, FL_RIM
 * wide in all; grid lines and tints do not. */
#define FL_RIM 2.6
void fl_stroke(struct fl_surface *c, double width, enum fl_colour colour, int dash);
void fl_draw_line(struct fl_surface *c, double x0, double y0, double x1, double y1, double width,
                  enum fl_colour colour, int dash);
/* Marks about 7 px across; shape is cyclic: circle, square, diamond, triangle up. */
enum { FL_SHAPES = 4 };
void fl_draw_mark(struct fl_surface *c, double x, double y, int shape, double size,
                  enum fl_colour colour, bool filled);
/* An arrow head at x, y pointing left or right. */
void fl_draw_arrow(struct fl_surface *c, double x, double y, bool right, enum fl_colour colour);
/* Value axis with grid lines from x0 to x1 and numbers to the left; time or value axis along the
 * bottom at y, with numbers below and grid lines up to top. Numbers that would touch are left out,
 * round ones last. */
void fl_draw_y_axis(struct fl_surface *c, const struct fl_axis *a, double x0, double x1,
                    int wanted);
void fl_draw_x_axis(struct fl_surface *c, const struct fl_axis *a, double y, double top,
                    int wanted);

/* Strokes a series, gaps where y is NaN, after reducing it to the least and the greatest value of
 * each column (half a pixel, or c->columns): millions of points cost no more than the width of the
 * picture. */
void fl_draw_series(struct fl_surface *c, const struct fl_axis *ax, const struct fl_axis *ay,
                    const double *x, const float *y, size_t n, double width, enum fl_colour colour);
/* The same, but each value holds until the next: what changes from one instant to another, as a
 * rate does where the state does, is not drawn as if it had slid there. */
void fl_draw_steps(struct fl_surface *c, const struct fl_axis *ax, const struct fl_axis *ay,
                   const double *x, const float *y, size_t n, double width, enum fl_colour colour);

#endif
