/* One decoded picture → 8-bit luma, in place where the decoder already gives it. */
#ifndef FL_MEDIA_LUMA_H
#define FL_MEDIA_LUMA_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <libavutil/frame.h>

struct SwsContext;
struct AVBufferPool;

/* Conversion state of one stream; zero-initialised. One thread at a time. */
struct fl_luma {
    struct SwsContext *scaler;
    struct AVBufferPool *pool;
    size_t pool_size;
};

/* True if 8-bit luma rows lie in the picture as they are: *luma, *stride then point there. */
bool fl_luma_in_place(const AVFrame *picture, const uint8_t **luma, ptrdiff_t *stride);

/* Makes *picture hold luma in place: left alone where it already does, else replaced by an
 * 8-bit grey picture with the same properties. More than 8 bits are rounded to 8; coded luma
 * keeps its range; RGB becomes full-range BT.709 luma. 0, or a negative AVERROR. */
int fl_luma_reduce(struct fl_luma *l, AVFrame *picture);
void fl_luma_finish(struct fl_luma *l);

#endif
