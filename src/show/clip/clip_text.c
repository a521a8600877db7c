/* Text on clips: ink with a dark rim, so that it can be read over any picture. */
#include "show/clip/clip_text.h"

#include <pango/pangocairo.h>
#include <stdlib.h>

#include "show/draw/surface.h"
#include "show/text/escape.h"

void fl_clip_colour(cairo_t *cr, unsigned rgb, double alpha)
{
    cairo_set_source_rgba(cr, (rgb >> 16) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0,
                          alpha);
}

static PangoLayout *lay_out(cairo_t *cr, double px, bool bold, const char *text)
{
    PangoLayout *layout = fl_text_layout(cr, px, bold);
    pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    char *clean = fl_clean_text(text);
    pango_layout_set_text(layout, clean, -1);
    free(clean);
    return layout;
}

static double width_of(PangoLayout *layout)
{
    PangoRectangle box;
    pango_layout_get_extents(layout, NULL, &box);
    return (double)box.width / PANGO_SCALE;
}

void fl_clip_text(cairo_t *cr, double x, double y, enum fl_anchor anchor, double px, bool bold,
                  unsigned rgb, double limit, const char *text)
{
    PangoLayout *layout = lay_out(cr, px, bold, text);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    if (limit > 0)
        pango_layout_set_width(layout, (int)(limit * PANGO_SCALE));
    const double w = width_of(layout);
    fl_clip_colour(cr, rgb, 1);
    cairo_move_to(cr,
                  anchor == FL_LEFT     ? x
                  : anchor == FL_CENTRE ? x - w / 2
                                        : x - w,
                  y - (double)pango_layout_get_baseline(layout) / PANGO_SCALE);
    pango_cairo_show_layout(cr, layout);
    g_object_unref(layout);
}

double fl_clip_text_width(cairo_t *cr, double px, bool bold, const char *text)
{
    PangoLayout *layout = lay_out(cr, px, bold, text);
    const double w = width_of(layout);
    g_object_unref(layout);
    return w;
}

void fl_clip_paragraph(cairo_t *cr, double px, unsigned rgb, double width, double height,
                       const char *text)
{
    PangoLayout *layout = lay_out(cr, px, false, text);
    pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_height(layout, height > 0 ? (int)(height * PANGO_SCALE) : -1);
    fl_clip_colour(cr, rgb, 1);
    cairo_move_to(cr, 0, 0);
    pango_cairo_show_layout(cr, layout);
    g_object_unref(layout);
}
