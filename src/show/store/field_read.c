/* JSON objects → structures. */
#include <limits.h>
#include <stdio.h>
#include <string.h>

#include "show/store/fields.h"

void fl_reader_complain(struct fl_reader *r, const char *name, const char *problem)
{
    if (!r->bad)
        snprintf(r->what, sizeof r->what, "\"%s\" %s", name, problem);
    r->bad = true;
}

void fl_document_check(struct fl_reader *r, const json_t *file, const struct fl_document *d)
{
    const char *format = json_string_value(json_object_get(file, "format"));
    char problem[80];
    snprintf(problem, sizeof problem, "is not %s", d->format);
    if (!format || strcmp(format, d->format))
        fl_reader_complain(r, "format", problem);
    if (json_integer_value(json_object_get(file, "version")) != d->version)
        fl_reader_complain(r, "version", "is not one that this flinch reads");
}

double fl_read_number(struct fl_reader *r, const json_t *value, const char *name)
{
    if (json_is_number(value))
        return json_number_value(value);
    if (!json_is_null(value))
        fl_reader_complain(r, name, value ? "is not a number" : "is missing");
    return FL_UNKNOWN;
}

const char *fl_read_text(struct fl_reader *r, const json_t *value, const char *name)
{
    if (json_is_string(value))
        return fl_arena_strdup(r->arena, json_string_value(value));
    if (!json_is_null(value))
        fl_reader_complain(r, name, value ? "is not text" : "is missing");
    return NULL;
}

static bool is_of(struct fl_reader *r, const json_t *value, const char *name, bool right)
{
    if (!right)
        fl_reader_complain(r, name, value ? "has the wrong type" : "is missing");
    return right;
}

/* By the size of an int or enumeration, a bool, a long or size_t. */
static void store_whole(void *p, size_t size, long v)
{
    if (size == sizeof(bool))
        *(bool *)p = v != 0;
    else if (size == sizeof(int))
        *(int *)p = (int)v;
    else
        *(long *)p = v;
}

static long least(const struct fl_field *f)
{
    return f->size == sizeof(bool) ? 0 : f->size == sizeof(int) ? INT_MIN : LONG_MIN;
}

static long most(const struct fl_field *f)
{
    return f->size == sizeof(bool) ? 1 : f->size == sizeof(int) ? INT_MAX : LONG_MAX;
}

bool fl_field_holds(const struct fl_field *f, long long v)
{
    return v >= least(f) && v <= most(f);
}

void fl_field_set_whole(const struct fl_field *f, void *p, long v)
{
    store_whole(p, f->size, v);
}

void fl_field_set_figure(const struct fl_field *f, void *p, double v)
{
    if (f->size == sizeof(float))
        *(float *)p = (float)v;
    else
        *(double *)p = v;
}

static void read_whole(struct fl_reader *r, const struct fl_field *f, const json_t *value, void *p)
{
    json_int_t v = json_integer_value(value);
    char problem[40] = "";
    if (f->null && json_is_null(value))
        store_whole(p, f->size, 0);
    else if (!json_is_integer(value))
        snprintf(problem, sizeof problem, value ? "is not a whole number" : "is missing");
    else if (f->range && (double)v < f->range->low)
        snprintf(problem, sizeof problem, "is below %.10g", f->range->low);
    else if (!fl_field_holds(f, v))
        snprintf(problem, sizeof problem, "is beyond %ld", v < 0 ? least(f) : most(f));
    else
        store_whole(p, f->size, (long)v);
    if (*problem)
        fl_reader_complain(r, f->name, problem);
}

/* The number of the word that value names; one past the last where null may stand and does. */
static int word_number(struct fl_reader *r, const struct fl_field *f, const json_t *value)
{
    const char *found = json_string_value(value);
    char words[120] = "is none of ";
    int i = 0;
    for (const char *word; (word = f->word(i)); i++) {
        if (found && !strcmp(found, word))
            return i;
        size_t used = strlen(words);
        snprintf(words + used, sizeof words - used, "%s%s", i ? ", " : "", word);
    }
    if (!(f->null && json_is_null(value)))
        fl_reader_complain(r, f->name, value ? words : "is missing");
    return f->null ? i : 0;
}

static unsigned read_words(struct fl_reader *r, const struct fl_field *f, const json_t *value)
{
    unsigned bits = 0;
    if (!is_of(r, value, f->name, json_is_array(value)))
        return 0;
    for (size_t i = 0; i < json_array_size(value); i++)
        bits |= 1u << word_number(r, f, json_array_get(value, i));
    return bits;
}

static enum fl_answer read_answer(struct fl_reader *r, const struct fl_field *f,
                                  const json_t *value)
{
    if (!json_is_boolean(value) && !json_is_null(value))
        fl_reader_complain(r, f->name, value ? "is none of true, false, null" : "is missing");
    return json_is_true(value) ? FL_YES : json_is_false(value) ? FL_NO : FL_ANSWER_UNKNOWN;
}

static void read_value(struct fl_reader *r, const struct fl_field *f, const json_t *value, void *p);

