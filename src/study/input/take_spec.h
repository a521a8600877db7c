/* What the session file says about one take. */
#ifndef FL_STUDY_INPUT_TAKE_SPEC_H
#define FL_STUDY_INPUT_TAKE_SPEC_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/units.h"
#include "trace/columns.h"

/* Eleven days: longer than any footage, and small enough that sums and tables over it hold. */
#define FL_FOOTAGE_MOST_S 1e6

/* Strings belong to the session's arena; NULL and
 * NaN mean "not given". Lengths of lists are beside them. */
struct fl_take_spec {
    const char *id, *game, *condition;
    const char *footage, *trace,
        *sound; /* paths, relative to the session's folder already joined */
    const struct fl_trace_columns *trace_columns; /* a logger's own names; NULL: the trace's own */
    double sound_offset_s, counts_per_inch, degrees_per_count, report_rate_hz, horizontal_fov_deg;
    double base_rate_hz, refresh_hz, cap_hz;
    bool synthesis_disabled; /* a control */
    bool capture_local;      /* local recording; else a capture card */
    bool output_variable;    /* variable refresh */
    bool play_drill; /* deliberate flicks; else the game is played: shares of time in the one say
                        nothing of the other */
    const struct fl_span *use;
    size_t n_use;
    const char *recorded_at;
    const char *const *note_keys, *const *note_values;
    size_t n_notes;
};

/* Ranges of numbers that the session file, the commands and the library take; both ends allowed. */
#define FL_COUNTS_PER_INCH_RANGE 10, 200000
#define FL_DEGREES_PER_COUNT_RANGE 1e-6, 10
#define FL_COUNTS_PER_TURN_RANGE 36, 3.6e8 /* 360 over the one before */
#define FL_FOV_RANGE 5, 175
#define FL_BASE_RATE_RANGE 5, 1000
#define FL_SOUND_OFFSET_RANGE -3600, 3600

/* What an id may hold: it names files. No '-' in front, where a command would take it for an
 * option. */
#define FL_TAKE_ID_LETTERS "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_"
enum { FL_TAKE_ID_MOST = 64 };

enum fl_key_kind {
    FL_KEY_ID,     /* letters, digits, - and _: names the output files */
    FL_KEY_TEXT,   /* one line */
    FL_KEY_PATH,   /* of a file, relative to the session file's folder */
    FL_KEY_TIME,   /* a date, or date and time (RFC 3339) */
    FL_KEY_NUMBER, /* double from low to high */
    FL_KEY_TURN,   /* counts for a whole turn, kept as degrees a count */
    FL_KEY_CHOICE, /* bool by one of two words */
    FL_KEY_SPANS,  /* list of [from, to] in footage time */
    FL_KEY_NOTES,  /* mapping of text to text */
    FL_KEY_COLUMNS /* mapping of the trace's columns to a logger's names */
};

/* One row a key of a take. Two keys with one offset say the same thing in two ways. */
struct fl_take_key {
    const char *name;
    enum fl_key_kind kind;
    size_t offset;         /* in struct fl_take_spec */
    double low, high;      /* numbers: both ends allowed */
    const char *choice[2]; /* words for false and true */
    bool label;            /* changes no figure ever: a take is measured once for all of its labels;
                              any other is part of a measurement's key */
};
enum { FL_TAKE_KEYS = 23 };
extern const struct fl_take_key fl_take_keys[FL_TAKE_KEYS];

/* Sets every field to "not given" (NaN, NULL, false; condition "default"). */
void fl_take_spec_init(struct fl_take_spec *spec);
/* The row of that name, NULL if there is none. */
const struct fl_take_key *fl_take_key(const char *name);
/* What the field holds when the number is written under the key. */
double fl_take_key_value(const struct fl_take_key *key, double written);

/* A number under its key in fl_take_keys; 0: not given. */
struct fl_take_number {
    const char *key;
    double value;
};
/* Puts those that are given into the specification, where each must lie in its key's range
 * (FLINCH_ERR_USAGE names the key and the range). */
enum flinch_code fl_take_spec_fill(struct fl_take_spec *spec, const struct fl_take_number *v,
                                   size_t n, struct fl_error *err);
bool fl_take_id_valid(const char *id);
/* Footage time t lies in a span that is to be measured. */
bool fl_take_spec_uses(const struct fl_take_spec *spec, double t_s);

#endif
