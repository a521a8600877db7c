/* Numbers of a take and its tables repeat themselves: deflate makes a sixth of them. */
#include "show/page/page_packed.h"

#include <stdlib.h>
#include <zlib.h>

#include "base/mem.h"
#include "show/page/page_columns.h"

char *fl_packed(const void *data, size_t size)
{
    uLongf packed = compressBound((uLong)size);
    Bytef *to = FL_NEW(Bytef, packed + 1);
    /* By compressBound there is room: only memory can be short (zlib manual, compress2). */
    if (compress2(to, &packed, data, (uLong)size, Z_BEST_COMPRESSION) != Z_OK)
        fl_out_of_memory();
    char *text = fl_base64(to, packed);
    free(to);
    return text;
}
