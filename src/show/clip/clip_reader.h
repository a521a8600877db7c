/* Footage again, in colour: exactly the capture frames that were measured. */
#ifndef FL_SHOW_CLIP_CLIP_READER_H
#define FL_SHOW_CLIP_CLIP_READER_H

#include "base/progress.h"
#include "media/footage.h"
#include "study/take/take.h"

struct fl_clip_reader; /* opaque */

/* Opens the footage so that `first` is the first frame to be reached. Checks that it is the take's:
 * size, coding, length; FLINCH_ERR_USAGE says what differs. */
enum flinch_code fl_clip_reader_open(struct fl_clip_reader **out, const struct fl_take *t,
                                     const char *path, long first, int threads,
                                     struct fl_error *err);
const struct fl_footage_info *fl_clip_reader_info(const struct fl_clip_reader *r);
/* Presentation time of capture frame 0, s; NaN if the container gives no times. */
double fl_clip_reader_start(const struct fl_clip_reader *r);
/* Reads on to capture frame n, not below the one reached last. */
enum flinch_code fl_clip_reader_reach(struct fl_clip_reader *r, long frame,
                                      const struct fl_progress *p, struct fl_error *err);
/* Paints the frame reached. */
enum flinch_code fl_clip_reader_paint(struct fl_clip_reader *r, struct fl_canvas *c, int x, int y,
                                      int w, int h, struct fl_error *err);
void fl_clip_reader_close(struct fl_clip_reader **r);

#endif
