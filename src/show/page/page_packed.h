/* Text that the page holds small: base64 (RFC 4648) of a zlib stream (RFC 1950). Read by
 * script/inflate.js. */
#ifndef FL_SHOW_PAGE_PAGE_PACKED_H
#define FL_SHOW_PAGE_PAGE_PACKED_H

#include <stddef.h>

/* malloc'ed, never NULL; holds no character that ends an element. */
char *fl_packed(const void *data, size_t size);

#endif
