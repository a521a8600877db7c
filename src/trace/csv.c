/* Traces as tables of text: a header, then a row a report. What it does with rows that are not as
 * they should be stands in read_trace.h. */
#include "trace/reader.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "trace/csv_cell.h"
#include "trace/csv_header.h"
#include "trace/event_list.h"
#include "trace/stick_survey.h"

enum { LINE_LIMIT = 4096, CHUNK = 1 << 20 };

static const struct {
    double low, high; /* range of a cell */
    bool whole;
} ranges[FL_TRACE_COLUMNS] = {
    [FL_TRACE_COLUMN_TIME_S] = {-1e10, 1e10, false},
    [FL_TRACE_COLUMN_TIME_MS] = {-1e13, 1e13, false},
    [FL_TRACE_COLUMN_TIME_US] = {-1e16, 1e16, false},
    [FL_TRACE_COLUMN_TIME_NS] = {-1e19, 1e19, false},
    [FL_TRACE_COLUMN_DX] = {-1e6, 1e6, false},
    [FL_TRACE_COLUMN_DY] = {-1e6, 1e6, false},
    [FL_TRACE_COLUMN_X] = {-1e8, 1e8, false},
    [FL_TRACE_COLUMN_Y] = {-1e8, 1e8, false},
    [FL_TRACE_COLUMN_WHEEL] = {-1e6, 1e6, false},
    [FL_TRACE_COLUMN_BUTTON] = {0, 1023, true},
    [FL_TRACE_COLUMN_STATE] = {0, 1, true},
    [FL_TRACE_COLUMN_STICK_X] = {-1, 1, false},
    [FL_TRACE_COLUMN_STICK_Y] = {-1, 1, false},
};
static const double stick_units = 1e6; /* a mapped stick may come in units of its own, up to this */
static const double ticks_per_s[] = {1, 1e3, 1e6, 1e9};

struct csv {
    struct fl_event_list list;
    struct fl_csv_header header;
    const struct fl_trace_columns *columns;
    const char *path;
    struct fl_error *err;
    size_t line;
    double place[2]; /* last position */
    bool ended;      /* nothing that follows is a row */
};

static enum flinch_code bad(const struct csv *c, const char *what, struct fl_csv_cell cell)
{
    const int shown = cell.size > 40 ? 40 : (int)cell.size;
    return fl_fail(c->err, FLINCH_ERR_FORMAT, "%s:%zu: %s: '%.*s'", c->path, c->line, what, shown,
                   cell.text);
}

/* ---- rows ---- */

/* A row's cells before it is known to be kept. */
struct row {
    struct fl_event event;
    double place[2]; /* NaN: not told */
    bool motion, stick;
};

static void store(struct row *r, enum fl_column k, double v)
{
    struct fl_event *e = &r->event;
    switch (k) {
    case FL_TRACE_COLUMN_DX: e->dx = (float)v; break;
    case FL_TRACE_COLUMN_DY: e->dy = (float)v; break;
    case FL_TRACE_COLUMN_X: r->place[0] = v; break;
    case FL_TRACE_COLUMN_Y: r->place[1] = v; break;
    case FL_TRACE_COLUMN_WHEEL: e->wheel = (float)v; break;
    case FL_TRACE_COLUMN_BUTTON: e->button = (int)v; break;
    case FL_TRACE_COLUMN_STATE: e->state = (int)v; break;
    case FL_TRACE_COLUMN_STICK_X: e->stick_x = (float)v; break;
    case FL_TRACE_COLUMN_STICK_Y: e->stick_y = (float)v; break;
    default: e->time_s = v / ticks_per_s[k]; break;
    }
    r->motion |= k >= FL_TRACE_COLUMN_DX && k <= FL_TRACE_COLUMN_Y;
    r->stick |= k == FL_TRACE_COLUMN_STICK_X || k == FL_TRACE_COLUMN_STICK_Y;
}

static bool mapped_stick(const struct csv *c, enum fl_column k)
{
    return (k == FL_TRACE_COLUMN_STICK_X || k == FL_TRACE_COLUMN_STICK_Y) &&
           c->columns->named[k][0];
}

