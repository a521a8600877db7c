#include "show/chart.h"

#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

#include "show/escape.h"

double fl_axis_at(const struct fl_axis *a, double v)
{
    double share = a->log ? log(v / a->v0) / log(a->v1 / a->v0) : (v - a->v0) / (a->v1 - a->v0);
    return a->p0 + share * (a->p1 - a->p0);
}

static int log_ticks(const struct fl_axis *a, int wanted, double tick[FL_TICKS])
{
    static const double mantissa[] = {1, 2, 5, 1.5, 3, 7};
    double decades = log10(a->v1 / a->v0);
    int use = decades * 3 >= wanted * 0.6 ? 3 : 6; /* a short axis needs the values between */
    int n = 0;
    for (int e = (int)floor(log10(a->v0)); e <= (int)ceil(log10(a->v1)); e++)
        for (int m = 0; m < (decades > 3 ? 1 : use); m++) {
            double v = mantissa[m] * pow(10, e);
            if (v >= a->v0 * (1 - 1e-9) && v <= a->v1 * (1 + 1e-9) && n < FL_TICKS)
                tick[n++] = v;
        }
    return n;
}

int fl_axis_ticks(const struct fl_axis *a, int wanted, double tick[FL_TICKS])
{
    if (!(a->v1 > a->v0) || !isfinite(a->v1 - a->v0))
        return 0;
    if (a->log)
        return log_ticks(a, wanted, tick);
    double raw = (a->v1 - a->v0) / wanted, power = pow(10, floor(log10(raw)));
    double step = raw / power > 5 ? 10 : raw / power > 2 ? 5 : raw / power > 1 ? 2 : 1;
    int n = 0;
    for (double k = ceil(a->v0 / (step * power) - 1e-9); n < FL_TICKS; k++) {
        double v = k * step * power;
        if (v > a->v1 + 1e-9 * (a->v1 - a->v0))
            break;
        tick[n++] = fabs(v) < step * power * 1e-9 ? 0 : v;
    }
    return n;
}

void fl_tick_text(char buf[32], double v)
{
    snprintf(buf, 32, "%.6g", v);
}

