/* Tables of fields → their description for people and programs: JSON Schema and a list. */
#ifndef FL_SHOW_STORE_FIELD_SCHEMA_H
#define FL_SHOW_STORE_FIELD_SCHEMA_H

#include <stdio.h>

#include "show/store/fields.h"

/* JSON Schema, draft 2020-12 (json-schema.org/draft/2020-12), of what fl_document_json writes: each
 * field with its type, range, words and meaning, those that every file has under `required`. Fields
 * that a later version adds are allowed. */
json_t *fl_document_schema(const struct fl_document *d);
/* A Markdown table with a row a field: its path ("states[].start_s"), what it may be, its
 * meaning. */
void fl_document_list(FILE *out, const struct fl_document *d);
/* A meaning as a cell of such a table, from a capital letter on. */
void fl_put_meaning(FILE *out, const char *s);

#endif
