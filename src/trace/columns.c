/* A mapping of CSV columns, from text or pair by pair. */
#include "trace/columns.h"

#include <stdio.h>
#include <string.h>

const char *const fl_column_names[FL_TRACE_COLUMNS] = {
    "time_s", "time_ms", "time_us", "time_ns", "dx",      "dy",      "x",
    "y",      "wheel",   "button",  "state",   "stick_x", "stick_y",
};

bool fl_trace_columns_any(const struct fl_trace_columns *c)
{
    for (int k = 0; k < FL_TRACE_COLUMNS; k++)
        if (c->named[k][0])
            return true;
    return false;
}

static bool maps_time(const struct fl_trace_columns *c)
{
    return c->named[FL_TRACE_COLUMN_TIME_S][0] || c->named[FL_TRACE_COLUMN_TIME_MS][0] ||
           c->named[FL_TRACE_COLUMN_TIME_US][0] || c->named[FL_TRACE_COLUMN_TIME_NS][0];
}

enum flinch_code fl_trace_columns_map(struct fl_trace_columns *c, const char *known,
                                      const char *named, struct fl_error *err)
{
    int k = 0;
    while (k < FL_TRACE_COLUMNS && strcmp(fl_column_names[k], known) != 0)
        k++;
    if (k == FL_TRACE_COLUMNS)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "'%.40s' is no column of a trace; map time_s, time_ms, time_us or time_ns, "
                       "dx, dy, x, y, wheel, button, state, stick_x, stick_y",
                       known);
    if (c->named[k][0])
        return fl_fail(err, FLINCH_ERR_USAGE, "%s is mapped twice; keep one", known);
    if (k <= FL_TRACE_COLUMN_TIME_NS && maps_time(c))
        return fl_fail(err, FLINCH_ERR_USAGE, "%s is a second time column; keep one", known);
    if (!*named || strlen(named) >= sizeof c->named[k])
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "%s needs the name of a column of the trace, of 1 to %zu characters", known,
                       sizeof c->named[k] - 1);
    snprintf(c->named[k], sizeof c->named[k], "%s", named);
    return FLINCH_OK;
}

/* Copies up to a comma, or what stands in quotes; NULL where quotes stay open. */
static const char *next_name(char *out, size_t size, const char *at)
{
    size_t n = 0;
    const bool quoted = *at == '"';
    bool closed = !quoted;
    for (at += quoted; *at && (quoted || *at != ','); at++) {
        if (quoted && *at == '"' && *++at != '"') {
            closed = true;
            break;
        }
        if (n + 1 < size)
            out[n++] = *at;
    }
    out[n] = 0;
    if (!closed || (*at && *at != ','))
        return NULL;
    return *at ? at + 1 : at;
}

enum flinch_code fl_trace_columns_parse(struct fl_trace_columns *c, const char *text,
                                        struct fl_error *err)
{
    char known[16], named[256];
    memset(c, 0, sizeof *c);
    for (const char *at = text; at && (*at || at == text);) {
        const size_t n = strcspn(at, "=");
        snprintf(known, sizeof known, "%.*s", (int)(n < 15 ? n : 15), at);
        at = at[n] ? next_name(named, sizeof named, at + n + 1) : NULL;
        if (!at)
            return fl_fail(err, FLINCH_ERR_USAGE,
                           "'%.80s' is no list of columns; write it like 'time_ms=Stamp "
                           "(ms),dx=Move X,dy=Move Y'",
                           text);
        const enum flinch_code code = fl_trace_columns_map(c, known, named, err);
        if (code)
            return code;
    }
    return FLINCH_OK;
}
