/* A chart's frame, and the one drawing as SVG, PDF and PNG and as a part of a page. */
#include "show/chart/chart.h"

#include <cairo-pdf.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/draw/svg.h"
#include "show/text/escape.h"

enum { WIDE = 1920, HIGH = 1080, FRAME = 128 /* what title, lead and note take of the height */ };
enum {
    MARGIN = 26,
    TOP = 20,
    BOTTOM = 14,
    GAP = 12,
    TITLE_LINES = 2,
    LEAD_LINES = 2,
    NOTE_LINES = 2
};
#define POINTS_PER_PX 0.5 /* PDF: 960×540 pt, a page 13.33 in wide */

void fl_chart_finish(struct fl_chart *p)
{
    free(p->title);
    free(p->lead);
    free(p->note);
    free(p->desc);
    *p = (struct fl_chart){0};
}

/* Output px per px of the drawing, at 1080. */
static double scale_of(const struct fl_chart *p, const struct fl_chart_settings *set)
{
    double px = set->text_px > 0 ? set->text_px : FL_CHART_TEXT_PX;
    double scale = px / FL_PLAIN_PX;
    scale = fmin(scale, HIGH / (p->least_h + FRAME));
    scale = fmin(scale, WIDE / (p->least_w + 2 * MARGIN));
    return fmax(scale, fmin(px, FL_CHART_TEXT_FLOOR) / FL_PLAIN_PX);
}

static const char *title_of(const struct fl_chart *p, const struct fl_chart_settings *set)
{
    return set->title ? set->title : p->title;
}

static void draw_chart(struct fl_surface *c, const struct fl_chart *p,
                       const struct fl_chart_settings *set)
{
    double w = c->width - 2 * MARGIN, y = TOP;
    y +=
        fl_draw_paragraph(c, MARGIN, y, w, TITLE_LINES, FL_TITLE, FL_INK, false, title_of(p, set)) +
        2;
    y += fl_draw_paragraph(c, MARGIN, y, w, LEAD_LINES, FL_PLAIN, FL_MUTED, false, p->lead) + GAP;
    double note = fl_draw_paragraph(c, MARGIN, 0, w, NOTE_LINES, FL_SMALL, FL_MUTED, true, p->note);
    double end = c->height - BOTTOM - note;
    fl_draw_paragraph(c, MARGIN, end, w, NOTE_LINES, FL_SMALL, FL_MUTED, false, p->note);
    p->draw(c, (struct fl_box){MARGIN, y, w, end - GAP - y}, p->data);
}

void fl_chart_draw(struct fl_surface *c, const struct fl_chart *p,
                   const struct fl_chart_settings *set)
{
    const double inner = scale_of(p, set);
    locale_t was = fl_point_begin();
    c->width = WIDE / inner;
    c->height = HIGH / inner;
    c->columns = 2 * inner;
    c->narrow = false;
    cairo_save(c->cr);
    cairo_scale(c->cr, inner, inner);
    if (c->theme != FL_THEME_CLEAR)
        fl_draw_box(c, 0, 0, c->width, c->height, FL_PAPER);
    draw_chart(c, p, set);
    cairo_restore(c->cr);
    fl_point_end(was);
}

/* scale: of the surface against 1920×1080. */
static void draw_on(cairo_surface_t *surface, const struct fl_chart *p,
                    const struct fl_chart_settings *set, enum fl_theme theme, double scale)
{
    struct fl_surface c = {.cr = cairo_create(surface), .theme = theme};
    cairo_scale(c.cr, scale, scale);
    fl_chart_draw(&c, p, set);
    cairo_destroy(c.cr);
}

/* A chart with what it is drawn by. */
struct order {
    const struct fl_chart *chart;
    const struct fl_chart_settings *settings;
    enum fl_theme theme;
};

static void draw_order(cairo_surface_t *surface, const void *data)
{
    const struct order *o = data;
    draw_on(surface, o->chart, o->settings, o->theme, 1);
}

char *fl_chart_svg(const struct fl_chart *p, const struct fl_chart_settings *set,
                   enum fl_theme theme)
{
    const struct order order = {p, set, theme};
    char *raw = fl_svg_raw(WIDE, HIGH, draw_order, &order);
    char *svg = fl_svg_dress(raw, title_of(p, set), p->desc, WIDE, HIGH, NULL);
    free(raw);
    return svg;
}

enum { EDGE = 12 }; /* about a body on the page */

static double body_height(const void *data, double width)
{
    const struct fl_chart *p = data;
    const double body = p->height ? p->height(p->data, width - 2 * EDGE) : 0.42 * width;
    return fmax(body, p->height ? 0 : p->least_h) + 2 * EDGE;
}

