/* libyaml's events, one at a time: no document is built, so depth and size stay bounded. */
#include "study/input/yaml_events.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"

enum flinch_code fl_yaml_fail(struct fl_yaml *y, struct fl_place at, const char *fmt, ...)
{
    char text[sizeof y->err->text];
    va_list args;
    va_start(args, fmt);
    vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    return fl_fail(y->err, FLINCH_ERR_SESSION, "%s:%u:%u: %s", y->path, at.line, at.column, text);
}

static struct fl_place place_of(yaml_mark_t mark)
{
    return (struct fl_place){(unsigned)mark.line + 1, (unsigned)mark.column + 1};
}

/* Bad encoding comes with a byte offset and no mark. */
static struct fl_place place_of_offset(const struct fl_yaml *y, size_t offset)
{
    struct fl_place at = {1, 1};
    for (size_t i = 0; i < offset && i < y->size; i++) {
        at.column++;
        if (y->data[i] == '\n')
            at = (struct fl_place){at.line + 1, 1};
    }
    return at;
}

static enum flinch_code syntax_error(struct fl_yaml *y)
{
    const yaml_parser_t *p = &y->parser;
    const char *problem = p->problem ? p->problem : "not YAML";
    if (p->error == YAML_READER_ERROR)
        return fl_yaml_fail(y, place_of_offset(y, p->problem_offset), "%s; save the file as UTF-8",
                            problem);
    return fl_yaml_fail(y, place_of(p->problem_mark), "%s; mend the YAML here or just above",
                        problem);
}

static enum flinch_code check_decoration(struct fl_yaml *y)
{
    const yaml_event_t *e = &y->event;
    const yaml_char_t *anchor = NULL, *tag = NULL;
    if (e->type == YAML_ALIAS_EVENT)
        return fl_yaml_fail(y, y->at, "aliases (*name) are not supported; write the value out");
    if (e->type == YAML_SCALAR_EVENT)
        anchor = e->data.scalar.anchor, tag = e->data.scalar.tag;
    if (e->type == YAML_MAPPING_START_EVENT)
        anchor = e->data.mapping_start.anchor, tag = e->data.mapping_start.tag;
    if (e->type == YAML_SEQUENCE_START_EVENT)
        anchor = e->data.sequence_start.anchor, tag = e->data.sequence_start.tag;
    if (anchor)
        return fl_yaml_fail(y, y->at, "anchors (&name) are not supported; take it out");
    if (tag)
        return fl_yaml_fail(y, y->at, "tags (!name) are not supported; take it out");
    return FLINCH_OK;
}

static enum flinch_code check_nesting(struct fl_yaml *y)
{
    if (y->type == YAML_MAPPING_START_EVENT || y->type == YAML_SEQUENCE_START_EVENT)
        y->depth++;
    if (y->type == YAML_MAPPING_END_EVENT || y->type == YAML_SEQUENCE_END_EVENT)
        y->depth--;
    if (y->depth > FL_YAML_DEPTH_LIMIT)
        return fl_yaml_fail(y, y->at, "nested deeper than %d levels; a session needs four",
                            FL_YAML_DEPTH_LIMIT);
    if (y->type == YAML_DOCUMENT_START_EVENT && y->documents++)
        return fl_yaml_fail(y, y->at, "a second document begins; keep one session a file");
    return FLINCH_OK;
}

enum flinch_code fl_yaml_next(struct fl_yaml *y)
{
    yaml_event_delete(&y->event);
    y->text = NULL;
    if (!yaml_parser_parse(&y->parser, &y->event)) {
        y->type = YAML_NO_EVENT;
        return syntax_error(y);
    }
    y->type = y->event.type;
    y->at = place_of(y->event.start_mark);
    if (y->type == YAML_SCALAR_EVENT) {
        y->text = (const char *)y->event.data.scalar.value;
        y->length = y->event.data.scalar.length;
        y->plain = y->event.data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
    }
    enum flinch_code code = check_decoration(y);
    return code ? code : check_nesting(y);
}

enum flinch_code fl_yaml_open(struct fl_yaml *y, const char *path, struct fl_error *err)
{
    *y = (struct fl_yaml){.path = path, .err = err};
    enum flinch_code code = fl_read_file(path, FL_YAML_SIZE_LIMIT, &y->data, &y->size, err);
    if (code)
        return code;
    if (!yaml_parser_initialize(&y->parser))
        return fl_yaml_fail(y, (struct fl_place){1, 1}, "out of memory");
    yaml_parser_set_input_string(&y->parser, (const unsigned char *)y->data, y->size);
    do
        code = fl_yaml_next(y);
    while (!code && (y->type == YAML_STREAM_START_EVENT || y->type == YAML_DOCUMENT_START_EVENT));
    if (!code && y->type == YAML_STREAM_END_EVENT)
        code = fl_yaml_fail(y, y->at, "the file is empty; write `session:` and `takes:`");
    return code;
}

enum flinch_code fl_yaml_end(struct fl_yaml *y)
{
    enum flinch_code code;
    do
        code = fl_yaml_next(y);
    while (!code && y->type != YAML_STREAM_END_EVENT);
    return code;
}

void fl_yaml_close(struct fl_yaml *y)
{
    if (!y->data)
        return;
    yaml_event_delete(&y->event);
    yaml_parser_delete(&y->parser);
    free(y->data);
    *y = (struct fl_yaml){0};
}