static PangoLayout *lay_out(struct fl_chart *c, enum fl_face face, double limit, const char *text)
{
    static const double px[] = {[FL_PLAIN] = 12.5, [FL_BOLD] = 14, [FL_SMALL] = 11};
    PangoLayout *layout = pango_cairo_create_layout(c->cr);
    /* Same metrics in every output: no hinting. */
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
    pango_cairo_context_set_resolution(pango_layout_get_context(layout), 72);
    cairo_font_options_destroy(options);
    PangoFontDescription *font = pango_font_description_from_string("Inter, DejaVu Sans, sans-serif");
    pango_font_description_set_absolute_size(font, px[face] * PANGO_SCALE);
    pango_font_description_set_weight(font, face == FL_BOLD ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    PangoAttrList *attributes = pango_attr_list_new();
    pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum=1"));
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    if (limit > 0) {
        pango_layout_set_width(layout, (int)(limit * PANGO_SCALE));
        pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    }
    char *clean = fl_clean_text(text);
    pango_layout_set_text(layout, clean, -1);
    free(clean);
    return layout;
}

static double layout_width(PangoLayout *layout)
{
    PangoRectangle box;
    pango_layout_get_extents(layout, NULL, &box);
    return (double)box.width / PANGO_SCALE;
}

void fl_draw_text(struct fl_chart *c, double x, double y, enum fl_anchor anchor, enum fl_face face,
                  enum fl_colour colour, double limit, const char *text)
{
    PangoLayout *layout = lay_out(c, face, limit, text);
    double w = layout_width(layout);
    fl_set_colour(c, colour);
    cairo_move_to(c->cr, anchor == FL_LEFT ? x : anchor == FL_CENTRE ? x - w / 2 : x - w,
                  y - (double)pango_layout_get_baseline(layout) / PANGO_SCALE);
    pango_cairo_show_layout(c->cr, layout);
    g_object_unref(layout);
}

double fl_text_width(struct fl_chart *c, enum fl_face face, const char *text)
{
    PangoLayout *layout = lay_out(c, face, 0, text);
    double w = layout_width(layout);
    g_object_unref(layout);
    return w;
}

void fl_set_colour(struct fl_chart *c, enum fl_colour colour)
{
    unsigned rgb = fl_palette[colour].light;
    cairo_set_source_rgb(c->cr, (rgb >> 16) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0);
}

void fl_draw_box(struct fl_chart *c, double x, double y, double w, double h, enum fl_colour colour)
{
    fl_set_colour(c, colour);
    cairo_rectangle(c->cr, x, y, w, h);
    cairo_fill(c->cr);
}

void fl_draw_hatch(struct fl_chart *c, double x, double y, double w, double h, enum fl_colour colour)
{
    const double step = 5;
    fl_set_colour(c, colour);
    cairo_set_line_width(c->cr, 1);
    fl_set_dash(c, 0);
    cairo_save(c->cr);
    cairo_rectangle(c->cr, x, y, w, h);
    cairo_clip(c->cr);
    /* Lines lie on one grid for the whole picture, so neighbouring stretches join. */
    for (double k = floor((x - h) / step) * step; k < x + w; k += step) {
        cairo_move_to(c->cr, k, y + h);
        cairo_line_to(c->cr, k + h, y);
    }
    cairo_stroke(c->cr);
    cairo_restore(c->cr);
}

void fl_set_dash(struct fl_chart *c, int dash)
{
    static const double pattern[FL_DASHES][4] = {{0}, {7, 4, 7, 4}, {2, 3, 2, 3}, {9, 3, 2, 3}};
    cairo_set_dash(c->cr, pattern[dash % FL_DASHES], dash % FL_DASHES ? 4 : 0, 0);
}

void fl_draw_line(struct fl_chart *c, double x0, double y0, double x1, double y1, double width,
                  enum fl_colour colour, int dash)
{
    fl_set_colour(c, colour);
    fl_set_dash(c, dash);
    cairo_set_line_width(c->cr, width);
    cairo_move_to(c->cr, x0, y0);
    cairo_line_to(c->cr, x1, y1);
    cairo_stroke(c->cr);
    fl_set_dash(c, 0);
}

static void mark_path(cairo_t *cr, double x, double y, int shape, double r)
{
    cairo_new_path(cr);
    switch (shape % FL_SHAPES) {
    case 0: cairo_arc(cr, x, y, r, 0, 2 * FL_PI); break;
    case 1: cairo_rectangle(cr, x - 0.88 * r, y - 0.88 * r, 1.76 * r, 1.76 * r); break;
    case 2:
        cairo_move_to(cr, x, y - 1.3 * r);
        cairo_line_to(cr, x + 1.3 * r, y);
        cairo_line_to(cr, x, y + 1.3 * r);
        cairo_line_to(cr, x - 1.3 * r, y);
        break;
    default:
        cairo_move_to(cr, x, y - 1.2 * r);
        cairo_line_to(cr, x + 1.15 * r, y + 0.9 * r);
        cairo_line_to(cr, x - 1.15 * r, y + 0.9 * r);
    }
    cairo_close_path(cr);
}

void fl_draw_mark(struct fl_chart *c, double x, double y, int shape, double size, enum fl_colour colour,
                  bool filled)
{
    mark_path(c->cr, x, y, shape, size / 2);
    fl_set_colour(c, filled ? colour : FL_PAPER);
    cairo_fill_preserve(c->cr);
    fl_set_colour(c, filled ? FL_PAPER : colour); /* a rim keeps crowded marks apart */
    cairo_set_line_width(c->cr, filled ? 0.7 : 1.3);
    cairo_stroke(c->cr);
}

void fl_draw_arrow(struct fl_chart *c, double x, double y, bool right, enum fl_colour colour)
{
    double back = right ? -8 : 8;
    fl_set_colour(c, colour);
    cairo_move_to(c->cr, x, y);
    cairo_line_to(c->cr, x + back, y - 4.5);
    cairo_line_to(c->cr, x + back, y + 4.5);
    cairo_close_path(c->cr);
    cairo_fill(c->cr);
}

void fl_draw_y_axis(struct fl_chart *c, const struct fl_axis *a, double x0, double x1, int wanted)
{
    double tick[FL_TICKS];
    int n = fl_axis_ticks(a, wanted, tick);
    for (int i = 0; i < n; i++) {
        char text[32];
        double y = fl_axis_at(a, tick[i]);
        fl_tick_text(text, tick[i]);
        fl_draw_line(c, x0, y, x1, y, 0.8, FL_RULE, 0);
        fl_draw_text(c, x0 - 7, y + 4, FL_RIGHT, FL_SMALL, FL_MUTED, 0, text);
    }
}

void fl_draw_x_axis(struct fl_chart *c, const struct fl_axis *a, double y, double top, int wanted)
{
    double tick[FL_TICKS];
    int n = fl_axis_ticks(a, wanted, tick);
    for (int i = 0; i < n; i++) {
        char text[32];
        double x = fl_axis_at(a, tick[i]);
        fl_tick_text(text, tick[i]);
        if (top < y)
            fl_draw_line(c, x, top, x, y, 0.8, FL_RULE, 0);
        fl_draw_line(c, x, y, x, y + 4, 1, FL_MUTED, 0);
        fl_draw_text(c, x, y + 16, FL_CENTRE, FL_SMALL, FL_MUTED, 0, text);
    }
    fl_draw_line(c, a->p0, y, a->p1, y, 1, FL_MUTED, 0);
}

/* The points of one pixel column, reduced. */
struct column {
    long at;
    int n;
    double least, greatest;
    bool least_first;
};

static void emit(struct fl_chart *c, const struct column *k, bool *pen)
{
    double x = (double)k->at / 2, first = k->least_first ? k->least : k->greatest;
    double second = k->least_first ? k->greatest : k->least;
    if (*pen)
        cairo_line_to(c->cr, x, first);
    else
        cairo_move_to(c->cr, x, first);
    if (second != first || !*pen)
        cairo_line_to(c->cr, x, second); /* a lone point gets a line of no length: with round caps a dot */
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

/* Columns are half a pixel wide, so PNGs at twice the size lose nothing. */
void fl_draw_series(struct fl_chart *c, const struct fl_axis *ax, const struct fl_axis *ay, const double *x,
                    const float *y, size_t n, double width, enum fl_colour colour)
{
    struct column k = {.n = 0};
    bool pen = false;
    cairo_new_path(c->cr);
    for (size_t i = 0; i <= n; i++) {
        bool gap = i == n || !isfinite(y[i]) || !isfinite(x[i]);
        long at = gap ? 0 : lround(2 * fl_axis_at(ax, x[i]));
        if (k.n && (gap || at != k.at)) {
            emit(c, &k, &pen);
            k.n = 0;
        }
        if (gap)
            pen = false;
        else
            take_in(&k, at, fl_axis_at(ay, y[i]));
    }
    fl_set_colour(c, colour);
    fl_set_dash(c, 0);
    cairo_set_line_width(c->cr, width);
    cairo_set_line_join(c->cr, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_ROUND); /* a lone point still shows */
    cairo_stroke(c->cr);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_BUTT);
}