static void draw_body(struct fl_surface *c, const void *data)
{
    const struct fl_chart *p = data;
    p->draw(c, (struct fl_box){EDGE, EDGE, c->width - 2 * EDGE, c->height - 2 * EDGE}, p->data);
}

char *fl_chart_body_svg(const struct fl_chart *p, double width, const char *prefix)
{
    const struct fl_drawing d = {
        .title = p->title, .desc = p->desc, .height = body_height, .draw = draw_body, .data = p};
    return fl_drawing_svg(&d, p->height ? width : fmax(width, p->least_w + 2 * EDGE), prefix);
}

static cairo_status_t put_svg(FILE *out, const struct fl_chart *p,
                              const struct fl_chart_settings *set, enum fl_theme theme)
{
    char *svg = fl_chart_svg(p, set, theme);
    fputs(svg, out);
    free(svg);
    return CAIRO_STATUS_SUCCESS;
}

static cairo_status_t put_png(FILE *out, const struct fl_chart *p,
                              const struct fl_chart_settings *set, enum fl_theme theme, int times)
{
    cairo_surface_t *surface = cairo_image_surface_create(
        theme == FL_THEME_CLEAR ? CAIRO_FORMAT_ARGB32 : CAIRO_FORMAT_RGB24, WIDE * times,
        HIGH * times);
    draw_on(surface, p, set, theme, times);
    cairo_status_t status = cairo_surface_write_to_png_stream(surface, fl_cairo_to_stream, out);
    cairo_surface_destroy(surface);
    return status;
}

static cairo_status_t put_pdf(FILE *out, const struct fl_chart *p,
                              const struct fl_chart_settings *set, enum fl_theme theme)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        fl_cairo_to_stream, out, WIDE * POINTS_PER_PX, HIGH * POINTS_PER_PX);
    char *title = fl_clean_text(title_of(p, set)), *desc = fl_clean_text(p->desc);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, desc);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                   ""); /* none: equal charts are equal files */
    free(title);
    free(desc);
    draw_on(surface, p, set, theme, POINTS_PER_PX);
    cairo_surface_finish(surface);
    cairo_status_t status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status;
}

static enum flinch_code write_one(const struct fl_chart *p, const struct fl_chart_settings *set,
                                  const char *path, enum fl_theme theme,
                                  enum fl_chart_format format, int times, struct fl_error *err)
{
    struct fl_file file;
    enum flinch_code code = fl_file_begin(&file, path, err);
    if (code)
        return code;
    cairo_status_t status = format == FL_CHART_SVG   ? put_svg(file.stream, p, set, theme)
                            : format == FL_CHART_PDF ? put_pdf(file.stream, p, set, theme)
                                                     : put_png(file.stream, p, set, theme, times);
    if (status && !ferror(file.stream)) {
        fl_file_abandon(&file);
        return fl_fail(err, FLINCH_ERR_WRITE, "%s: cannot draw the picture: %s", path,
                       cairo_status_to_string(status));
    }
    return fl_file_commit(&file, err);
}

/* One theme and format, in every size that the format has. */
static enum flinch_code write_sizes(const struct fl_chart *p, const struct fl_chart_settings *set,
                                    const char *base, enum fl_theme theme,
                                    enum fl_chart_format format, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    unsigned sizes = format != FL_CHART_PNG || !set->sizes ? 1u << FL_CHART_1080 : set->sizes;
    for (int size = 0; size < FL_CHART_SIZES && !code; size++) {
        if (!(sizes & 1u << size))
            continue;
        char *path =
            fl_format("%s%s%s%s.%s", base, theme ? "." : "", theme ? fl_theme_name((int)theme) : "",
                      size ? ".2160" : "", fl_chart_format_name(format));
        code = write_one(p, set, path, theme, format, 1 + size, err);
        free(path);
    }
    return code;
}

enum flinch_code fl_chart_write(const struct fl_chart *p, const struct fl_chart_settings *set,
                                const char *folder, const char *name, struct fl_error *err)
{
    unsigned themes = set->themes ? set->themes : 1u << FL_THEME_LIGHT;
    unsigned formats = set->formats ? set->formats : 1u << FL_CHART_SVG | 1u << FL_CHART_PNG;
    char *charts = fl_path_join(folder, "charts"), *base = fl_path_join(charts, name);
    enum flinch_code code = fl_make_folder(charts, err);
    for (int theme = 0; theme < FL_THEMES; theme++)
        for (int format = 0; format < FL_CHART_FORMATS && !code; format++)
            if (themes & 1u << theme && formats & 1u << format)
                code = write_sizes(p, set, base, (enum fl_theme)theme, (enum fl_chart_format)format,
                                   err);
    free(base);
    free(charts);
    return code;
}
