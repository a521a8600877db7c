/* The still part of a clip's course: unique rate, lapses, states and times of a span. */
#ifndef FL_SHOW_CLIP_CLIP_COURSE_H
#define FL_SHOW_CLIP_CLIP_COURSE_H

#include <cairo.h>

#include "show/clip/clip_layout.h"
#include "show/draw/palette.h"

/* Units: text of axes and names; the row of times below the states. */
#define FL_CLIP_SMALL 25
#define FL_CLIP_AXIS 38

/* Colour behind everything. */
#define FL_CLIP_GROUND 0x16191e

void fl_clip_course(cairo_t *cr, const struct fl_take *t, const struct fl_clip_layout *l,
                    struct fl_span span);

unsigned fl_clip_dark(enum fl_colour c);
void fl_clip_box(cairo_t *cr, double x, double y, double w, double h, unsigned rgb);
/* On lies high and is pale, off lies low and is bright, what cannot be told is hatched in the
 * middle. */
void fl_clip_band(cairo_t *cr, double x, double y, double w, double h, double unit,
                  enum fl_state state);

/* Column of the canvas in which the mark's line begins at this time. */
int fl_clip_mark_column(const struct fl_clip_layout *l, struct fl_span span, double time_s);

#endif
