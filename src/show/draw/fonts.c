/* One word is laid out; Pango counts the letters that no font has a glyph for. */
#include "show/draw/fonts.h"

#include "show/draw/surface.h"

enum flinch_code fl_fonts_check(struct fl_error *err)
{
    cairo_surface_t *nothing = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *cr = cairo_create(nothing);
    PangoLayout *layout = fl_text_layout(cr, 12, false);
    pango_layout_set_text(layout, "off 0.5", -1);
    const int unknown = pango_layout_get_unknown_glyphs_count(layout);
    g_object_unref(layout);
    cairo_destroy(cr);
    cairo_surface_destroy(nothing);
    return unknown ? fl_fail(err, FLINCH_ERR_UNSUPPORTED,
                             "no font is found to draw charts and pages with; install one "
                             "(fonts-dejavu-core), or set FONTCONFIG_FILE")
                   : FLINCH_OK;
}
