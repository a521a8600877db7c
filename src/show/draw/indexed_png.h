/* A drawing as an indexed PNG: its few colours and their blends, found again in one fixed palette.
 */
#ifndef FL_SHOW_DRAW_INDEXED_PNG_H
#define FL_SHOW_DRAW_INDEXED_PNG_H

#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

/* rgb: 0x??RRGGBB, rows `stride` entries apart. Colours of the project's palette stay as they are,
 * greys are off by two levels at most, blends take the nearest. The file appears whole or not at
 * all. */
enum flinch_code fl_indexed_write(const uint32_t *rgb, int width, int height, size_t stride,
                                  const char *path, struct fl_error *err);

#endif
