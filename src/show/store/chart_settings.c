/* Words for themes, formats and sizes of charts. */
#include "show/store/chart_settings.h"

#include <stdio.h>
#include <string.h>

const char *const fl_chart_format_words[] = {"svg", "png", "pdf", NULL};
const char *const fl_chart_theme_words[] = {"light", "dark", "transparent", NULL};
const char *const fl_chart_size_words[] = {"1080", "2160", NULL};

const char *fl_chart_format_name(enum fl_chart_format f)
{
    return fl_chart_format_words[f];
}

const char *fl_theme_name(int theme)
{
    return fl_chart_theme_words[theme];
}

static int find(const char *const *names, const char *word, size_t n)
{
    for (int i = 0; names[i]; i++)
        if (strlen(names[i]) == n && !strncmp(names[i], word, n))
            return i;
    return -1;
}

static enum flinch_code unknown(const char *const *names, const char *option, const char *word,
                                size_t n, struct fl_error *err)
{
    char list[96] = "";
    for (int i = 0; names[i]; i++)
        snprintf(list + strlen(list), sizeof list - strlen(list), "%s%s",
                 !i             ? ""
                 : names[i + 1] ? ", "
                                : " or ",
                 names[i]);
    return fl_fail(err, FLINCH_ERR_USAGE,
                   "%s: '%.*s' is none of %s; give one or more, parted by commas", option,
                   n > 40 ? 40 : (int)n, word, list);
}

enum flinch_code fl_word_mask(unsigned *mask, const char *const *names, const char *option,
                              const char *words, struct fl_error *err)
{
    unsigned set = 0;
    for (const char *at = words; at;) {
        size_t n = strcspn(at, ",");
        int k = find(names, at, n);
        if (k < 0)
            return unknown(names, option, at, n, err);
        if (set & 1u << k)
            return fl_fail(err, FLINCH_ERR_USAGE, "%s: '%s' stands there twice; name it once",
                           option, names[k]);
        set |= 1u << k;
        at = at[n] ? at + n + 1 : NULL;
    }
    if (words)
        *mask = set;
    return FLINCH_OK;
}
