/* Is there a font to draw with? */
#ifndef FL_SHOW_DRAW_FONTS_H
#define FL_SHOW_DRAW_FONTS_H

#include "base/error.h"

/* FLINCH_ERR_UNSUPPORTED where letters have no shapes: no font is installed, or none is found.
 * Without one, text has no size that means anything, and pictures come out empty or without end. */
enum flinch_code fl_fonts_check(struct fl_error *err);

#endif
