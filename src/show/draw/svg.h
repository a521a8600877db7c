/* cairo's output → files of the project. */
#ifndef FL_SHOW_DRAW_SVG_H
#define FL_SHOW_DRAW_SVG_H

#include <cairo.h>

/* A cairo_write_func_t; stream: a FILE. */
cairo_status_t fl_cairo_to_stream(void *stream, const unsigned char *data, unsigned n);
/* What draw makes of data on an SVG surface, px; cairo's own text, malloc'ed. */
char *fl_svg_raw(double width, double height, void (*draw)(cairo_surface_t *, const void *),
                 const void *data);
/* cairo's SVG with a root of our own: role, title and desc, and ids that start with prefix. prefix
 * NULL: a file of its own; else for inlining, in the page's colours (see fl_drawing_svg).
 * malloc'ed. */
char *fl_svg_dress(const char *raw, const char *title, const char *desc, double width,
                   double height, const char *prefix);

#endif
