/* One picture of the stage: 8-bit Y'CbCr 4:2:0, limited range. */
#ifndef STAGE_PICTURE_H
#define STAGE_PICTURE_H

#include <stdint.h>

struct st_picture {
    int width, height; /* even */
    uint8_t *plane[3]; /* luma, Cb, Cr */
    int stride[3];     /* bytes a row */
};

/* Black picture; frees with st_picture_finish. */
void st_picture_init(struct st_picture *p, int width, int height);
void st_picture_finish(struct st_picture *p); /* fine on a zeroed struct */

#endif
