/* Structures → JSON objects, and structures rounded to what is written. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "show/store/fields.h"
#include "base/figure.h"
#include "show/store/json_value.h"
#include "show/text/escape.h"

const struct fl_range fl_range_from_zero = {0, INFINITY}, fl_range_from_one = {1, INFINITY},
                      fl_range_share = {0, 1};
const struct fl_field fl_time_item = {"", FL_FIELD_TIME, 0, sizeof(double), FL_OR_NULL},
                      fl_given_item = {"", FL_FIELD_GIVEN, 0, sizeof(double), FL_OR_NULL};

static json_t *program_version(const void *nothing)
{
    (void)nothing;
    return json_string(FLINCH_VERSION);
}

const struct fl_field fl_version_fields[] = {
    {"flinch_version", FL_FIELD_TEXT, .make = program_version,
     .meaning = "Version of the program that wrote this."},
    {0},
};

const char *fl_quantity_word(int q)
{
    return q < FL_QUANTITIES ? fl_quantity_info((enum fl_quantity)q)->name : NULL;
}

const char *fl_quantity_unit_word(int q)
{
    return q < FL_QUANTITIES ? fl_quantity_info((enum fl_quantity)q)->unit_label : NULL;
}

const char *fl_quantity_column(char buf[FL_COLUMN_SIZE], const char *prefix, enum fl_quantity q)
{
    const struct fl_quantity_info *info = fl_quantity_info(q);
    bool unit = info->unit && *info->unit;
    snprintf(buf, FL_COLUMN_SIZE, "%s%s%s%s%s", prefix, *prefix ? "_" : "", info->name,
             unit ? "_" : "", unit ? info->unit : "");
    return buf;
}

json_t *fl_json_time(double seconds)
{
    return isfinite(seconds) ? json_real(fl_round_decimals(seconds, FL_TIME_DECIMALS))
                             : json_null();
}

static json_t *rounded(double x, int digits)
{
    return isfinite(x) ? json_real(fl_round_digits(x, digits)) : json_null();
}

json_t *fl_json_figure(double x)
{
    return rounded(x, FL_FIGURE_DIGITS);
}

json_t *fl_json_figure5(double x)
{
    return rounded(x, FL_FIGURE5_DIGITS);
}

json_t *fl_json_given(double x)
{
    return rounded(x, 15);
}

json_t *fl_json_text(const char *s)
{
    if (!s)
        return json_null();
    json_t *text = json_string(s);
    if (text)
        return text;
    char *clean = fl_clean_text(s);
    text = json_string(clean);
    free(clean);
    return text;
}

const void *fl_field_place(const struct fl_field *f, const void *base)
{
    const char *at = base;
    if (f->through)
        memcpy(&at, at + f->pointer, sizeof at);
    return at ? at + f->offset : NULL;
}

long fl_field_whole(const struct fl_field *f, const void *p)
{
    return f->size == sizeof(bool)  ? *(const bool *)p
           : f->size == sizeof(int) ? *(const int *)p
                                    : *(const long *)p;
}

double fl_field_figure(const struct fl_field *f, const void *p)
{
    return f->size == sizeof(float) ? (double)*(const float *)p : *(const double *)p;
}

static size_t list_length(const struct fl_field *f, const char *base)
{
    const struct fl_field count = {.size = f->count_size};
    long n = fl_field_whole(&count, base + f->count);
    return n > 0 ? (size_t)n : 0;
}

static json_t *value_json(const struct fl_field *f, const void *p);

json_t *fl_fields_json(const void *base, const struct fl_field *fields)
{
    json_t *object = json_object();
    fl_fields_write(object, base, fields);
    return object;
}

/* base: the structure that holds the list's length. */
static json_t *list_json(const struct fl_field *f, const char *base, const void *p)
{
    json_t *list = json_array();
    const char *items = p;
    if (!f->in_place)
        memcpy(&items, p, sizeof items);
    for (size_t i = 0, n = list_length(f, base); i < n; i++) {
        const void *item = items + i * f->size;
        if (f->of_pointers)
            memcpy(&item, item, sizeof item);
        if (!f->keep || f->keep(item))
            fl_json_append(list, f->fields
                                     ? fl_fields_json(item, f->fields)
                                     : value_json(f->item, (const char *)item + f->item->offset));
    }
    return list;
}

static json_t *pair_json(const struct fl_field *f, const double *p)
{
    json_t *pair = json_array();
    fl_json_append(pair, value_json(f->item, p));
    fl_json_append(pair, value_json(f->item, p + 1));
    return pair;
}

static json_t *words_json(const struct fl_field *f, unsigned bits)
{
    json_t *list = json_array();
    for (int i = 0; f->word(i); i++)
        if (bits >> i & 1)
            fl_json_append(list, json_string(f->word(i)));
    return list;
}

static json_t *answer_json(enum fl_answer a)
{
    return a == FL_ANSWER_UNKNOWN ? json_null() : json_boolean(a == FL_YES);
}

