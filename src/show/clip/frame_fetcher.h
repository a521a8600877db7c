/* Footage again: chosen capture frames, in rising order, reduced for a strip. */
#ifndef FL_SHOW_CLIP_FRAME_FETCHER_H
#define FL_SHOW_CLIP_FRAME_FETCHER_H

#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"
#include "study/take/take.h"

struct fl_frame_fetcher; /* opaque; holds two reduced pictures and no native one */

/* width: of a picture, px, even; the height follows from the footage, and is even. */
enum flinch_code fl_frame_fetcher_open(struct fl_frame_fetcher **out, const struct fl_take *t,
                                       int width, int threads, struct fl_error *err);
int fl_frame_fetcher_height(const struct fl_frame_fetcher *r);
/* Goes on to a frame that g holds, or to the one before its first; no frame is asked for after a
 * later one. Between edge_frames frames are skipped from key frame to key frame where times can be
 * relied on. */
enum flinch_code fl_frame_fetcher_reach(struct fl_frame_fetcher *r, const struct fl_edge_frames *g,
                                        long frame, struct fl_error *err);
/* The frame reached, malloc'ed: 0xRRGGBB a pixel, and the mean |ΔY| from the frame before in
 * quarters of a grey level, up to 255 of them; NULL if the frame before was not reached. */
uint32_t *fl_frame_fetcher_picture(const struct fl_frame_fetcher *r);
uint8_t *fl_frame_fetcher_difference(const struct fl_frame_fetcher *r);
void fl_frame_fetcher_close(struct fl_frame_fetcher **r);

#endif
