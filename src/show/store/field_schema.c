/* Rows → keywords of JSON Schema (draft 2020-12, parts Core and Validation), and rows of Markdown.
 */
#include "show/store/field_schema.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "show/store/json_value.h"

/* The name of a field's type in JSON Schema; NULL: by its words. */
static const char *type_name(const struct fl_field *f)
{
    switch (f->kind) {
    case FL_FIELD_WHOLE: return "integer";
    case FL_FIELD_BOOL:
    case FL_FIELD_ANSWER: return "boolean";
    case FL_FIELD_TEXT: return f->word ? NULL : "string";
    case FL_FIELD_PATH:
    case FL_FIELD_CHARS: return "string";
    case FL_FIELD_WORD: return NULL;
    case FL_FIELD_WORDS:
    case FL_FIELD_PAIR:
    case FL_FIELD_LIST: return "array";
    case FL_FIELD_OBJECT:
    case FL_FIELD_PART: return "object";
    default: return "number";
    }
}

static int first_word(const struct fl_field *f)
{
    return f->range ? (int)f->range->low : 0;
}

static json_t *words_schema(const struct fl_field *f, bool null)
{
    json_t *words = json_array();
    for (int i = first_word(f); f->word(i); i++)
        fl_json_append(words, json_string(f->word(i)));
    if (null)
        fl_json_append(words, json_null());
    return words;
}

static bool always_true(const struct fl_field *f)
{
    return f->kind == FL_FIELD_BOOL && f->range && f->range->low > 0;
}

static void set_type(json_t *schema, const struct fl_field *f)
{
    const char *type = type_name(f);
    if (always_true(f))
        fl_json_set(schema, "const", json_true());
    else if (!type)
        fl_json_set(schema, "enum", words_schema(f, f->null));
    else if (f->null)
        fl_json_set(schema, "type", json_pack("[s, s]", type, "null"));
    else
        fl_json_set(schema, "type", json_string(type));
}

/* Ends of ranges are whole numbers as a rule, and read better without a point. */
static json_t *range_end(double x)
{
    return x == floor(x) ? json_integer((json_int_t)x) : json_real(x);
}

static void set_range(json_t *schema, const struct fl_range *range)
{
    if (range && isfinite(range->low))
        fl_json_set(schema, "minimum", range_end(range->low));
    if (range && isfinite(range->high))
        fl_json_set(schema, "maximum", range_end(range->high));
}

static void add_fields(json_t *properties, json_t *required, const struct fl_field *fields,
                       bool all);
static json_t *field_schema(const struct fl_field *f, const char *meaning);

static void set_fields(json_t *schema, json_t *properties, json_t *required,
                       const struct fl_field *fields)
{
    add_fields(properties, required, fields, true);
    fl_json_set(schema, "required", required);
    fl_json_set(schema, "properties", properties);
    fl_json_set(schema, "additionalProperties", json_true());
}

static json_t *item_schema(const struct fl_field *f)
{
    if (f->item)
        return field_schema(f->item, f->item_meaning ? f->item_meaning : f->item->meaning);
    if (f->word)
        return json_pack("{s: o}", "enum", words_schema(f, false));
    const struct fl_field object = {"", FL_FIELD_OBJECT, .fields = f->fields};
    return field_schema(&object, f->item_meaning);
}

static json_t *field_schema(const struct fl_field *f, const char *meaning)
{
    json_t *schema = json_object();
    set_type(schema, f);
    if (f->kind != FL_FIELD_WORD && f->kind != FL_FIELD_BOOL)
        set_range(schema, f->range);
    if (f->pattern)
        fl_json_set(schema, "pattern", json_string(f->pattern));
    if (meaning)
        fl_json_set(schema, "description", json_string(meaning));
    if (f->kind == FL_FIELD_PAIR) {
        fl_json_set(schema, "minItems", json_integer(2));
        fl_json_set(schema, "maxItems", json_integer(2));
    }
    if (!strcmp(type_name(f) ? type_name(f) : "", "array"))
        fl_json_set(schema, "items", item_schema(f));
    if (f->kind == FL_FIELD_OBJECT && f->fields)
        set_fields(schema, json_object(), json_array(), f->fields);
    return schema;
}

static void add_field(json_t *properties, json_t *required, const char *name, json_t *schema,
                      bool always)
{
    fl_json_set(properties, name, schema);
    if (always)
        fl_json_append(required, json_string(name));
}

static void add_quantities(json_t *properties, json_t *required, const struct fl_field *f,
                           bool always)
{
    char name[FL_COLUMN_SIZE], meaning[400];
    const struct fl_field number = {"", FL_FIELD_FIGURE, FL_FROM_ZERO, FL_OR_NULL};
    for (int q = 0; q < FL_QUANTITIES; q++) {
        snprintf(meaning, sizeof meaning, "%s: %s", f->meaning,
                 fl_quantity_info((enum fl_quantity)q)->meaning);
        add_field(properties, required, fl_quantity_column(name, f->name, (enum fl_quantity)q),
                  field_schema(&number, meaning), always);
    }
}

