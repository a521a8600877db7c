/* One table a structure: the same list writes its JSON object and reads it back. */
#ifndef FL_SHOW_STORE_FIELDS_H
#define FL_SHOW_STORE_FIELDS_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/mem.h"
#include "study/take/take.h"

enum fl_field_kind {
    FL_FIELD_TIME,   /* double, seconds to the microsecond */
    FL_FIELD_FIGURE, /* double, seven significant digits */
    FL_FIELD_GIVEN,  /* double that a person wrote: as given */
    FL_FIELD_INT,
    FL_FIELD_LONG,
    FL_FIELD_BOOL,
    FL_FIELD_STRING, /* const char *, NULL is null */
    FL_FIELD_PATH,   /* the same; only the file's own name is written: results get published */
    FL_FIELD_CHARS   /* char[size] */
};

struct fl_field {
    const char *name; /* NULL ends the table */
    enum fl_field_kind kind;
    size_t offset, size;
};

extern const struct fl_field fl_footage_fields[]; /* of struct fl_take */
extern const struct fl_field fl_figure_fields[];  /* of struct fl_take: single figures */
extern const struct fl_field fl_setup_fields[];   /* of struct fl_take_spec */
extern const struct fl_field fl_clock_fields[];
extern const struct fl_field fl_exposure_fields[];
extern const struct fl_field fl_without_trace_fields[];
extern const struct fl_field fl_smoothness_fields[];
extern const struct fl_field fl_pacing_fields[]; /* of struct fl_pacing_state */
extern const struct fl_field fl_span_fields[];   /* of struct fl_state_span */
extern const struct fl_field fl_lapse_fields[];
extern const struct fl_field fl_flick_fields[];

/* Known number or null, rounded. */
json_t *fl_json_time(double seconds);
json_t *fl_json_figure(double x);
json_t *fl_json_given(double x); /* 15 digits */
/* Text or null; bytes that are not UTF-8 are replaced. */
json_t *fl_json_text(const char *s);
/* Adds every field of the table to object, in table order. */
void fl_fields_write(json_t *object, const void *base, const struct fl_field *table);
/* Rounds the fields in place to what fl_fields_write would write. */
void fl_fields_round(void *base, const struct fl_field *table);
/* Digits of FL_FIELD_FIGURE, decimals of FL_FIELD_TIME. */
enum { FL_FIGURE_DIGITS = 7, FL_TIME_DECIMALS = 6 };

/* Reading: the first thing that is missing or of the wrong type is remembered. */
struct fl_reader {
    struct fl_arena *arena; /* owns the strings read */
    bool bad;
    char what[200];
};
void fl_fields_read(struct fl_reader *r, const json_t *object, void *base,
                    const struct fl_field *table);
/* The member of the given type; NULL with r->bad set when it is missing or something else. */
json_t *fl_read_member(struct fl_reader *r, const json_t *object, const char *name, json_type type);
double fl_read_number(struct fl_reader *r, const json_t *value, const char *name); /* null: NaN */
const char *fl_read_text(struct fl_reader *r, const json_t *value,
                         const char *name); /* null: NULL */
void fl_reader_complain(struct fl_reader *r, const char *name, const char *problem);

/* "peak" and camera_speed → "peak_camera_speed_deg_s"; prefix "" gives "camera_speed_deg_s". */
#define FL_COLUMN_SIZE 80
const char *fl_quantity_column(char buf[FL_COLUMN_SIZE], const char *prefix, enum fl_quantity q);

#endif
