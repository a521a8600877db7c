/* One table a structure: a row a field, and from the rows follow the JSON object as it is written,
 * read back and rounded, and its description in the schemas and lists of docs/.
 *
 * A row says what a field is called, of which kind it is, where it lies in its structure, whether
 * it may be null, its range, and what it means in one sentence:
 *
 *   {"off_share", AT(off_share, FIGURE), FL_SHARE, FL_OR_NULL, .meaning = "off / (on + off)."},
 *
 * Rows stand in the order in which they are written; a row without a name ends the table. Rows of
 * objects, parts and lists name the table of what they hold. What a plain place cannot give (a sum
 * of two members, a text put together) is made by a function of the row. */
#ifndef FL_SHOW_STORE_FIELDS_H
#define FL_SHOW_STORE_FIELDS_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/mem.h"
#include "study/take/take.h"

enum fl_field_kind {
    FL_FIELD_TIME,    /* double, seconds to the microsecond */
    FL_FIELD_FIGURE,  /* double or float, seven significant digits */
    FL_FIELD_FIGURE5, /* double, five: figures of a study, more than any of them deserves */
    FL_FIELD_GIVEN,   /* double that a person wrote: as given */
    FL_FIELD_WHOLE,   /* int, long or size_t; 0 is null where null may stand */
    FL_FIELD_BOOL,
    FL_FIELD_ANSWER,    /* enum fl_answer: true, false or null */
    FL_FIELD_TEXT,      /* const char *; NULL is null */
    FL_FIELD_PATH,      /* the same; only the file's own name is written: results get published */
    FL_FIELD_CHARS,     /* char[]; "" is null */
    FL_FIELD_WORD,      /* enumeration or bool, by the names of its values (`word`) */
    FL_FIELD_WORDS,     /* unsigned, a bit for each word from bit 0 up: a list of words */
    FL_FIELD_OBJECT,    /* structure: an object of `fields` */
    FL_FIELD_PART,      /* structure: its `fields` stand in this object itself; its name is "" */
    FL_FIELD_LIST,      /* pointer to `count` structures (`fields`) or values (`item`) */
    FL_FIELD_PAIR,      /* two doubles in a row, [first, second], each as `item` says */
    FL_FIELD_QUANTITIES /* double[FL_QUANTITIES]: one field each, `name` before the quantity's */
};

struct fl_range {
    double low, high; /* both ends allowed; INFINITY: open */
};
extern const struct fl_range fl_range_from_zero, fl_range_from_one, fl_range_share;

struct fl_reader;

struct fl_field {
    const char *name; /* as in the file, with its unit; NULL ends the table */
    enum fl_field_kind kind;
    size_t offset, size;          /* of the member; size: of a list, that of one item */
    bool null;                    /* may be null: not known, not given, none; of a part: its fields
                                     may be left out */
    const struct fl_range *range; /* NULL: any number; of a word: the values that are written; of a
                                     bool, from one: always true */
    const char *meaning;          /* one sentence, for people: docs/ */

    /* Of some kinds only. */
    const struct fl_field *fields;  /* what an object, a part or an item of a list holds */
    const struct fl_field *item;    /* what a pair, or a list of plain values holds */
    const char *item_meaning;       /* of a list: what one item is, in one sentence */
    size_t count, count_size;       /* of a list: where its length lies (int or size_t) */
    const char *(*word)(int value); /* name of a value; NULL past the last one. Also for texts that
                                       are one of few */
    const char *pattern;            /* of a text: what it matches */

    /* Unusual places. */
    bool through; /* the member lies in the structure that the pointer at `pointer` points to;
                     NULL there: null is written, or nothing of a part. Not read back */
    size_t pointer;
    bool of_pointers;                /* the list's items are pointers to what is written */
    bool in_place;                   /* the list is an array inside the structure */
    bool malloced;                   /* the list read back is malloc'ed; else in the arena */
    bool (*keep)(const void *item);  /* only these items of the list are written */
    double (*as)(double);            /* this of the number is written. Not read back */
    json_t *(*make)(const void *at); /* the value, from the structure */
    void (*take)(struct fl_reader *r, const json_t *value, void *at); /* and back into it */

    /* Fields that older files of the same version lack. */
    bool optional;
    int lacking; /* what a whole number, bool, word or number that is never null is without it; all
                    else is unknown or empty */
};