static double number(const struct fl_field *f, const void *p)
{
    double x = fl_field_figure(f, p);
    return f->as ? f->as(x) : x;
}

static json_t *whole_json(const struct fl_field *f, long v)
{
    return f->null && v == 0 ? json_null() : json_integer(v);
}

static json_t *value_json(const struct fl_field *f, const void *p)
{
    switch (f->kind) {
    case FL_FIELD_TIME: return fl_json_time(number(f, p));
    case FL_FIELD_FIGURE: return fl_json_figure(number(f, p));
    case FL_FIELD_FIGURE5: return fl_json_figure5(number(f, p));
    case FL_FIELD_GIVEN: return fl_json_given(number(f, p));
    case FL_FIELD_WHOLE: return whole_json(f, fl_field_whole(f, p));
    case FL_FIELD_BOOL: return json_boolean(*(const bool *)p);
    case FL_FIELD_ANSWER: return answer_json(*(const enum fl_answer *)p);
    case FL_FIELD_TEXT: return fl_json_text(*(const char *const *)p);
    case FL_FIELD_PATH: return fl_json_text(fl_own_name(*(const char *const *)p));
    case FL_FIELD_CHARS: return fl_json_text(*(const char *)p ? p : NULL);
    case FL_FIELD_WORD: return fl_json_text(f->word((int)fl_field_whole(f, p)));
    case FL_FIELD_WORDS: return words_json(f, *(const unsigned *)p);
    case FL_FIELD_OBJECT: return fl_fields_json(p, f->fields);
    case FL_FIELD_PAIR: return pair_json(f, p);
    case FL_FIELD_LIST:
    case FL_FIELD_PART:
    case FL_FIELD_QUANTITIES: break; /* where their structure is at hand, below */
    }
    return json_null();
}

static void write_quantities(json_t *object, const char *prefix, const double *v)
{
    char name[FL_COLUMN_SIZE];
    for (int q = 0; q < FL_QUANTITIES; q++)
        fl_json_set(object, fl_quantity_column(name, prefix, q), fl_json_figure(v[q]));
}

static json_t *field_json(const struct fl_field *f, const void *base)
{
    const void *p = f->make ? base : fl_field_place(f, base);
    if (f->make)
        return f->make(base);
    if (f->kind == FL_FIELD_LIST && p)
        return list_json(f, (const char *)p - f->offset, p);
    return p ? value_json(f, p) : json_null();
}

void fl_fields_write(json_t *object, const void *base, const struct fl_field *fields)
{
    for (const struct fl_field *f = fields; f->name; f++) {
        if (f->kind == FL_FIELD_QUANTITIES)
            write_quantities(object, f->name, fl_field_place(f, base));
        else if (f->kind != FL_FIELD_PART)
            fl_json_set(object, f->name, field_json(f, base));
        else if (fl_field_place(f, base))
            fl_fields_write(object, fl_field_place(f, base), f->fields);
    }
}

json_t *fl_document_json(const struct fl_document *d, const void *base)
{
    json_t *file = json_pack("{s: s, s: i}", "format", d->format, "version", d->version);
    fl_fields_write(file, base, d->fields);
    return file;
}

static void round_value(const struct fl_field *f, char *base, void *p);

static void round_list(const struct fl_field *f, char *base, const void *p)
{
    char *items;
    memcpy(&items, p, sizeof items);
    for (size_t i = 0, n = list_length(f, base); i < n; i++) {
        if (f->fields)
            fl_fields_round(items + i * f->size, f->fields);
        else
            round_value(f->item, NULL, items + i * f->size);
    }
}

static void round_figure(const struct fl_field *f, void *p)
{
    int digits = f->kind == FL_FIELD_FIGURE5 ? FL_FIGURE5_DIGITS : FL_FIGURE_DIGITS;
    fl_field_set_figure(f, p, fl_round_digits(fl_field_figure(f, p), digits));
}

/* base: the structure that holds a list's length. */
static void round_value(const struct fl_field *f, char *base, void *p)
{
    double *v = p;
    switch (f->kind) {
    case FL_FIELD_TIME: *v = fl_round_decimals(*v, FL_TIME_DECIMALS); break;
    case FL_FIELD_FIGURE:
    case FL_FIELD_FIGURE5: round_figure(f, p); break;
    case FL_FIELD_QUANTITIES:
        for (int q = 0; q < FL_QUANTITIES; q++)
            v[q] = fl_round_digits(v[q], FL_FIGURE_DIGITS);
        break;
    case FL_FIELD_OBJECT:
    case FL_FIELD_PART: fl_fields_round(p, f->fields); break;
    case FL_FIELD_LIST: round_list(f, base, p); break;
    case FL_FIELD_PAIR:
        round_value(f->item, NULL, v);
        round_value(f->item, NULL, v + 1);
        break;
    default: break;
    }
}

void fl_fields_round(void *base, const struct fl_field *fields)
{
    for (const struct fl_field *f = fields; f->name; f++)
        if (!f->make && !f->through && !f->as)
            round_value(f, base, (char *)base + f->offset);
}
