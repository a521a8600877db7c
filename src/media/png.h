/* Indexed pictures as PNG (ISO/IEC 15948), through FFmpeg's encoder: a third of the size that the
 * same drawing has in full colour. */
#ifndef FL_MEDIA_PNG_H
#define FL_MEDIA_PNG_H

#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

/* index: width × height entries of the palette, 0xRRGGBB each. *data: the file, malloc'ed. Fails
 * only where FFmpeg was built without its PNG encoder. The same picture gives the same bytes. */
enum flinch_code fl_png_encode(const uint8_t *index, int width, int height,
                               const uint32_t palette[256], uint8_t **data, size_t *size,
                               struct fl_error *err);

#endif
