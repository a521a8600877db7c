/* Cut-off rules, delays and their comparisons as JSON (docs/session.schema.json). */
#ifndef FL_SHOW_STORE_JSON_RULE_H
#define FL_SHOW_STORE_JSON_RULE_H

#include <jansson.h>

#include "study/take/session.h"

json_t *fl_rules_json(const struct fl_session *s);
json_t *fl_delays_json(const struct fl_session *s);
json_t *fl_delay_comparisons_json(const struct fl_session *s);

#endif
