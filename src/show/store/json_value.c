/* jansson 2.14, API reference: a NULL argument makes every function fail, so that one check at the
 * end of a chain of calls covers the chain. */
#include "show/store/json_value.h"

#include <stdlib.h>

#include "base/mem.h"
#include "show/text/escape.h"

void fl_json_set(json_t *object, const char *name, json_t *value)
{
    if (json_object_set_new(object, name, value))
        fl_out_of_memory();
}

void fl_json_append(json_t *array, json_t *value)
{
    if (json_array_append_new(array, value))
        fl_out_of_memory();
}

char *fl_json_text_of(json_t *value, size_t flags)
{
    char *text = json_dumps(value, flags);
    if (!text)
        fl_out_of_memory();
    json_decref(value);
    return text;
}

/* They stand in strings only, where an escape says the same (RFC 8259, 7). */
void fl_json_put(FILE *out, json_t *value, size_t flags)
{
    char *text = fl_json_text_of(value, flags);
    for (const char *c = text; *c; c++) {
        const unsigned turning = fl_turning_character(c);
        if (turning)
            fprintf(out, "\\u%04x", turning);
        else
            fputc(*c, out);
        c += turning ? 2 : 0;
    }
    fputc('\n', out);
    free(text);
}
