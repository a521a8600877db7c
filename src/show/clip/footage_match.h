/* Is this the footage that was measured? How much each picture changes is compared with what the
 * take says. */
#ifndef FL_SHOW_CLIP_FOOTAGE_MATCH_H
#define FL_SHOW_CLIP_FOOTAGE_MATCH_H

#include "media/canvas.h"
#include "study/take/take.h"

struct fl_footage_match; /* opaque */

struct fl_footage_match *fl_footage_match_new(const struct fl_take *t);
/* Capture frame, painted at x, y, w, h; frames come in order, gaps are allowed. */
void fl_footage_match_push(struct fl_footage_match *p, long frame, const struct fl_canvas *c, int x,
                           int y, int w, int h);
/* The same from a figure: mean |ΔY'| since the frame before, in any unit. */
void fl_footage_match_add(struct fl_footage_match *p, long frame, double change);
enum fl_match { FL_MATCH_UNTOLD, FL_MATCH_SAME, FL_MATCH_OTHER };
/* Untold where too little moves, or the take holds no image change. The correlation goes to *r. */
enum fl_match fl_footage_match_tell(const struct fl_footage_match *p, double *r);
void fl_footage_match_free(struct fl_footage_match **p);

#endif