static void read_pair(struct fl_reader *r, const struct fl_field *f, const json_t *value, double *p)
{
    if (!is_of(r, value, f->name, json_array_size(value) == 2))
        return;
    p[0] = fl_read_number(r, json_array_get(value, 0), f->name);
    p[1] = fl_read_number(r, json_array_get(value, 1), f->name);
}

static void read_list(struct fl_reader *r, const struct fl_field *f, const json_t *value,
                      char *base)
{
    size_t n = json_array_size(value);
    is_of(r, value, f->name, json_is_array(value));
    char *items =
        f->malloced ? fl_calloc(n + 1, f->size) : fl_arena_alloc(r->arena, n + 1, f->size);
    for (size_t i = 0; i < n && !r->bad; i++) {
        if (f->fields)
            fl_fields_read(r, json_array_get(value, i), items + i * f->size, f->fields);
        else
            read_value(r, f->item, json_array_get(value, i), items + i * f->size);
    }
    memcpy(base + f->offset, &items, sizeof items);
    store_whole(base + f->count, f->count_size, (long)n);
}

static void read_value(struct fl_reader *r, const struct fl_field *f, const json_t *value, void *p)
{
    const char *text;
    switch (f->kind) {
    case FL_FIELD_TIME:
    case FL_FIELD_GIVEN:
    case FL_FIELD_FIGURE:
    case FL_FIELD_FIGURE5: fl_field_set_figure(f, p, fl_read_number(r, value, f->name)); break;
    case FL_FIELD_WHOLE: read_whole(r, f, value, p); break;
    case FL_FIELD_BOOL:
        if (is_of(r, value, f->name, json_is_boolean(value)))
            *(bool *)p = json_is_true(value);
        break;
    case FL_FIELD_ANSWER: *(enum fl_answer *)p = read_answer(r, f, value); break;
    case FL_FIELD_TEXT:
    case FL_FIELD_PATH: *(const char **)p = fl_read_text(r, value, f->name); break;
    case FL_FIELD_CHARS:
        text = fl_read_text(r, value, f->name);
        snprintf(p, f->size, "%s", text ? text : "");
        break;
    case FL_FIELD_WORD: store_whole(p, f->size, word_number(r, f, value)); break;
    case FL_FIELD_WORDS: *(unsigned *)p = read_words(r, f, value); break;
    case FL_FIELD_OBJECT:
        if (is_of(r, value, f->name, json_is_object(value)))
            fl_fields_read(r, value, p, f->fields);
        break;
    case FL_FIELD_PAIR: read_pair(r, f, value, p); break;
    case FL_FIELD_LIST: read_list(r, f, value, (char *)p - f->offset); break;
    case FL_FIELD_PART:
    case FL_FIELD_QUANTITIES: break; /* of several names: below */
    }
}

static void read_quantities(struct fl_reader *r, const json_t *object, const char *prefix,
                            double *v)
{
    char name[FL_COLUMN_SIZE];
    for (int q = 0; q < FL_QUANTITIES; q++) {
        fl_quantity_column(name, prefix, q);
        v[q] = fl_read_number(r, json_object_get(object, name), name);
    }
}

/* What an older file without the field means. */
static void read_nothing(struct fl_reader *r, const struct fl_field *f, char *base)
{
    json_t *empty = f->kind == FL_FIELD_LIST ? json_array() : json_null();
    char *p = base + f->offset;
    if (f->kind == FL_FIELD_WHOLE || f->kind == FL_FIELD_BOOL || f->kind == FL_FIELD_WORD)
        store_whole(p, f->size, f->lacking);
    else if (f->kind == FL_FIELD_WORDS)
        *(unsigned *)p = (unsigned)f->lacking;
    else if (f->kind <= FL_FIELD_GIVEN && !f->null)
        fl_field_set_figure(f, p, f->lacking);
    else if (f->kind == FL_FIELD_PAIR || f->kind == FL_FIELD_QUANTITIES)
        for (size_t i = 0; i < f->size / sizeof(double); i++)
            ((double *)p)[i] = FL_UNKNOWN;
    else if (f->kind == FL_FIELD_OBJECT || f->kind == FL_FIELD_PART)
        for (const struct fl_field *g = f->fields; g->name; g++)
            read_nothing(r, g, p);
    else /* what has a null of its own, and lists */
        read_value(r, f, empty, p);
    json_decref(empty);
}

static void read_field(struct fl_reader *r, const json_t *object, char *base,
                       const struct fl_field *f)
{
    const json_t *value = json_object_get(object, f->name);
    if (!value && f->optional)
        read_nothing(r, f, base);
    else if (f->take)
        f->take(r, value, base);
    else if (json_is_null(value) && !f->null)
        fl_reader_complain(r, f->name, "is null");
    else if (!f->make)
        read_value(r, f, value, base + f->offset);
}

void fl_fields_read(struct fl_reader *r, const json_t *object, void *base,
                    const struct fl_field *fields)
{
    for (const struct fl_field *f = fields; f->name; f++) {
        char *p = (char *)base + f->offset;
        if (f->through || f->as)
            continue;
        if (f->kind == FL_FIELD_PART)
            fl_fields_read(r, object, p, f->fields);
        else if (f->kind == FL_FIELD_QUANTITIES)
            read_quantities(r, object, f->name, (double *)p);
        else
            read_field(r, object, base, f);
    }
}
