/* Results on the terminal, at most 80 columns wide, or as JSON. */
#ifndef FL_SHOW_SCREEN_SUMMARY_H
#define FL_SHOW_SCREEN_SUMMARY_H

#include <jansson.h>
#include <stdio.h>

#include "show/screen/option_names.h"
#include "study/take/session.h"

/* reused: how many of the takes were read back. folder: where the report is; NULL: nowhere. */
void fl_print_session(FILE *out, const struct fl_session *s, int reused, const char *folder);
/* names: what stands for keys of the session file in warnings (option_names.h); NULL: the keys. */
void fl_print_take(FILE *out, const struct fl_take *t, const char *folder,
                   const struct fl_option_name *names);
/* Prints value with a newline and releases it. */
void fl_print_json(FILE *out, json_t *value);

#endif