static enum flinch_code read_cell(struct csv *c, struct row *r, enum fl_column k,
                                  struct fl_csv_cell cell)
{
    double v;
    if (cell.size == 0 && k > FL_TRACE_COLUMN_TIME_NS)
        return FLINCH_OK; /* nothing of this kind in this row */
    if (!fl_csv_number(cell, c->header.separator != ',', &v)) {
        char what[48];
        snprintf(what, sizeof what, "%s is not a number", fl_column_names[k]);
        return bad(c, what, cell);
    }
    const double low = mapped_stick(c, k) ? -stick_units : ranges[k].low;
    const double high = mapped_stick(c, k) ? stick_units : ranges[k].high;
    if (v < low || v > high || (ranges[k].whole && v != floor(v))) {
        char what[96];
        snprintf(what, sizeof what, "%s is not %s from %g to %g", fl_column_names[k],
                 ranges[k].whole ? "a whole number" : "a number", low, high);
        return bad(c, what, cell);
    }
    store(r, k, v);
    return FLINCH_OK;
}

/* Positions become steps, of rows that are kept. */
static void keep(struct csv *c, struct row *r)
{
    struct fl_trace *t = c->list.out;
    const size_t dropped = t->backward;
    float *step[2] = {&r->event.dx, &r->event.dy};
    for (int i = 0; i < 2; i++)
        if (!isnan(r->place[i]) && !isnan(c->place[i]))
            *step[i] = (float)(r->place[i] - c->place[i]);
    fl_event_list_add(&c->list, r->event, 0);
    if (t->backward != dropped)
        return;
    for (int i = 0; i < 2; i++)
        c->place[i] = isnan(r->place[i]) ? c->place[i] : r->place[i];
    t->has_motion |= r->motion;
    t->has_buttons |= r->event.button != 0;
    t->has_stick |= r->stick;
}

/* A separator at the end of a line parts nothing. */
static bool only_empty(const char *at, const char *end, char separator)
{
    while (at)
        if (fl_csv_next(&at, end, separator).size > 0)
            return false;
    return true;
}

static enum flinch_code read_row(struct csv *c, const char *line, const char *end)
{
    const struct fl_csv_header *h = &c->header;
    struct row r = {.event = {.stick_x = NAN, .stick_y = NAN}, .place = {NAN, NAN}};
    int k = 0;
    const char *at = line;
    for (; at && k < h->n; k++) {
        const struct fl_csv_cell cell = fl_csv_next(&at, end, h->separator);
        const enum flinch_code code =
            h->column[k] < FL_TRACE_COLUMNS ? read_cell(c, &r, h->column[k], cell) : FLINCH_OK;
        if (code)
            return code;
    }
    const bool more = !only_empty(at, end, h->separator);
    if (more || k < h->n)
        return fl_fail(c->err, FLINCH_ERR_FORMAT,
                       "%s:%zu: the row has %s cells than the header (%d); mend or delete the row",
                       c->path, c->line, more ? "more" : "fewer", h->n);
    keep(c, &r);
    return FLINCH_OK;
}

/* ---- lines ---- */

static bool begins(const char *line, const char *end, const char *with)
{
    const size_t n = strlen(with);
    return (size_t)(end - line) >= n && memcmp(line, with, n) == 0;
}

/* "sep=;" is how spreadsheets are told the separator; it is found here anyway. */
static bool comment(const char *line, const char *end)
{
    return begins(line, end, "#") || begins(line, end, "//") || begins(line, end, "sep=");
}

static enum flinch_code read_line(struct csv *c, const char *line, const char *end)
{
    const bool headed = c->header.n > 0;
    if (++c->line == 1 && begins(line, end, "\xEF\xBB\xBF"))
        line += 3;
    if (end > line && end[-1] == '\r')
        end--;
    if (comment(line, end) || (end == line && headed))
        return FLINCH_OK;
    if (!headed)
        return fl_csv_header_read(&c->header, c->list.out, line, end, c->columns, c->path, c->line,
                                  c->err);
    if (*line == 0) { /* what a power cut leaves of a file */
        c->ended = true;
        c->list.out->cut++;
        return FLINCH_OK;
    }
    const enum flinch_code code = read_row(c, line, end);
    c->ended = c->list.full;
    return code;
}

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
    while (code == FLINCH_OK && !c->ended &&
           (stop = memchr(at, '\n', (size_t)(end - at))) != NULL) {
        code = stop - at > LINE_LIMIT ? too_long(c) : read_line(c, at, stop);
        at = stop + 1;
    }
    *rest = c->ended ? 0 : (size_t)(end - at);
    if (code == FLINCH_OK && *rest > LINE_LIMIT && *at == 0 && c->header.n > 0)
        return read_line(c, at, at + 1);
    return code == FLINCH_OK && *rest > LINE_LIMIT ? too_long(c) : code;
}

