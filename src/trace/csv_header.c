/* A CSV header, in flinch's own names or in those of a mapping. */
#include "trace/csv_header.h"

#include <stdio.h>
#include <string.h>

#include "trace/csv_cell.h"
#include "trace/csv_guess.h"

struct reading {
    struct fl_csv_header *h;
    const struct fl_trace_columns *columns;
    struct fl_csv_cell cell[FL_CSV_CELLS];
    const char *path;
    size_t number;
    struct fl_error *err;
};

static void split(struct reading *r, const char *line, const char *end, char separator)
{
    struct fl_csv_header *h = r->h;
    h->separator = separator;
    h->n = 0;
    for (const char *at = line; at && h->n < FL_CSV_CELLS;)
        r->cell[h->n++] = fl_csv_next(&at, end, separator);
}

/* What a cell is called: by the mapping first, then by flinch's own names. */
static enum fl_column known_as(const struct reading *r, struct fl_csv_cell cell)
{
    for (int k = 0; k < FL_TRACE_COLUMNS; k++)
        if (r->columns->named[k][0] && fl_csv_is(cell, r->columns->named[k]))
            return (enum fl_column)k;
    const bool timed = r->columns->named[FL_TRACE_COLUMN_TIME_S][0] ||
                       r->columns->named[FL_TRACE_COLUMN_TIME_MS][0] ||
                       r->columns->named[FL_TRACE_COLUMN_TIME_US][0] ||
                       r->columns->named[FL_TRACE_COLUMN_TIME_NS][0];
    for (int k = 0; k < FL_TRACE_COLUMNS; k++)
        if (!r->columns->named[k][0] && !(timed && k <= FL_TRACE_COLUMN_TIME_NS) &&
            fl_csv_is(cell, fl_column_names[k]))
            return (enum fl_column)k;
    return FL_TRACE_COLUMNS;
}

static int count_known(const struct reading *r)
{
    int known = 0;
    for (int i = 0; i < r->h->n; i++)
        known += known_as(r, r->cell[i]) < FL_TRACE_COLUMNS;
    return known;
}

static void find_separator(struct reading *r, const char *line, const char *end)
{
    static const char separators[] = {',', ';', '\t'};
    int best = 0, most = -1;
    for (int s = 0; s < 3; s++) {
        split(r, line, end, separators[s]);
        const int score = FL_CSV_CELLS * 2 * count_known(r) + r->h->n;
        if (score > most) {
            most = score;
            best = s;
        }
    }
    split(r, line, end, separators[best]);
}

/* ---- what is wrong ---- */

/* 'A', 'B', 'C' up to what there is room for. */
static void list_cells(char *out, size_t size, const struct reading *r, bool unused_only)
{
    int listed = 0;
    *out = 0;
    for (int i = 0; i < r->h->n; i++) {
        const size_t used = strlen(out);
        if (unused_only && (r->h->column[i] < FL_TRACE_COLUMNS || r->cell[i].size == 0))
            continue;
        if (used + r->cell[i].size + 12 > size) {
            snprintf(out + used, size - used, " …");
            return;
        }
        snprintf(out + used, size - used, "%s'%.*s'", listed++ ? ", " : "", (int)r->cell[i].size,
                 r->cell[i].text);
    }
}

static bool all_numbers(const struct reading *r)
{
    double v;
    for (int i = 0; i < r->h->n; i++)
        if (!fl_csv_number(r->cell[i], r->h->separator != ',', &v))
            return false;
    return true;
}

static enum flinch_code refuse(const struct reading *r, const char *what)
{
    char seen[160], mapping[200];
    if (all_numbers(r))
        return fl_fail(r->err, FLINCH_ERR_FORMAT,
                       "%s:%zu: %s; the first line holds numbers: put a header before it, such as "
                       "time_ms,dx,dy",
                       r->path, r->number, what);
    list_cells(seen, sizeof seen, r, false);
    /* A session from somebody else may name any file: what is no trace is not quoted. */
    if (!fl_csv_guess(mapping, sizeof mapping, r->cell, r->h->n))
        return fl_fail(r->err, FLINCH_ERR_FORMAT,
                       "%s:%zu: %s; its first line names neither time nor movement: is this a "
                       "trace? If so, give its columns, as with --columns 'time_ms=NAME,dx=NAME'",
                       r->path, r->number, what);
    return fl_fail(r->err, FLINCH_ERR_FORMAT,
                   "%s:%zu: %s; the columns are %s; say which is which, as with --columns '%s'",
                   r->path, r->number, what, seen, mapping);
}

