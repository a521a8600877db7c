/* What session.json says of a check by eye, the file of answers to it, and what flinch audit prints
 * as JSON. */
#ifndef FL_SHOW_STORE_EYE_FIELDS_H
#define FL_SHOW_STORE_EYE_FIELDS_H

#include "show/store/fields.h"
#include "study/compare/eye_check.h"

extern const struct fl_field fl_eye_check_fields[]; /* of struct fl_eye_check */

/* The file that an audit's page saves, as it stands there. */
struct fl_answers_file {
    const char *session;
    long seed, asked;
    struct fl_answers_take {
        const char *id, *key;
    } * take;
    size_t n_takes;
    struct fl_answers_entry {
        const char *take;
        double time_s;
        enum fl_eye eye;
    } * entry;
    size_t n_entries;
};
extern const struct fl_document fl_answers_document; /* of struct fl_answers_file */

/* What flinch audit has done: drawn moments, or weighed answers. */
struct fl_audit_told {
    const char *session;
    const char *page; /* that was written; NULL: none */
    size_t asked, moments;
    size_t of_stratum[FL_STRATA];
    const struct fl_eye_check *eye; /* NULL: moments were drawn */
};
extern const struct fl_document fl_audit_document; /* of struct fl_audit_told */

#endif
