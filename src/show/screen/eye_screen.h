/* An audit on the terminal, at most 80 columns wide. */
#ifndef FL_SHOW_SCREEN_EYE_SCREEN_H
#define FL_SHOW_SCREEN_EYE_SCREEN_H

#include <stdio.h>

#include "show/store/eye_fields.h"

/* After the page of questions is written. */
void fl_print_audit(FILE *out, const struct fl_audit_told *told, const struct fl_audit_ground *g);
/* After answers are weighed. differences: the page that shows where they differ; NULL: none. */
void fl_print_eye_check(FILE *out, const struct fl_eye_check *c, const char *differences);

#endif
