/* A drawing, or pictures with words beside them, as an indexed PNG: the project's colours and their
 * blends, greys, and as many more as the picture needs. */
#ifndef FL_SHOW_DRAW_INDEXED_PNG_H
#define FL_SHOW_DRAW_INDEXED_PNG_H

#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

/* rgb: 0x??RRGGBB, rows `stride` entries apart. Colours of the project's palette stay as they are,
 * greys are off by two levels at most, all else takes the nearest. The file appears whole or not
 * at all. */
enum flinch_code fl_indexed_write(const uint32_t *rgb, int width, int height, size_t stride,
                                  const char *path, struct fl_error *err);

#endif
