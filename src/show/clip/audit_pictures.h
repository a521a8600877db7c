/* Pictures of the moments of an audit: capture frames about each, and nothing that says what was
 * measured there. */
#ifndef FL_SHOW_CLIP_AUDIT_PICTURES_H
#define FL_SHOW_CLIP_AUDIT_PICTURES_H

#include "base/progress.h"
#include "show/clip/find_footage.h"
#include "study/compare/audit_draw.h"

struct fl_audit_picture {
    long first;        /* the first capture frame shown */
    int n, at;         /* how many; which of them is asked about, from 0 */
    int width, height; /* of a cell, px */
    /* n cells side by side, the frames above, their differences from the frame before below; grey.
     * malloc'ed */
    uint8_t *png;
    size_t size;
};

/* Fills out[0..n) for the moments. Footage is found take by take and must be what was measured: its
 * size, coding, length and motion are compared. */
enum flinch_code fl_audit_pictures(struct fl_audit_picture *out, const struct fl_session *s,
                                   const struct fl_audit_moment *moment, size_t n,
                                   const struct fl_footage_wish *where, int threads,
                                   const struct fl_progress *progress, struct fl_error *err);
void fl_audit_pictures_finish(struct fl_audit_picture *v, size_t n);

#endif