/* all: every file has those that are not optional; else the whole part may be missing. */
static void add_fields(json_t *properties, json_t *required, const struct fl_field *fields,
                       bool all)
{
    for (const struct fl_field *f = fields; f->name; f++) {
        bool always = all && !f->optional;
        if (f->kind == FL_FIELD_PART)
            add_fields(properties, required, f->fields, always && !f->null);
        else if (f->kind == FL_FIELD_QUANTITIES)
            add_quantities(properties, required, f, always);
        else
            add_field(properties, required, f->name, field_schema(f, f->meaning), always);
    }
}

json_t *fl_document_schema(const struct fl_document *d)
{
    json_t *schema = json_object(), *properties = json_object(), *required = json_array();
    fl_json_set(schema, "$schema", json_string("https://json-schema.org/draft/2020-12/schema"));
    fl_json_set(schema, "$id", json_sprintf("%s.schema.json", d->name));
    fl_json_set(schema, "title", json_string(d->title));
    fl_json_set(schema, "type", json_string("object"));
    fl_json_set(schema, "description", json_string(d->meaning));
    add_field(properties, required, "format",
              json_pack("{s: s, s: s}", "const", d->format, "description", "Name of this format."),
              true);
    add_field(properties, required, "version",
              json_pack("{s: i, s: s}", "const", d->version, "description",
                        "Version of this format; raised when a field changes its meaning or goes."),
              true);
    set_fields(schema, properties, required, d->fields);
    return schema;
}

/* ---- the list ---- */

static void put_range(FILE *out, const struct fl_range *range)
{
    if (range && isfinite(range->low) && isfinite(range->high))
        fprintf(out, ", %.10g to %.10g", range->low, range->high);
    else if (range && isfinite(range->low))
        fprintf(out, " from %.10g", range->low);
}

static void put_words(FILE *out, const struct fl_field *f)
{
    for (int i = first_word(f); f->word(i); i++)
        fprintf(out, "%s`%s`", i > first_word(f) ? ", " : "", f->word(i));
}

static void put_type(FILE *out, const struct fl_field *f)
{
    const char *type = type_name(f);
    if (f->kind == FL_FIELD_WORDS)
        fputs("list of ", out);
    if (f->kind == FL_FIELD_WORDS || !type)
        put_words(out, f);
    else
        fputs(f->kind == FL_FIELD_WHOLE  ? "whole number"
              : f->kind == FL_FIELD_PAIR ? "[number, number]"
              : always_true(f)           ? "true"
              : !strcmp(type, "boolean") ? "true, false"
              : !strcmp(type, "string")  ? "text"
              : !strcmp(type, "array")   ? "list"
                                         : type,
              out);
    if (f->kind != FL_FIELD_WORD && f->kind != FL_FIELD_BOOL)
        put_range(out, f->range);
    if (f->null)
        fputs(", null", out);
}

void fl_put_meaning(FILE *out, const char *s)
{
    fputc(toupper((unsigned char)*s), out);
    for (s++; *s; s++)
        fprintf(out, *s == '|' ? "\\%c" : "%c", *s);
}

static void put_row(FILE *out, const char *path, const char *name, const struct fl_field *f,
                    const char *meaning)
{
    fprintf(out, "| `%s%s` | ", path, name);
    put_type(out, f);
    fputs(" | ", out);
    fl_put_meaning(out, meaning);
    fputs(" |\n", out);
}

static void put_quantities(FILE *out, const char *path, const struct fl_field *f)
{
    char name[FL_COLUMN_SIZE], meaning[400];
    const struct fl_field number = {"", FL_FIELD_FIGURE, FL_FROM_ZERO, FL_OR_NULL};
    for (int q = 0; q < FL_QUANTITIES; q++) {
        snprintf(meaning, sizeof meaning, "%s: %s", f->meaning,
                 fl_quantity_info((enum fl_quantity)q)->meaning);
        put_row(out, path, fl_quantity_column(name, f->name, (enum fl_quantity)q), &number,
                meaning);
    }
}

static void put_rows(FILE *out, const char *path, const struct fl_field *fields)
{
    char below[200];
    for (const struct fl_field *f = fields; f->name; f++) {
        if (f->kind == FL_FIELD_PART) {
            put_rows(out, path, f->fields);
            continue;
        }
        if (f->kind == FL_FIELD_QUANTITIES) {
            put_quantities(out, path, f);
            continue;
        }
        put_row(out, path, f->name, f, f->meaning);
        snprintf(below, sizeof below, "%s%s%s.", path, f->name,
                 f->kind == FL_FIELD_LIST ? "[]" : "");
        if (f->fields)
            put_rows(out, below, f->fields);
    }
}

void fl_document_list(FILE *out, const struct fl_document *d)
{
    fputs("| field | is | meaning |\n|---|---|---|\n", out);
    fprintf(out, "| `format`, `version` | `%s`, %d | name and version of the format |\n", d->format,
            d->version);
    put_rows(out, "", d->fields);
}
