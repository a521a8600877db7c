/* JSON values put together without a check at each call.
 *
 * jansson's makers (json_object, json_array, json_string, json_pack …) give NULL when memory runs
 * out, and every call that takes a NULL fails in turn. The calls here look at that, so a value that
 * could not be made ends the process with one line (base/mem.h) where it is put to use, instead of
 * being left out of the file. Texts must be UTF-8 and numbers finite, as from show/store/fields.h:
 * jansson makes no others. */
#ifndef FL_SHOW_STORE_JSON_VALUE_H
#define FL_SHOW_STORE_JSON_VALUE_H

#include <jansson.h>
#include <stdio.h>

/* Both take value over, and keep the order in which values come. */
void fl_json_set(json_t *object, const char *name, json_t *value);
void fl_json_append(json_t *array, json_t *value);
/* Both take value over. flags: jansson's for dumping. */
char *fl_json_text_of(json_t *value, size_t flags); /* malloc'ed, never NULL */
/* And a line end; see ferror(out). Characters that change the direction of writing as escapes. */
void fl_json_put(FILE *out, json_t *value, size_t flags);

#endif
