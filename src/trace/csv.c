/* Trace CSV (DESIGN: files). The behaviours are stated in trace.h. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "trace/parse_number.h"
#include "trace/reader.h"

enum { LINE_LIMIT = 4096, CHUNK = 1 << 20, MAX_COLUMNS = 16 };

enum column {
    TIME_S,
    TIME_MS,
    TIME_US,
    TIME_NS,
    DX,
    DY,
    WHEEL,
    BUTTON,
    STATE,
    STICK_X,
    STICK_Y,
    COLUMNS
};

static const struct {
    const char *name;
    double low, high; /* range of a cell */
    bool whole;
} columns[COLUMNS] = {
    [TIME_S] = {"time_s", -1e10, 1e10, false},
    [TIME_MS] = {"time_ms", -1e13, 1e13, false},
    [TIME_US] = {"time_us", -1e16, 1e16, false},
    [TIME_NS] = {"time_ns", -1e19, 1e19, false},
    [DX] = {"dx", -1e6, 1e6, false},
    [DY] = {"dy", -1e6, 1e6, false},
    [WHEEL] = {"wheel", -1e6, 1e6, false},
    [BUTTON] = {"button", 0, 1023, true},
    [STATE] = {"state", 0, 1, true},
    [STICK_X] = {"stick_x", -1, 1, false},
    [STICK_Y] = {"stick_y", -1, 1, false},
};
static const double ticks_per_s[] = {1, 1e3, 1e6, 1e9};

struct csv {
    struct fl_trace *out;
    const char *path;
    struct fl_error *err;
    size_t line, cap;
    int n_columns;
    enum column column[MAX_COLUMNS]; /* of each cell */
    bool has[COLUMNS];
    bool have_row;
    double last_time_s; /* of the last row kept */
};

/* ---- cells ---- */

struct cell {
    const char *text;
    size_t size;
};

/* Next cell of [*at, end): trimmed, one pair of quotes taken off. */
static struct cell next_cell(const char **at, const char *end)
{
    const char *comma = memchr(*at, ',', (size_t)(end - *at));
    const char *a = *at, *b = comma ? comma : end;
    *at = comma ? comma + 1 : NULL;
    while (a < b && (*a == ' ' || *a == '\t'))
        a++;
    while (b > a && (b[-1] == ' ' || b[-1] == '\t'))
        b--;
    if (b - a >= 2 && *a == '"' && b[-1] == '"') {
        a++;
        b--;
    }
    return (struct cell){a, (size_t)(b - a)};
}

static enum flinch_code bad(const struct csv *c, const char *what, struct cell cell)
{
    const int shown = cell.size > 40 ? 40 : (int)cell.size;
    return fl_fail(c->err, FLINCH_ERR_FORMAT, "%s:%zu: %s: '%.*s'", c->path, c->line, what, shown,
                   cell.text);
}

/* ---- header ---- */

static enum flinch_code add_column(struct csv *c, struct cell cell)
{
    int k = 0;
    while (k < COLUMNS &&
           (strlen(columns[k].name) != cell.size || memcmp(columns[k].name, cell.text, cell.size)))
        k++;
    if (k == COLUMNS || c->n_columns == MAX_COLUMNS)
        return bad(c,
                   "unknown column (known: time_s|time_ms|time_us|time_ns, dx, dy, wheel, "
                   "button, state, stick_x, stick_y; separated by commas)",
                   cell);
    if (c->has[k])
        return bad(c, "column given twice", cell);
    if (k <= TIME_NS && (c->has[TIME_S] || c->has[TIME_MS] || c->has[TIME_US] || c->has[TIME_NS]))
        return bad(c, "a second time column; keep one", cell);
    c->has[k] = true;
    c->column[c->n_columns++] = (enum column)k;
    return FLINCH_OK;
}

static enum flinch_code check_header(struct csv *c)
{
    const char *what = NULL;
    if (!(c->has[TIME_S] || c->has[TIME_MS] || c->has[TIME_US] || c->has[TIME_NS]))
        what = "no time column; the header needs one of time_s, time_ms, time_us, time_ns";
    else if (c->n_columns < 2)
        what =
            "only a time column; the header needs at least one of dx, dy, wheel, button, stick_x, "
            "stick_y";
    else if (c->has[BUTTON] != c->has[STATE])
        what = "columns button and state belong together; one is missing";
    if (what)
        return fl_fail(c->err, FLINCH_ERR_FORMAT, "%s:%zu: %s", c->path, c->line, what);
    c->out->has_motion = c->has[DX] || c->has[DY];
    c->out->has_buttons = c->has[BUTTON];
    c->out->has_stick = c->has[STICK_X] || c->has[STICK_Y];
    return FLINCH_OK;
}

static enum flinch_code read_header(struct csv *c, const char *line, const char *end)
{
    if (end - line >= 3 && memcmp(line, "\xEF\xBB\xBF", 3) == 0)
        line += 3;
    for (const char *at = line; at;) {
        enum flinch_code code = add_column(c, next_cell(&at, end));
        if (code != FLINCH_OK)
            return code;
    }
    return check_header(c);
}

/* ---- rows ---- */

static void store(struct fl_event *e, enum column k, double v)
{
    switch (k) {
    case DX: e->dx = (float)v; break;
    case DY: e->dy = (float)v; break;
    case WHEEL: e->wheel = (float)v; break;
    case BUTTON: e->button = (int)v; break;
    case STATE: e->state = (int)v; break;
    case STICK_X: e->stick_x = (float)v; break;
    case STICK_Y: e->stick_y = (float)v; break;
    default: e->time_s = v / ticks_per_s[k]; break;
    }
}

