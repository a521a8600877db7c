/* A window of the footage's own pixels, 1 to 1, in a corner of the smaller picture, and a frame
 * about where it comes from: tears and rows that stand still are lost where pixels are made fewer.
 */
#ifndef FL_SHOW_CLIP_CLIP_WINDOW_H
#define FL_SHOW_CLIP_CLIP_WINDOW_H

#include "media/canvas.h"
#include "show/clip/clip_layout.h"
#include "show/clip/clip_reader.h"

/* What the window shows of the footage, and where; all even, equal in size. */
struct fl_clip_window_place {
    struct fl_clip_box from, to; /* px of the footage; of the frame */
};
/* at: its middle, shares of the picture's width and height, 0..1; it stays within the picture. The
 * corner is the lower right one, or the lower left one if the middle lies to the right. */
struct fl_clip_window_place
fl_clip_window_place(const struct fl_take *t, const struct fl_clip_layout *l, const double at[2]);

struct fl_clip_window; /* opaque */

/* deep: for canvases with 10-bit planes. */
struct fl_clip_window *fl_clip_window_new(const struct fl_take *t, const struct fl_clip_layout *l,
                                          const struct fl_coding *coding, const double at[2],
                                          bool deep);
/* Lays the frame that the reader has reached. */
enum flinch_code fl_clip_window_draw(struct fl_clip_window *w, struct fl_clip_reader *reader,
                                     struct fl_canvas *canvas, struct fl_error *err);
/* NULL is fine; clears the pointer. */
void fl_clip_window_free(struct fl_clip_window **w);

#endif
