/* Two folders beside each other: on the terminal or as JSON (docs/against.schema.json). */
#ifndef FL_SHOW_SCREEN_AGAINST_SCREEN_H
#define FL_SHOW_SCREEN_AGAINST_SCREEN_H

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>

#include "show/store/fields.h"
#include "study/compare/against.h"

/* One of the two. session may be NULL when it was refused unread. */
struct fl_against_side {
    const char *folder;
    const struct fl_session *session;
};

void fl_print_against(FILE *out, const struct fl_against_side *before,
                      const struct fl_against_side *now, const struct fl_against *a);
extern const struct fl_document fl_against_document;
json_t *fl_against_json(const struct fl_against_side *before, const struct fl_against_side *now,
                        const struct fl_against *a);

#endif
