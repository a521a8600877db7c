#include "cli/text.h"

#include <string.h>

#include "base/units.h"

static int is_continuation(char c)
{
    return ((unsigned char)c & 0xc0) == 0x80;
}

/* Code points in the first n bytes. */
static int points(const char *s, size_t n)
{
    int count = 0;
    for (size_t i = 0; i < n; i++)
        count += !is_continuation(s[i]);
    return count;
}

int fl_text_columns(const char *text)
{
    return points(text, strlen(text));
}

void fl_put_wrapped(FILE *out, const char *text, int column, int indent)
{
    int start = column;
    while (*text) {
        size_t n = strcspn(text, " ");
        int width = points(text, n);
        if (column > start && column + width > FL_COLUMNS) {
            fprintf(out, "\n%*s", indent, "");
            column = start = indent;
        }
        fprintf(out, "%.*s", (int)n, text);
        column += width;
        text += n;
        text += strspn(text, " ");
        if (*text && column + 1 + points(text, strcspn(text, " ")) <= FL_COLUMNS)
            fputc(' ', out);
        column++;
    }
    fputc('\n', out);
}

void fl_put_cell(FILE *out, const char *text, int width)
{
    int all = points(text, strlen(text)), keep = all > width ? width - 1 : all, put = 0;
    const char *c = text;
    for (; *c && (put < keep || is_continuation(*c)); c++) {
        put += !is_continuation(*c);
        if (put > keep)
            break;
        fputc(*c, out);
    }
    if (all > width)
        fputs("…", out);
    for (int i = all > width ? width : all; i < width; i++)
        fputc(' ', out);
}

void fl_put_number(FILE *out, double x, int decimals, int width)
{
    if (fl_known(x))
        fprintf(out, "%*.*f", width, decimals, x);
    else
        fprintf(out, "%*s", width, "-");
}
