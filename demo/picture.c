#include "picture.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

void st_picture_init(struct st_picture *p, int width, int height)
{
    p->width = width;
    p->height = height;
    for (int i = 0; i < 3; i++) {
        p->stride[i] = ((i ? width / 2 : width) + 63) / 64 * 64;
        size_t size = (size_t)p->stride[i] * (size_t)(i ? height / 2 : height);
        p->plane[i] = fl_calloc(size + 64, 1);
        memset(p->plane[i], i ? 128 : 16, size);
    }
}

void st_picture_finish(struct st_picture *p)
{
    for (int i = 0; i < 3; i++) {
        free(p->plane[i]);
        p->plane[i] = NULL;
    }
}