/* ---- the file ---- */

/* Without its line end the last line may be half of one, so it is not believed. */
static enum flinch_code finish(struct csv *c, const char *rest, size_t size)
{
    enum flinch_code code = FLINCH_OK;
    if (size > 0 && c->header.n == 0)
        code = read_line(c, rest, rest + size);
    else if (size > 0 && !c->ended)
        c->list.out->cut++;
    if (code == FLINCH_OK && c->header.n == 0)
        return fl_fail(c->err, FLINCH_ERR_EMPTY, "%s: the trace is empty; log or copy it again",
                       c->path);
    if (code == FLINCH_OK && c->list.out->n == 0)
        return fl_fail(c->err, FLINCH_ERR_EMPTY,
                       "%s: the trace has a header but no complete row; log or copy it again",
                       c->path);
    return code;
}

static double axis_value(const struct fl_event *e, int i)
{
    return (double)(i ? e->stick_y : e->stick_x);
}

/* A mapped stick in units of its own becomes -1..1. */
static void scale_stick(struct csv *c)
{
    struct fl_trace *t = c->list.out;
    struct fl_stick_survey *survey = fl_stick_survey_new();
    struct fl_stick_choice choice;
    bool beyond = false;
    for (size_t k = 0; k < t->n; k++) {
        struct fl_input_report r = {.time_s = t->events[k].time_s};
        for (int i = 0; i < 2; i++) {
            const double v = axis_value(&t->events[k], i);
            const bool absent =
                !c->header.has[i ? FL_TRACE_COLUMN_STICK_Y : FL_TRACE_COLUMN_STICK_X];
            beyond |= fabs(v) > 1;
            r.axes |= (!isnan(v) || absent) ? 1u << i : 0;
            r.axis[i] = isnan(v) ? 0 : (int32_t)lrint(v);
        }
        fl_stick_survey_add(survey, &r);
    }
    fl_stick_survey_choose(survey, &choice);
    fl_stick_survey_free(&survey);
    if (!beyond)
        return;
    t->stick = choice.stick;
    t->has_stick = choice.stick.known;
    for (size_t k = 0; k < t->n; k++) {
        struct fl_event *e = &t->events[k];
        if (!isnan(e->stick_x))
            e->stick_x = (float)fl_stick_value(&t->stick, 0, (int32_t)lrintf(e->stick_x));
        if (!isnan(e->stick_y))
            e->stick_y = (float)fl_stick_value(&t->stick, 1, (int32_t)lrintf(e->stick_y));
    }
}

static enum flinch_code read_csv(struct fl_trace *out, FILE *stream, const char *path,
                                 const struct fl_trace_columns *columns, struct fl_error *err)
{
    struct csv c = {
        .list = {.out = out}, .columns = columns, .path = path, .err = err, .place = {NAN, NAN}};
    char *buffer = fl_calloc(CHUNK + LINE_LIMIT, 1);
    size_t kept = 0, got;
    enum flinch_code code = FLINCH_OK;
    while (code == FLINCH_OK && !c.ended && (got = fread(buffer + kept, 1, CHUNK, stream)) > 0) {
        size_t rest;
        code = read_lines(&c, buffer, kept + got, &rest);
        if (code == FLINCH_OK)
            memmove(buffer, buffer + kept + got - rest, rest);
        kept = rest;
    }
    if (code == FLINCH_OK)
        code = finish(&c, buffer, kept);
    free(buffer);
    if (code == FLINCH_OK &&
        (mapped_stick(&c, FL_TRACE_COLUMN_STICK_X) || mapped_stick(&c, FL_TRACE_COLUMN_STICK_Y)))
        scale_stick(&c);
    return code;
}

/* Zeros may follow the text, not begin it. */
static bool looks_like_csv(const char *head, size_t size)
{
    const char *stop = memchr(head, '\n', size);
    return memchr(head, 0, stop ? (size_t)(stop - head) : size) == NULL;
}

const struct fl_trace_reader fl_trace_csv = {"csv", looks_like_csv, read_csv};
