/* What a fitted rule would do, on the terminal or as JSON (docs/what-if.schema.json). */
#ifndef FL_SHOW_SCREEN_WHAT_IF_SCREEN_H
#define FL_SHOW_SCREEN_WHAT_IF_SCREEN_H

#include <jansson.h>
#include <stdio.h>

#include "show/store/fields.h"
#include "study/rule/what_if.h"

/* What was asked: a trace and mouse settings. */
struct fl_what_if_question {
    const char *trace; /* path */
    struct fl_hand hand;
    struct fl_mouse_setting asked; /* NaN: the ladder */
};

void fl_print_what_if(FILE *out, const struct fl_session *s, const struct fl_what_if_question *q);
extern const struct fl_document fl_what_if_document;
json_t *fl_what_if_json(const struct fl_session *s, const struct fl_what_if_question *q);

#endif
