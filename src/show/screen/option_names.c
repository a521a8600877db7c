/* Keys in a text become options where they stand as words of their own. */
#include "show/screen/option_names.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"

static bool in_word(char c)
{
    return isalnum((unsigned char)c) || c == '_' || c == '-';
}

/* The key that stands at `at` in text, which begins at `start`; NULL: none. */
static const struct fl_option_name *key_at(const char *start, const char *at,
                                           const struct fl_option_name *names)
{
    if (at > start && in_word(at[-1]))
        return NULL;
    for (; names->key; names++) {
        const size_t n = strlen(names->key);
        if (!strncmp(at, names->key, n) && !in_word(at[n]))
            return names;
    }
    return NULL;
}

char *fl_with_option_names(const char *text, const struct fl_option_name *names)
{
    if (!names)
        return fl_strdup(text);
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    for (const char *at = text; *at;) {
        const struct fl_option_name *name = key_at(text, at, names);
        if (name)
            fputs(name->option, out);
        else
            fputc(*at, out);
        at += name ? strlen(name->key) : 1;
    }
    return fl_text_end(&stream);
}
