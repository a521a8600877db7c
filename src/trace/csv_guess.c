/* Names of columns are guessed at by the words in them. */
#include "trace/csv_guess.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "trace/columns.h"

enum { FL_GUESSED_CELLS = 64 };

/* Lower case, words parted and surrounded by single blanks. */
static void to_words(char *out, size_t size, struct fl_csv_cell cell)
{
    size_t n = 0;
    out[n++] = ' ';
    for (size_t i = 0; i < cell.size && n + 3 < size; i++) {
        const unsigned char c = (unsigned char)cell.text[i];
        const bool upper_after_lower =
            i > 0 && isupper(c) && islower((unsigned char)cell.text[i - 1]);
        if ((upper_after_lower || !(isalnum(c) || c >= 0x80)) && out[n - 1] != ' ')
            out[n++] = ' ';
        if (isalnum(c) || c >= 0x80)
            out[n++] = (char)tolower(c);
    }
    if (out[n - 1] != ' ')
        out[n++] = ' ';
    out[n] = 0;
}

static bool any(const char *words, const char *const *list)
{
    for (; *list; list++)
        if (strstr(words, *list))
            return true;
    return false;
}

static enum fl_column guess_time(const char *words)
{
    static const char *const nano[] = {" ns ", "nano", NULL};
    static const char *const micro[] = {" us ", "micro", "\xC2\xB5s", "\xCE\xBCs", NULL};
    static const char *const second[] = {" s ", " sec", NULL};
    return any(words, nano)     ? FL_TRACE_COLUMN_TIME_NS
           : any(words, micro)  ? FL_TRACE_COLUMN_TIME_US
           : any(words, second) ? FL_TRACE_COLUMN_TIME_S
                                : FL_TRACE_COLUMN_TIME_MS;
}

static enum fl_column guess(struct fl_csv_cell cell)
{
    static const char *const time[] = {"time", "stamp", "clock", "tick", "elapsed", " t ", NULL};
    static const char *const wheel[] = {"wheel", "scroll", NULL};
    static const char *const place[] = {"pos", "abs", "cursor", "screen", "pointer", NULL};
    static const char *const across[] = {" x ", "dx ", "deltax", "xdelta", " xrel", "relx", NULL};
    static const char *const down[] = {" y ", "dy ", "deltay", "ydelta", " yrel", "rely", NULL};
    char words[96];
    to_words(words, sizeof words, cell);
    if (any(words, time))
        return guess_time(words);
    if (any(words, wheel))
        return FL_TRACE_COLUMN_WHEEL;
    const bool placed = any(words, place);
    if (any(words, across))
        return placed ? FL_TRACE_COLUMN_X : FL_TRACE_COLUMN_DX;
    if (any(words, down))
        return placed ? FL_TRACE_COLUMN_Y : FL_TRACE_COLUMN_DY;
    return FL_TRACE_COLUMNS;
}

static void put(char *out, size_t size, enum fl_column k, struct fl_csv_cell cell)
{
    const size_t used = strlen(out);
    const char *quote = memchr(cell.text, ',', cell.size) ? "\"" : "";
    snprintf(out + used, size - used, "%s%s=%s%.*s%s", used ? "," : "", fl_column_names[k], quote,
             (int)cell.size, cell.text, quote);
}

/* One kind of time is enough, and the first of each kind. */
static void note_taken(bool *taken, enum fl_column k)
{
    taken[k] = true;
    for (int t = FL_TRACE_COLUMN_TIME_S;
         k <= FL_TRACE_COLUMN_TIME_NS && t <= FL_TRACE_COLUMN_TIME_NS; t++)
        taken[t] = true;
}

/* The first column that nothing was guessed of. */
static void fill_in(enum fl_column *kind, const struct fl_csv_cell *cell, int n, bool *taken,
                    enum fl_column k)
{
    for (int i = 0; i < n && !taken[k]; i++)
        if (kind[i] == FL_TRACE_COLUMNS && cell[i].size > 0) {
            kind[i] = k;
            note_taken(taken, k);
        }
}

int fl_csv_guess(char *out, size_t size, const struct fl_csv_cell *cell, int n)
{
    bool taken[FL_TRACE_COLUMNS] = {false};
    enum fl_column kind[FL_GUESSED_CELLS];
    int named = 0;
    *out = 0;
    n = n < FL_GUESSED_CELLS ? n : FL_GUESSED_CELLS;
    for (int i = 0; i < n; i++) {
        kind[i] = guess(cell[i]);
        if (kind[i] < FL_TRACE_COLUMNS && !taken[kind[i]]) {
            note_taken(taken, kind[i]);
            named++;
        } else
            kind[i] = FL_TRACE_COLUMNS;
    }
    fill_in(kind, cell, n, taken, FL_TRACE_COLUMN_TIME_MS);
    if (!taken[FL_TRACE_COLUMN_X])
        fill_in(kind, cell, n, taken, FL_TRACE_COLUMN_DX);
    if (!taken[FL_TRACE_COLUMN_Y])
        fill_in(kind, cell, n, taken, FL_TRACE_COLUMN_DY);
    for (int i = 0; i < n; i++)
        if (kind[i] < FL_TRACE_COLUMNS)
            put(out, size, kind[i], cell[i]);
    return named;
}
