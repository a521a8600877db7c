/* One function for each place that text goes: markup, CSV, file names. UTF-8 is checked byte by
 * byte (RFC 3629). */
#include "show/text/escape.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"

/* Length of the valid UTF-8 sequence at s, or 0 (RFC 3629: no overlong forms, no surrogates). */
static int utf8_length(const unsigned char *s)
{
    if (s[0] < 0x80)
        return 1;
    int n = s[0] >= 0xf0 && s[0] < 0xf5   ? 4
            : s[0] >= 0xe0 && s[0] < 0xf0 ? 3
            : s[0] >= 0xc2 && s[0] < 0xe0 ? 2
                                          : 0;
    for (int i = 1; i < n; i++)
        if ((s[i] & 0xc0) != 0x80)
            return 0;
    bool overlong = (s[0] == 0xe0 && s[1] < 0xa0) || (s[0] == 0xf0 && s[1] < 0x90);
    bool outside = (s[0] == 0xed && s[1] > 0x9f) || (s[0] == 0xf4 && s[1] > 0x8f);
    return overlong || outside ? 0 : n;
}

/* Embeddings, overrides and isolates (Unicode Annex 9) would turn the text around a name as well.
 */
unsigned fl_turning_character(const char *s)
{
    const unsigned char *u = (const unsigned char *)s;
    const bool turns = u[0] == 0xe2 && ((u[1] == 0x80 && u[2] >= 0xaa && u[2] <= 0xae) ||
                                        (u[1] == 0x81 && u[2] >= 0xa6 && u[2] <= 0xa9));
    return turns ? 0x2000u | (u[1] & 0x3fu) << 6 | (u[2] & 0x3fu) : 0;
}

/* Copies one character of s to out, cleaned; returns how many bytes of s it used. */
static int put_clean(FILE *out, const char *s)
{
    const unsigned char *u = (const unsigned char *)s;
    int n = utf8_length(u);
    bool control = n == 1 && (*u < 0x20 || *u == 0x7f);
    control |= n == 2 && u[0] == 0xc2 && u[1] < 0xa0;
    control |= n == 3 && u[0] == 0xef && u[1] == 0xbf && u[2] >= 0xbe; /* not allowed in XML */
    control |= n == 3 && fl_turning_character(s);
    if (n == 0 || control)
        fputs("\xef\xbf\xbd", out);
    else
        fwrite(s, 1, (size_t)n, out);
    return n ? n : 1;
}

void fl_put_markup(FILE *out, const char *s)
{
    while (s && *s) {
        const char *entity = *s == '&'    ? "&amp;"
                             : *s == '<'  ? "&lt;"
                             : *s == '>'  ? "&gt;"
                             : *s == '"'  ? "&quot;"
                             : *s == '\'' ? "&#39;"
                                          : NULL;
        if (entity) {
            fputs(entity, out);
            s++;
        } else {
            s += put_clean(out, s);
        }
    }
}

char *fl_clean_text(const char *s)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    while (s && *s)
        s += put_clean(out, s);
    return fl_text_end(&stream);
}

void fl_put_csv(FILE *out, const char *s)
{
    if (!s || !*s)
        return;
    bool formula = strchr("=+-@\t\r", *s) != NULL;
    bool quoted = formula || strpbrk(s, ",\"\r\n");
    if (quoted)
        fputs(formula ? "\"'" : "\"", out);
    for (; *s; s++) {
        if (fl_turning_character(s)) {
            fputs("\xef\xbf\xbd", out);
            s += 2;
            continue;
        }
        if (*s == '"')
            fputc('"', out);
        fputc(*s, out);
    }
    if (quoted)
        fputc('"', out);
}

static uint32_t hash_text(const char *s)
{
    uint32_t h = 2166136261u; /* FNV-1a */
    for (; *s; s++)
        h = (h ^ (unsigned char)*s) * 16777619u;
    return h;
}

char *fl_slug(const char *s)
{
    enum { LIMIT = 55 };
    char *slug = fl_calloc(LIMIT + 10, 1);
    size_t n = 0;
    bool lost = false, gap = false;
    for (const char *c = s ? s : ""; *c; c++) {
        char low = *c >= 'A' && *c <= 'Z' ? (char)(*c + 32) : *c;
        bool keep = (low >= 'a' && low <= 'z') || (low >= '0' && low <= '9');
        lost |= (unsigned char)*c >= 0x80 || n + 2 > LIMIT;
        if (keep && n + 2 <= LIMIT) {
            if (gap && n)
                slug[n++] = '-';
            slug[n++] = low;
        }
        gap = !keep;
    }
    if (lost || !n)
        snprintf(slug + n, 10, "%s%08x", n ? "-" : "", (unsigned)hash_text(s ? s : ""));
    return slug;
}

locale_t fl_point_begin(void)
{
    static locale_t point; /* made once, kept for the life of the process */
    locale_t mine = __atomic_load_n(&point, __ATOMIC_ACQUIRE);
    if (!mine) {
        mine = newlocale(LC_ALL_MASK, "C", (locale_t)0);
        locale_t none = (locale_t)0;
        if (!__atomic_compare_exchange_n(&point, &none, mine, false, __ATOMIC_ACQ_REL,
                                         __ATOMIC_ACQUIRE)) {
            freelocale(mine);
            mine = none;
        }
    }
    return uselocale(mine);
}

void fl_point_end(locale_t was)
{
    uselocale(was);
}

const char *fl_own_name(const char *path)
{
    const char *slash = path ? strrchr(path, '/') : NULL;
    return slash ? slash + 1 : path;
}