/* Shorthands for rows. A table's own AT(member, KIND) is FL_AT of its structure. */
#define FL_AT(type, member, kind_)                                     \
    .kind = FL_FIELD_##kind_, .offset = offsetof(struct type, member), \
    .size = sizeof(((struct type *)0)->member)
#define FL_LIST_AT(type, member, n)                                                 \
    .kind = FL_FIELD_LIST, .offset = offsetof(struct type, member),                 \
    .size = sizeof(*((struct type *)0)->member), .count = offsetof(struct type, n), \
    .count_size = sizeof(((struct type *)0)->n)
#define FL_THROUGH(type, member) .through = true, .pointer = offsetof(struct type, member)
#define FL_OR_NULL .null = true
#define FL_OLDER_LACK_IT(value) .optional = true, .lacking = (value)
#define FL_FROM_ZERO .range = &fl_range_from_zero
#define FL_FROM_ONE .range = &fl_range_from_one
#define FL_SHARE .range = &fl_range_share

/* A JSON file, or what a command prints with --json. */
struct fl_document {
    const char *name; /* of its schema: docs/NAME.schema.json */
    const char *title, *meaning;
    const char *format; /* its first two fields, beside those of the table */
    int version;
    const struct fl_field *fields;
};
json_t *fl_document_json(const struct fl_document *d, const void *base);

/* Known number or null, rounded. */
json_t *fl_json_time(double seconds);
json_t *fl_json_figure(double x);
json_t *fl_json_figure5(double x);
json_t *fl_json_given(double x); /* 15 digits */
/* Text or null; bytes that are not UTF-8 are replaced. */
json_t *fl_json_text(const char *s);
/* Adds every field of the table to object, in table order; makes an object of them. */
void fl_fields_write(json_t *object, const void *base, const struct fl_field *fields);
json_t *fl_fields_json(const void *base, const struct fl_field *fields);
/* Rounds the fields in place to what fl_fields_write would write. */
void fl_fields_round(void *base, const struct fl_field *fields);
/* Digits of FL_FIELD_FIGURE and FL_FIELD_FIGURE5, decimals of FL_FIELD_TIME. */
enum { FL_FIGURE_DIGITS = 7, FL_FIGURE5_DIGITS = 5, FL_TIME_DECIMALS = 6 };
/* Where a row's member lies; NULL when the pointer on the way is. */
const void *fl_field_place(const struct fl_field *f, const void *base);
/* What lies there, f->size bytes: a whole number, word or bool; a figure. */
long fl_field_whole(const struct fl_field *f, const void *p);
double fl_field_figure(const struct fl_field *f, const void *p);
/* Whether a whole number fits the member. One that does not must not be set. */
bool fl_field_holds(const struct fl_field *f, long long v);
void fl_field_set_whole(const struct fl_field *f, void *p, long v);
void fl_field_set_figure(const struct fl_field *f, void *p, double v);

/* Reading: the first thing that is missing, of the wrong type, null where it may not be, or a
 * whole number below its range or too large for its member is remembered. */
struct fl_reader {
    struct fl_arena *arena; /* owns what is read, but for lists that are malloc'ed */
    bool bad;
    char what[200];
};
/* Complains unless file is a document of this format and version. */
void fl_document_check(struct fl_reader *r, const json_t *file, const struct fl_document *d);
void fl_fields_read(struct fl_reader *r, const json_t *object, void *base,
                    const struct fl_field *fields);
double fl_read_number(struct fl_reader *r, const json_t *value, const char *name); /* null: NaN */
const char *fl_read_text(struct fl_reader *r, const json_t *value,
                         const char *name); /* null: NULL */
void fl_reader_complain(struct fl_reader *r, const char *name, const char *problem);

/* "peak" and camera_speed → "peak_camera_speed_deg_s"; prefix "" gives "camera_speed_deg_s". */
#define FL_COLUMN_SIZE 80
const char *fl_quantity_column(char buf[FL_COLUMN_SIZE], const char *prefix, enum fl_quantity q);

/* Words of fl_field.word that several tables use. */
const char *fl_quantity_word(int q);
const char *fl_quantity_unit_word(int q);
/* Parts and items that several tables use. */
extern const struct fl_field fl_version_fields[]; /* flinch_version; of no structure */
extern const struct fl_field fl_time_item, fl_given_item;

#endif
