/* Measured takes and sessions as JSON values (docs/take.schema.json, docs/session.schema.json). */
#ifndef FL_SHOW_STORE_JSON_H
#define FL_SHOW_STORE_JSON_H

#include <jansson.h>

#include "show/store/writer.h"

/* A copy, nothing of its own, whose refused clock has no figures. For whatever shows a take as
 * JSON. */
struct fl_take fl_take_shown(const struct fl_take *t);
json_t *fl_take_json(const struct fl_take *t);
json_t *fl_session_json(const struct fl_session *s);

extern const struct fl_writer fl_json_writer;

#endif
