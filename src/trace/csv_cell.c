/* One line parted into cells, and a cell read as a number. */
#include "trace/csv_cell.h"

#include <string.h>

#include "trace/parse_number.h"

static bool blank(char c, char separator)
{
    return c == ' ' || (c == '\t' && separator != '\t');
}

/* Just after the quote that closes the one at a; a itself where none does. */
static const char *after_quotes(const char *a, const char *end)
{
    for (const char *q = a + 1; q < end; q++) {
        if (*q != '"')
            continue;
        if (q + 1 < end && q[1] == '"')
            q++;
        else
            return q + 1;
    }
    return a;
}

struct fl_csv_cell fl_csv_next(const char **at, const char *end, char separator)
{
    const char *a = *at;
    while (a < end && blank(*a, separator))
        a++;
    const char *from = a < end && *a == '"' ? after_quotes(a, end) : a;
    const char *stop = memchr(from, separator, (size_t)(end - from));
    const char *b = stop ? stop : end;
    *at = stop ? stop + 1 : NULL;
    while (b > a && blank(b[-1], separator))
        b--;
    if (b - a >= 2 && *a == '"' && b[-1] == '"') {
        a++;
        b--;
    }
    return (struct fl_csv_cell){a, (size_t)(b - a)};
}

bool fl_csv_is(struct fl_csv_cell cell, const char *text)
{
    return strlen(text) == cell.size && memcmp(text, cell.text, cell.size) == 0;
}

bool fl_csv_number(struct fl_csv_cell cell, bool decimal_comma, double *value)
{
    char text[64];
    char *comma;
    if (!decimal_comma || cell.size >= sizeof text || !memchr(cell.text, ',', cell.size))
        return fl_parse_number(cell.text, cell.size, value);
    memcpy(text, cell.text, cell.size);
    if (memchr(text, '.', cell.size))
        return false; /* one of them parts thousands, and who knows which */
    comma = memchr(text, ',', cell.size);
    *comma = '.';
    return fl_parse_number(text, cell.size, value);
}
