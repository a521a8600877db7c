/* Lines, boxes, marks and text over cairo and pango; everything that is drawn goes through here. */
#include "show/draw/surface.h"

#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "show/text/escape.h"

/* What Pango and Fontconfig take for fonts and for the threads that look for them. */
enum { ROOM_FOR_FONTS = 128 << 20 };

/* Where they find no memory they end the process with lines of their own or crash (GLib reference,
 * "Memory allocation"), so flinch asks beforehand. Nothing of the room is touched: it costs no more
 * than the two calls. */
static void ask_for_room(void)
{
    void *room =
        mmap(NULL, ROOM_FOR_FONTS, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (room == MAP_FAILED)
        fl_out_of_memory();
    munmap(room, ROOM_FOR_FONTS);
}

PangoLayout *fl_text_layout(cairo_t *cr, double px, bool bold)
{
    ask_for_room();
    PangoLayout *layout = pango_cairo_create_layout(cr);
    /* Same metrics in every output: no hinting. */
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
    pango_cairo_context_set_resolution(pango_layout_get_context(layout), 72);
    cairo_font_options_destroy(options);
    PangoFontDescription *font =
        pango_font_description_from_string("Inter, DejaVu Sans, sans-serif");
    pango_font_description_set_absolute_size(font, px * PANGO_SCALE);
    pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    PangoAttrList *attributes = pango_attr_list_new();
    pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum=1"));
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
    return layout;
}

static PangoLayout *new_layout(struct fl_surface *c, enum fl_face face)
{
    static const double px[] = {[FL_PLAIN] = FL_PLAIN_PX,
                                [FL_BOLD] = 14,
                                [FL_SMALL] = 11,
                                [FL_SMALL_BOLD] = 11,
                                [FL_TITLE] = 21};
    bool bold = face == FL_BOLD || face == FL_TITLE || face == FL_SMALL_BOLD;
    PangoLayout *layout = fl_text_layout(c->cr, px[face], bold);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    pango_layout_set_auto_dir(layout, FALSE);
    return layout;
}

/* Marks the bytes at which a character without a glyph begins. */
static void find_unknown(PangoLayout *layout, bool *unknown)
{
    PangoLayoutIter *at = pango_layout_get_iter(layout);
    do {
        const PangoLayoutRun *run = pango_layout_iter_get_run_readonly(at);
        for (int i = 0; run && i < run->glyphs->num_glyphs; i++)
            if (run->glyphs->glyphs[i].glyph & PANGO_GLYPH_UNKNOWN_FLAG)
                unknown[run->item->offset + run->glyphs->log_clusters[i]] = true;
    } while (pango_layout_iter_next_run(at));
    pango_layout_iter_free(at);
}

/* A run of characters that no font has becomes one sign for them: boxes with their numbers say
 * nothing to a viewer and take room. */
static void set_text(PangoLayout *layout, const char *text)
{
    char *clean = fl_clean_text(text);
    pango_layout_set_text(layout, clean, -1);
    if (pango_layout_get_unknown_glyphs_count(layout)) {
        bool *unknown = FL_NEW(bool, strlen(clean) + 1), last = false;
        struct fl_text_stream stream;
        FILE *out = fl_text_begin(&stream);
        find_unknown(layout, unknown);
        for (char *p = clean, *next; *p; p = next) {
            next = g_utf8_next_char(p);
            if (!unknown[p - clean])
                fwrite(p, 1, (size_t)(next - p), out);
            else if (!last)
                fputs("\xef\xbf\xbd", out);
            last = unknown[p - clean];
        }
        char *shown = fl_text_end(&stream);
        pango_layout_set_text(layout, shown, -1);
        free(shown);
        free(unknown);
    }
    free(clean);
}

static PangoLayout *lay_out(struct fl_surface *c, enum fl_face face, double limit, const char *text)
{
    PangoLayout *layout = new_layout(c, face);
    set_text(layout, text);
    if (limit > 0) {
        pango_layout_set_width(layout, (int)(limit * PANGO_SCALE));
        pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    }
    return layout;
}

static double layout_width(PangoLayout *layout)
{
    PangoRectangle box;
    pango_layout_get_extents(layout, NULL, &box);
    return (double)box.width / PANGO_SCALE;
}

/* The dark rim about the current path, which stays. */
static void put_rim(struct fl_surface *c, cairo_line_join_t join)
{
    fl_set_colour(c, FL_PAPER);
    fl_set_dash(c, 0);
    cairo_set_line_width(c->cr, FL_RIM);
    cairo_set_line_join(c->cr, join);
    cairo_stroke_preserve(c->cr);
}

static bool wanted(struct fl_surface *c, PangoLayout *layout, double x, double y,
                   enum fl_colour colour)
{
    PangoRectangle ink;
    if (!c->on_text)
        return true;
    pango_layout_get_extents(layout, &ink, NULL);
    const PangoFontDescription *font = pango_layout_get_font_description(layout);
    const struct fl_placed_text text = {x + (double)ink.x / PANGO_SCALE,
                                        y + (double)ink.y / PANGO_SCALE,
                                        (double)ink.width / PANGO_SCALE,
                                        (double)ink.height / PANGO_SCALE,
                                        (double)pango_font_description_get_size(font) / PANGO_SCALE,
                                        colour,
                                        pango_layout_is_ellipsized(layout),
                                        pango_layout_get_text(layout)};
    return c->on_text(c->to, &text);
}

/* With its upper left corner at x, y. */
static void put_layout(struct fl_surface *c, PangoLayout *layout, double x, double y,
                       enum fl_colour colour)
{
    if (!wanted(c, layout, x, y, colour))
        return;
    if (c->theme == FL_THEME_CLEAR) {
        cairo_move_to(c->cr, x, y);
        pango_cairo_layout_path(c->cr, layout);
        put_rim(c, CAIRO_LINE_JOIN_ROUND);
        cairo_new_path(c->cr);
    }
    fl_set_colour(c, colour);
    cairo_move_to(c->cr, x, y);
    pango_cairo_show_layout(c->cr, layout);
}

void fl_draw_text(struct fl_surface *c, double x, double y, enum fl_anchor anchor,
                  enum fl_face face, enum fl_colour colour, double limit, const char *text)
{
    PangoLayout *layout = lay_out(c, face, limit, text);
    double w = layout_width(layout);
    put_layout(c, layout,
               anchor == FL_LEFT     ? x
               : anchor == FL_CENTRE ? x - w / 2
                                     : x - w,
               y - (double)pango_layout_get_baseline(layout) / PANGO_SCALE, colour);
    g_object_unref(layout);
}

double fl_draw_paragraph(struct fl_surface *c, double x, double top, double width, int lines,
                         enum fl_face face, enum fl_colour colour, bool dry, const char *text)
{
    PangoLayout *layout = lay_out(c, face, width, text);
    PangoRectangle box;
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_height(layout, -lines);
    pango_layout_get_extents(layout, NULL, &box);
    if (!dry)
        put_layout(c, layout, x, top, colour);
    g_object_unref(layout);
    return *text ? (double)box.height / PANGO_SCALE : 0;
}

double fl_text_width(struct fl_surface *c, enum fl_face face, const char *text)
{
    PangoLayout *layout = lay_out(c, face, 0, text);
    double w = layout_width(layout);
    g_object_unref(layout);
    return w;
}

void fl_set_colour(struct fl_surface *c, enum fl_colour colour)
{
    unsigned rgb = fl_theme_rgb(c->theme, colour);
    double r = (rgb >> 16) / 255.0, g = (rgb >> 8 & 255) / 255.0, b = (rgb & 255) / 255.0;
    if (c->theme == FL_THEME_CLEAR && colour == FL_OFF_SOFT)
        cairo_set_source_rgba(c->cr, r, g, b, 0.6); /* footage shows through a tint */
    else
        cairo_set_source_rgb(c->cr, r, g, b);
}

static bool wears_rim(const struct fl_surface *c, enum fl_colour colour)
{
    return c->theme == FL_THEME_CLEAR && colour != FL_PAPER && colour != FL_RULE &&
           colour != FL_OFF_SOFT;
}

void fl_draw_box(struct fl_surface *c, double x, double y, double w, double h,
                 enum fl_colour colour)
{
    cairo_rectangle(c->cr, x, y, w, h);
    if (wears_rim(c, colour)) {
        put_rim(c, CAIRO_LINE_JOIN_MITER);
    }
    fl_set_colour(c, colour);
    cairo_fill(c->cr);
}

void fl_draw_hatch(struct fl_surface *c, double x, double y, double w, double h,
                   enum fl_colour colour)
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

void fl_set_dash(struct fl_surface *c, int dash)
{
    static const double pattern[FL_DASHES][4] = {{0}, {7, 4, 7, 4}, {2, 3, 2, 3}, {9, 3, 2, 3}};
    cairo_set_dash(c->cr, pattern[dash % FL_DASHES], dash % FL_DASHES ? 4 : 0, 0);
}

void fl_stroke(struct fl_surface *c, double width, enum fl_colour colour, int dash)
{
    if (wears_rim(c, colour)) {
        fl_set_colour(c, FL_PAPER);
        fl_set_dash(c, 0);
        cairo_set_line_width(c->cr, width + FL_RIM);
        cairo_stroke_preserve(c->cr);
    }
    fl_set_colour(c, colour);
    fl_set_dash(c, dash);
    cairo_set_line_width(c->cr, width);
    cairo_stroke(c->cr);
    fl_set_dash(c, 0);
}

void fl_draw_line(struct fl_surface *c, double x0, double y0, double x1, double y1, double width,
                  enum fl_colour colour, int dash)
{
    cairo_move_to(c->cr, x0, y0);
    cairo_line_to(c->cr, x1, y1);
    fl_stroke(c, width, colour, dash);
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

void fl_draw_mark(struct fl_surface *c, double x, double y, int shape, double size,
                  enum fl_colour colour, bool filled)
{
    mark_path(c->cr, x, y, shape, size / 2);
    fl_set_colour(c, filled ? colour : FL_PAPER);
    cairo_fill_preserve(c->cr);
    fl_set_colour(c, filled ? FL_PAPER : colour); /* a rim keeps crowded marks apart */
    cairo_set_line_width(c->cr, filled ? (c->theme == FL_THEME_CLEAR ? FL_RIM / 2 : 0.7) : 1.3);
    cairo_stroke(c->cr);
}

void fl_draw_arrow(struct fl_surface *c, double x, double y, bool right, enum fl_colour colour)
{
    double back = right ? -8 : 8;
    fl_set_colour(c, colour);
    cairo_move_to(c->cr, x, y);
    cairo_line_to(c->cr, x + back, y - 4.5);
    cairo_line_to(c->cr, x + back, y + 4.5);
    cairo_close_path(c->cr);
    if (wears_rim(c, colour)) {
        fl_set_colour(c, FL_PAPER);
        cairo_set_line_width(c->cr, FL_RIM);
        cairo_stroke_preserve(c->cr);
        fl_set_colour(c, colour);
    }
    cairo_fill(c->cr);
}