static enum flinch_code read_cell(struct csv *c, struct fl_event *e, enum column k,
                                  struct cell cell)
{
    double v;
    if (cell.size == 0 && k > TIME_NS)
        return FLINCH_OK; /* nothing of this kind in this row */
    if (!fl_parse_number(cell.text, cell.size, &v)) {
        char what[48];
        snprintf(what, sizeof what, "%s is not a number", columns[k].name);
        return bad(c, what, cell);
    }
    if (v < columns[k].low || v > columns[k].high || (columns[k].whole && v != floor(v))) {
        char what[96];
        snprintf(what, sizeof what, "%s is not %s from %g to %g", columns[k].name,
                 columns[k].whole ? "a whole number" : "a number", columns[k].low, columns[k].high);
        return bad(c, what, cell);
    }
    store(e, k, v);
    return FLINCH_OK;
}

/* Rows of one time are one report. A second button in it becomes an event of its own, as close
 * behind as a double can say. */
static bool merge(struct csv *c, struct fl_event *e)
{
    struct fl_event *last = &c->out->events[c->out->n - 1];
    c->out->merged++;
    if (last->button && e->button) {
        e->time_s = nextafter(last->time_s, INFINITY);
        return false;
    }
    last->dx += e->dx;
    last->dy += e->dy;
    last->wheel += e->wheel;
    if (e->button) {
        last->button = e->button;
        last->state = e->state;
    }
    if (!isnan(e->stick_x))
        last->stick_x = e->stick_x;
    if (!isnan(e->stick_y))
        last->stick_y = e->stick_y;
    return true;
}

static void keep(struct csv *c, struct fl_event e)
{
    const double time_s = e.time_s;
    if (c->have_row && time_s < c->last_time_s) {
        c->out->backward++;
        return;
    }
    const bool same = c->have_row && time_s == c->last_time_s;
    c->have_row = true;
    c->last_time_s = time_s;
    if (!same || !merge(c, &e))
        FL_PUSH(c->out->events, c->out->n, c->cap, e);
}

static enum flinch_code read_row(struct csv *c, const char *line, const char *end)
{
    struct fl_event e = {.stick_x = NAN, .stick_y = NAN};
    int k = 0;
    const char *at = line;
    for (; at && k < c->n_columns; k++) {
        const enum flinch_code code = read_cell(c, &e, c->column[k], next_cell(&at, end));
        if (code != FLINCH_OK)
            return code;
    }
    if (at || k < c->n_columns)
        return fl_fail(c->err, FLINCH_ERR_FORMAT,
                       "%s:%zu: the row has %s cells than the header (%d); mend or delete the row",
                       c->path, c->line, at ? "more" : "fewer", c->n_columns);
    keep(c, e);
    return FLINCH_OK;
}

static enum flinch_code read_line(struct csv *c, const char *line, const char *end)
{
    c->line++;
    if (end > line && end[-1] == '\r')
        end--;
    if (end == line && c->n_columns > 0)
        return FLINCH_OK;
    return c->n_columns == 0 ? read_header(c, line, end) : read_row(c, line, end);
}

/* ---- the file ---- */

static enum flinch_code too_long(struct csv *c)
{
    return fl_fail(c->err, FLINCH_ERR_FORMAT,
                   "%s:%zu: a line of more than %d characters; is this a trace?", c->path,
                   c->line + 1, LINE_LIMIT);
}

/* All whole lines of the buffer; *rest is what follows the last. */
static enum flinch_code read_lines(struct csv *c, const char *buffer, size_t size, size_t *rest)
{
    const char *at = buffer, *end = buffer + size, *stop;
    enum flinch_code code = FLINCH_OK;
    while (code == FLINCH_OK && (stop = memchr(at, '\n', (size_t)(end - at))) != NULL) {
        code = stop - at > LINE_LIMIT ? too_long(c) : read_line(c, at, stop);
        at = stop + 1;
    }
    *rest = (size_t)(end - at);
    return code == FLINCH_OK && *rest > LINE_LIMIT ? too_long(c) : code;
}

/* Without its line end the last line may be half of one, so it is not believed. */
static enum flinch_code finish(struct csv *c, const char *rest, size_t size)
{
    enum flinch_code code = FLINCH_OK;
    if (size > 0 && c->n_columns == 0)
        code = read_line(c, rest, rest + size);
    else if (size > 0)
        c->out->cut++;
    if (code == FLINCH_OK && c->line == 0)
        return fl_fail(c->err, FLINCH_ERR_EMPTY, "%s: the trace is empty; log or copy it again",
                       c->path);
    if (code == FLINCH_OK && c->out->n == 0)
        return fl_fail(c->err, FLINCH_ERR_EMPTY,
                       "%s: the trace has a header but no complete row; log or copy it again",
                       c->path);
    return code;
}

static enum flinch_code read_csv(struct fl_trace *out, FILE *stream, const char *path,
                                 struct fl_error *err)
{
    struct csv c = {.out = out, .path = path, .err = err};
    char *buffer = fl_calloc(CHUNK + LINE_LIMIT, 1);
    size_t kept = 0, got;
    enum flinch_code code = FLINCH_OK;
    while (code == FLINCH_OK && (got = fread(buffer + kept, 1, CHUNK, stream)) > 0) {
        size_t rest;
        code = read_lines(&c, buffer, kept + got, &rest);
        if (code == FLINCH_OK)
            memmove(buffer, buffer + kept + got - rest, rest);
        kept = rest;
    }
    if (code == FLINCH_OK)
        code = finish(&c, buffer, kept);
    free(buffer);
    return code;
}

static bool looks_like_csv(const char *head, size_t size)
{
    return memchr(head, 0, size) == NULL;
}

const struct fl_trace_reader fl_trace_csv = {"csv", looks_like_csv, read_csv};
