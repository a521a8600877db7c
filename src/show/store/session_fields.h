/* What session.json holds, list by list. */
#ifndef FL_SHOW_STORE_SESSION_FIELDS_H
#define FL_SHOW_STORE_SESSION_FIELDS_H

#include "show/store/fields.h"

extern const struct fl_document fl_session_document; /* of struct fl_session */
extern const struct fl_field fl_failed_fields[];

/* curve_fields.c */
extern const struct fl_field fl_setting_fields[]; /* of struct fl_curve: which it is */
extern const struct fl_field fl_v50_fields[];     /* of struct fl_curve */
extern const struct fl_field fl_curve_fields[];
extern const struct fl_field fl_comparison_fields[];
extern const struct fl_field fl_quantity_rank_fields[];
const char *fl_bound_word(int bound); /* for fl_field.word */

/* result_fields.c */
extern const struct fl_field fl_result_fields[];

/* rule_fields.c */
extern const struct fl_field fl_rule_fields[];
extern const struct fl_field fl_delay_fields[];
extern const struct fl_field fl_delay_comparison_fields[];
const char *fl_edge_word(int trip); /* for fl_field.word */

/* repeat_fields.c */
extern const struct fl_field fl_repeat_fields[];

#endif
