/* The page of an audit: moments of footage without labels, on which a person answers on, off or
 * cannot tell; and the page of those at which eye and measurement differ. Both are one file each
 * that opens offline. */
#ifndef FL_SHOW_PAGE_AUDIT_PAGE_H
#define FL_SHOW_PAGE_AUDIT_PAGE_H

#include <stdio.h>

#include "show/clip/audit_pictures.h"
#include "study/compare/eye_check.h"

/* Moments in the order in which they are asked about. Nothing in the page says what was measured at
 * them. It needs its script to take answers, which it saves as show/store/eye_answers.h reads them.
 */
void fl_audit_page_write(FILE *out, const struct fl_session *s,
                         const struct fl_audit_moment *moment,
                         const struct fl_audit_picture *picture, size_t n, uint64_t seed);
/* Each difference with both labels; a picture each. */
void fl_differences_page_write(FILE *out, const struct fl_session *s, const struct fl_eye_check *c,
                               const struct fl_audit_picture *picture);

#endif
