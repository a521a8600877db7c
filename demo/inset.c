#include "inset.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "scene.h"

static const double RATE_HZ = 30;

struct st_inset {
    struct st_scene *scene;
    struct st_picture picture;
    long shown;
};

struct st_inset *st_inset_new(int width, int height, uint64_t seed)
{
    struct st_inset *i = FL_NEW(struct st_inset, 1);
    i->scene = st_scene_new(ST_FOUNDRY, seed + 1);
    i->shown = -1;
    st_picture_init(&i->picture, width * 3 / 10 & ~1, height * 3 / 10 & ~1);
    return i;
}

void st_inset_free(struct st_inset **inset)
{
    if (!*inset)
        return;
    st_scene_free(&(*inset)->scene);
    st_picture_finish(&(*inset)->picture);
    free(*inset);
    *inset = NULL;
}

void st_inset_draw(struct st_inset *i, double t, struct st_picture *picture)
{
    long index = (long)floor(t * RATE_HZ);
    if (index != i->shown) {
        double at = (double)index / RATE_HZ;
        struct st_camera camera = {
            {0, 0, 1.7}, 60 * sin(0.9 * at), 6 * sin(1.7 * at), 0.5 * i->picture.width};
        st_scene_draw(i->scene, &camera, at, &i->picture);
        i->shown = index;
    }
    for (int k = 0; k < 3; k++) {
        int sub = k ? 2 : 1, x = (picture->width / 40 & ~1) / sub,
            y = (picture->height / 9 & ~1) / sub;
        for (int row = 0; row < i->picture.height / sub; row++)
            memcpy(picture->plane[k] + (ptrdiff_t)(y + row) * picture->stride[k] + x,
                   i->picture.plane[k] + (ptrdiff_t)row * i->picture.stride[k],
                   (size_t)(i->picture.width / sub));
    }
}
