/* Columns are counted by the C library (mbrtowc, wcwidth), as terminals do; bytes that are no
 * character of the locale count as one column a code point of UTF-8. */
#include "show/screen/terminal_text.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#include "base/units.h"
#include "show/text/escape.h"

/* Bytes and columns of the character at s. Where the locale does not read it as one, a code point
 * is a column. */
static size_t character(const char *s, int *columns)
{
    wchar_t c;
    mbstate_t state = {0};
    size_t n = mbrtowc(&c, s, strlen(s), &state);
    if (n != (size_t)-1 && n != (size_t)-2 && n > 0) {
        int width = wcwidth(c);
        *columns = width < 0 ? 1 : width;
        return n;
    }
    for (n = 1; ((unsigned char)s[n] & 0xc0) == 0x80;)
        n++;
    *columns = 1;
    return n;
}

/* Columns of the first n bytes. */
static int columns_of(const char *s, size_t n)
{
    int count = 0, columns;
    for (size_t i = 0; i < n; count += columns)
        i += character(s + i, &columns);
    return count;
}

int fl_text_columns(const char *text)
{
    return columns_of(text, strlen(text));
}

/* A percent sign stays with its number. */
static size_t word_length(const char *text)
{
    size_t n = strcspn(text, " ");
    return strncmp(text + n, " %", 2) ? n : n + 1 + strcspn(text + n + 1, " ");
}

void fl_put_wrapped(FILE *out, const char *raw, int column, int indent)
{
    assert(indent >= 0 && indent < FL_COLUMNS);
    int start = column;
    char *clean = fl_clean_text(raw);
    const char *text = clean;
    while (*text) {
        size_t n = word_length(text);
        int width = columns_of(text, n);
        if (column > start && column + width > FL_COLUMNS) {
            fprintf(out, "\n%*s", indent, "");
            column = start = indent;
        }
        fprintf(out, "%.*s", (int)n, text);
        column += width;
        text += n;
        text += strspn(text, " ");
        if (*text && column + 1 + columns_of(text, word_length(text)) <= FL_COLUMNS)
            fputc(' ', out);
        column++;
    }
    fputc('\n', out);
    free(clean);
}

void fl_put_cell(FILE *out, const char *raw, int width)
{
    char *text = fl_clean_text(raw);
    int all = fl_text_columns(text), keep = all > width ? width - 1 : all, put = 0, columns;
    for (const char *c = text; *c;) {
        size_t n = character(c, &columns);
        if (put + columns > keep)
            break;
        fwrite(c, 1, n, out);
        put += columns;
        c += n;
    }
    if (all > width)
        put += fputs("…", out) >= 0;
    fprintf(out, "%*s", width - put, "");
    free(text);
}

void fl_put_number(FILE *out, double x, int decimals, int width)
{
    if (fl_known(x))
        fprintf(out, "%*.*f", width, decimals, x);
    else
        fprintf(out, "%*s", width, "-");
}
