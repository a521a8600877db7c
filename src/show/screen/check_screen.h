/* What `flinch check` says of one recording: a screen for people, or JSON. */
#ifndef FL_SHOW_SCREEN_CHECK_SCREEN_H
#define FL_SHOW_SCREEN_CHECK_SCREEN_H

#include <jansson.h>
#include <stdio.h>

#include "show/store/fields.h"
#include "study/take/usable.h"

/* whole: with the facts; else the verdict and what to change, for one of several recordings. */
void fl_check_print(FILE *out, const char *path, const struct fl_take *t, const struct fl_usable *u,
                    bool whole);
extern const struct fl_document fl_check_document;
/* One element of "recordings" in docs/check.schema.json. */
json_t *fl_check_json(const char *path, const struct fl_take *t, const struct fl_usable *u);
json_t *fl_check_failure_json(const char *path, const char *text);
/* Takes the list of recordings over. */
json_t *fl_check_file_json(json_t *recordings);

#endif
