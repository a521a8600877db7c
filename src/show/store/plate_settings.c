#include "show/store/plate_settings.h"

#include <stdio.h>
#include <string.h>

static const char *const kinds[] = {"ranking", "curve", "resolution", "timeline",
                                    "rate",    "delay", NULL};
static const char *const formats[] = {"svg", "png", "pdf", NULL};
static const char *const themes[] = {"light", "dark", "transparent", NULL};
static const char *const sizes[] = {"1080", "2160", NULL};

const char *fl_plate_format_name(enum fl_plate_format f)
{
    return formats[f];
}

const char *fl_theme_name(int theme)
{
    return themes[theme];
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

static enum flinch_code parse(unsigned *mask, const char *const *names, const char *option,
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

enum flinch_code fl_plate_kinds(unsigned *mask, const char *option, const char *words,
                                struct fl_error *err)
{
    return parse(mask, kinds, option, words, err);
}

enum flinch_code fl_plate_formats(unsigned *mask, const char *option, const char *words,
                                  struct fl_error *err)
{
    return parse(mask, formats, option, words, err);
}

enum flinch_code fl_plate_themes(unsigned *mask, const char *option, const char *words,
                                 struct fl_error *err)
{
    return parse(mask, themes, option, words, err);
}

enum flinch_code fl_plate_sizes(unsigned *mask, const char *option, const char *words,
                                struct fl_error *err)
{
    return parse(mask, sizes, option, words, err);
}
