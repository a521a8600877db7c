/* Results on the terminal, at most 80 columns wide, or as JSON. */
#ifndef FL_SHOW_SCREEN_SUMMARY_H
#define FL_SHOW_SCREEN_SUMMARY_H

#include <jansson.h>
#include <stdio.h>

#include "study/take/session.h"

/* reused: how many of the takes were read back. folder: where the report is; NULL: nowhere. */
void fl_print_session(FILE *out, const struct fl_session *s, int reused, const char *folder);
void fl_print_take(FILE *out, const struct fl_take *t, const char *folder);
/* Prints value with a newline and releases it. */
void fl_print_json(FILE *out, json_t *value);

#endif
