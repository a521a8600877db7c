/* Drawings → SVG text, for a file or for inlining. */
#include <cairo-svg.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "show/draw/surface.h"
#include "show/draw/svg.h"
#include "show/text/escape.h"

cairo_status_t fl_cairo_to_stream(void *stream, const unsigned char *data, unsigned n)
{
    return fwrite(data, 1, n, stream) == n ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

char *fl_svg_raw(double width, double height, void (*draw)(cairo_surface_t *, const void *),
                 const void *data)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    cairo_surface_t *surface =
        cairo_svg_surface_create_for_stream(fl_cairo_to_stream, out, width, height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PX);
    draw(surface, data);
    cairo_surface_destroy(surface);
    return fl_text_end(&stream);
}

/* A drawing at one size. */
struct sized {
    const struct fl_drawing *drawing;
    double width, height;
};

static void draw_sized(cairo_surface_t *surface, const void *data)
{
    const struct sized *s = data;
    struct fl_surface c = {cairo_create(surface), s->width, s->height,
                           s->width < FL_SURFACE_NARROW};
    fl_draw_box(&c, 0, 0, s->width, s->height, FL_PAPER);
    s->drawing->draw(&c, s->drawing->data);
    cairo_destroy(c.cr);
}

static bool same_part(double percent, unsigned part)
{
    return fabs(percent * 2.55 - part) < 0.2;
}

/* "rgb(a%,b%,c%)" at s as the page's custom property; returns the characters used, 0 if the
 * colour is none of the palette. */
static int put_property(FILE *out, const char *s)
{
    double r, g, b;
    int used = 0;
    if (sscanf(s, "rgb(%lf%%,%lf%%,%lf%%)%n", &r, &g, &b, &used) != 3 || !used)
        return 0;
    for (int i = 0; i < FL_COLOURS; i++) {
        unsigned rgb = fl_palette[i].light;
        if (same_part(r, rgb >> 16) && same_part(g, rgb >> 8 & 255) && same_part(b, rgb & 255)) {
            fprintf(out, "var(--%s)", fl_palette[i].name);
            return used;
        }
    }
    return 0;
}

/* Path data of an inlined picture to a hundredth of a pixel, which halves the page. Returns the
 * characters used, from the opening quote to the closing one. */
static size_t put_path(FILE *out, const char *s)
{
    size_t i = 0;
    for (int decimals = -1; s[i] && (i == 0 || s[i - 1] != '"' || i == 1); i++) {
        bool digit = s[i] >= '0' && s[i] <= '9';
        decimals = s[i] == '.' ? 0 : !digit ? -1 : decimals >= 0 ? decimals + 1 : -1;
        if (decimals <= 2)
            fputc(s[i], out);
    }
    return i;
}

/* Copies the body with its ids made the picture's own. cairo numbers surfaces through the life of
 * the process; that number goes, so that equal pictures are equal files. */
static void put_body(FILE *out, const char *s, const char *prefix)
{
    static const char *const before_id[] = {" id=\"", "href=\"#", "url(#"};
    while (*s) {
        size_t n = 0;
        for (int i = 0; !n && i < 3; i++)
            if (!strncmp(s, before_id[i], strlen(before_id[i])))
                n = strlen(before_id[i]);
        if (n) {
            fprintf(out, "%.*s%s", (int)n, s, prefix ? prefix : "");
            s += n;
            if (!strncmp(s, "surface", 7)) {
                fputs("surface", out);
                s += 7 + strspn(s + 7, "0123456789");
            }
            continue;
        }
        if (prefix && !strncmp(s, " d=\"", 4)) {
            fputs(" d=", out);
            s += 3;
            s += put_path(out, s);
            continue;
        }
        int used = prefix && !strncmp(s, "rgb(", 4) ? put_property(out, s) : 0;
        if (!used)
            fputc(*s, out);
        s += used ? used : 1;
    }
}

char *fl_svg_dress(const char *raw, const char *title, const char *desc, double width,
                   double height, const char *prefix)
{
    locale_t was = fl_point_begin();
    const char *body = strstr(raw, "<svg");
    body = body ? strchr(body, '>') + 1 : raw;
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    if (!prefix)
        fprintf(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    fprintf(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" ");
    if (!prefix)
        fprintf(out, "width=\"%g\" height=\"%g\" ", width, height);
    fprintf(out, "viewBox=\"0 0 %g %g\" role=\"img\" aria-labelledby=\"%stitle %sdesc\">\n", width,
            height, prefix ? prefix : "", prefix ? prefix : "");
    fprintf(out, "<title id=\"%stitle\">", prefix ? prefix : "");
    fl_put_markup(out, title);
    fprintf(out, "</title><desc id=\"%sdesc\">", prefix ? prefix : "");
    fl_put_markup(out, desc);
    fputs("</desc>", out);
    put_body(out, body, prefix);
    fl_point_end(was);
    return fl_text_end(&stream);
}

char *fl_drawing_svg(const struct fl_drawing *d, double width, const char *prefix)
{
    struct sized sized = {d, width, ceil(d->height(d->data, width))};
    locale_t was = fl_point_begin();
    char *raw = fl_svg_raw(width, sized.height, draw_sized, &sized);
    char *text = fl_svg_dress(raw, d->title, d->desc, width, sized.height, prefix);
    fl_point_end(was);
    free(raw);
    return text;
}
