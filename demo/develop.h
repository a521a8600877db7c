/* From the picture that reaches the capture device to what the encoder is given: size, bit depth,
 * range, transfer. */
#ifndef STAGE_DEVELOP_H
#define STAGE_DEVELOP_H

#include <stdbool.h>

#include <libavutil/frame.h>

#include "picture.h"

struct st_look {
    int from_width, from_height; /* of the picture; the frame's own size may be smaller */
    bool ten_bit, full_range;
    bool pq; /* ST 2084 at ten bits: reference white at 203 cd/m2 */
};

struct st_developer;

struct st_developer *st_developer_new(const struct st_look *look, int width, int height);
void st_developer_free(struct st_developer **developer);
/* Fills a frame of the developer's size whose buffers are there. */
void st_develop(struct st_developer *developer, const struct st_picture *from, AVFrame *to);

#endif
