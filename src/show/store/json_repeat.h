/* Repeatability as JSON (docs/session.schema.json). */
#ifndef FL_SHOW_STORE_JSON_REPEAT_H
#define FL_SHOW_STORE_JSON_REPEAT_H

#include <jansson.h>

#include "study/take/session.h"

json_t *fl_repeats_json(const struct fl_session *s);

#endif
