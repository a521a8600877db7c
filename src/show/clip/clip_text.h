/* Text in clips: sizes in pixels of the frame, in any colour. */
#ifndef FL_SHOW_CLIP_CLIP_TEXT_H
#define FL_SHOW_CLIP_CLIP_TEXT_H

#include <cairo.h>
#include <stdbool.h>

#include "show/draw/surface.h"

void fl_clip_colour(cairo_t *cr, unsigned rgb, double alpha);
/* One line, y: base line; longer than limit (0: none) ends in an ellipsis. Text is cleaned. */
void fl_clip_text(cairo_t *cr, double x, double y, enum fl_anchor anchor, double px, bool bold,
                  unsigned rgb, double limit, const char *text);
double fl_clip_text_width(cairo_t *cr, double px, bool bold, const char *text);
/* Wrapped at the top left; height 0: one line; what does not fit ends in an ellipsis. */
void fl_clip_paragraph(cairo_t *cr, double px, unsigned rgb, double width, double height,
                       const char *text);

#endif
