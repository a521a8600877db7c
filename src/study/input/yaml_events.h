/* A strict walk through one YAML document: libyaml's events, each with its place.
 *
 * Refused before the caller sees them: aliases, anchors, tags, nesting over 8 levels, a second
 * document, files over 1 MiB, text that is not UTF-8 or UTF-16. Every error reads
 * "FILE:LINE:COLUMN: what; what to do", counted from 1, with code FLINCH_ERR_SESSION. */
#ifndef FL_STUDY_INPUT_YAML_EVENTS_H
#define FL_STUDY_INPUT_YAML_EVENTS_H

#include <stdbool.h>
#include <stddef.h>
#include <yaml.h>

#include "base/error.h"

#define FL_YAML_SIZE_LIMIT ((size_t)1 << 20)
#define FL_YAML_DEPTH_LIMIT 8

struct fl_place {
    unsigned line, column; /* from 1 */
};

struct fl_yaml {
    yaml_event_type_t type; /* of the present event; YAML_NO_EVENT before the first */
    const char *text; /* of a scalar: NUL-terminated, length bytes; lives until the next event */
    size_t length;
    bool plain;         /* the scalar has no quotes and is no block */
    struct fl_place at; /* where the present event starts */
    /* private */
    yaml_parser_t parser;
    yaml_event_t event;
    const char *path;
    char *data;
    size_t size;
    int depth, documents;
    struct fl_error *err;
};

/* Reads the file and stops at the root node of its only document. path and err must outlive y. */
enum flinch_code fl_yaml_open(struct fl_yaml *y, const char *path, struct fl_error *err);
enum flinch_code fl_yaml_next(struct fl_yaml *y);
/* After the root node: nothing may follow. */
enum flinch_code fl_yaml_end(struct fl_yaml *y);
void fl_yaml_close(struct fl_yaml *y); /* harmless on a zeroed struct */

/* Writes "FILE:LINE:COLUMN: " and the formatted text; returns FLINCH_ERR_SESSION. */
enum flinch_code fl_yaml_fail(struct fl_yaml *y, struct fl_place at, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

#endif