static enum flinch_code refuse_cell(const struct reading *r, const char *what,
                                    struct fl_csv_cell cell)
{
    return fl_fail(r->err, FLINCH_ERR_FORMAT, "%s:%zu: %s: '%.*s'", r->path, r->number, what,
                   cell.size > 40 ? 40 : (int)cell.size, cell.text);
}

/* ---- the header ---- */

static bool has_time(const struct fl_csv_header *h)
{
    return h->has[FL_TRACE_COLUMN_TIME_S] || h->has[FL_TRACE_COLUMN_TIME_MS] ||
           h->has[FL_TRACE_COLUMN_TIME_US] || h->has[FL_TRACE_COLUMN_TIME_NS];
}

static enum flinch_code name_cells(struct reading *r)
{
    struct fl_csv_header *h = r->h;
    for (int i = 0; i < h->n; i++) {
        const enum fl_column k = h->column[i] = known_as(r, r->cell[i]);
        if (k == FL_TRACE_COLUMNS)
            continue;
        if (h->has[k])
            return refuse_cell(r, "column given twice", r->cell[i]);
        if (k <= FL_TRACE_COLUMN_TIME_NS && has_time(h))
            return refuse_cell(r, "a second time column; keep one", r->cell[i]);
        h->has[k] = true;
        if (k <= FL_TRACE_COLUMN_TIME_NS)
            h->time = k;
    }
    return FLINCH_OK;
}

static enum flinch_code check_mapping(const struct reading *r)
{
    for (int k = 0; k < FL_TRACE_COLUMNS; k++) {
        char what[128];
        if (!r->columns->named[k][0] || r->h->has[k])
            continue;
        snprintf(what, sizeof what, "no column '%s', which %s is mapped to", r->columns->named[k],
                 fl_column_names[k]);
        return refuse(r, what);
    }
    return FLINCH_OK;
}

static enum flinch_code check_use(const struct reading *r)
{
    const struct fl_csv_header *h = r->h;
    int used = 0;
    for (int k = FL_TRACE_COLUMN_DX; k < FL_TRACE_COLUMNS; k++)
        used += h->has[k];
    if (!has_time(h) && !used)
        return refuse(r, "no column of a trace");
    if (!has_time(h))
        return refuse(r, "no time column: none of time_s, time_ms, time_us, time_ns");
    if (!used)
        return refuse(r, "only a time column: none of dx, dy, x, y, wheel, button, stick_x, "
                         "stick_y");
    if (h->has[FL_TRACE_COLUMN_BUTTON] != h->has[FL_TRACE_COLUMN_STATE])
        return refuse(r, "columns button and state belong together; one is missing");
    return FLINCH_OK;
}

/* Steps go before positions. */
static void drop_doubled(struct fl_csv_header *h)
{
    for (int i = 0; i < h->n; i++)
        if ((h->column[i] == FL_TRACE_COLUMN_X && h->has[FL_TRACE_COLUMN_DX]) ||
            (h->column[i] == FL_TRACE_COLUMN_Y && h->has[FL_TRACE_COLUMN_DY])) {
            h->has[h->column[i]] = false;
            h->column[i] = FL_TRACE_COLUMNS;
        }
}

static void say_what_is_left_out(const struct reading *r, struct fl_trace *out)
{
    char list[160];
    list_cells(list, sizeof list, r, true);
    if (*list)
        fl_trace_say(out, "trace_columns", "Columns of the trace that were not read: %s.", list);
    if (r->h->has[FL_TRACE_COLUMN_X] || r->h->has[FL_TRACE_COLUMN_Y])
        fl_trace_say(out, "trace_positions",
                     "The trace holds positions, not counts; a pointer stops at the screen's edge, "
                     "and what the hand does there is lost.");
}

enum flinch_code fl_csv_header_read(struct fl_csv_header *h, struct fl_trace *out, const char *line,
                                    const char *end, const struct fl_trace_columns *columns,
                                    const char *path, size_t number, struct fl_error *err)
{
    struct reading r = {.h = h, .columns = columns, .path = path, .number = number, .err = err};
    memset(h, 0, sizeof *h);
    find_separator(&r, line, end);
    enum flinch_code code = name_cells(&r);
    if (!code)
        code = check_mapping(&r);
    if (!code)
        code = check_use(&r);
    if (code)
        return code;
    drop_doubled(h);
    say_what_is_left_out(&r, out);
    return FLINCH_OK;
}
