/* Is this the footage that was measured? How much each picture changes is compared with what the
 * take says. */
#ifndef FL_SHOW_CLIP_CLIP_PROOF_H
#define FL_SHOW_CLIP_CLIP_PROOF_H

#include "media/canvas.h"
#include "study/take/take.h"

struct fl_clip_proof; /* opaque */

struct fl_clip_proof *fl_clip_proof_new(const struct fl_take *t);
/* Capture frame, painted at x, y, w, h; frames come in order, gaps are allowed. */
void fl_clip_proof_push(struct fl_clip_proof *p, long frame, const struct fl_canvas *c, int x,
                        int y, int w, int h);
/* The same from a figure: mean |ΔY'| since the frame before, in any unit. */
void fl_clip_proof_add(struct fl_clip_proof *p, long frame, double change);
enum fl_clip_match { FL_MATCH_UNTOLD, FL_MATCH_SAME, FL_MATCH_OTHER };
/* Untold where too little moves, or the take holds no image change. The correlation goes to *r. */
enum fl_clip_match fl_clip_proof_tell(const struct fl_clip_proof *p, double *r);
void fl_clip_proof_free(struct fl_clip_proof **p);

#endif
