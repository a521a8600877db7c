/* What takes/ID.json holds, structure by structure. */
#ifndef FL_SHOW_STORE_TAKE_FIELDS_H
#define FL_SHOW_STORE_TAKE_FIELDS_H

#include "show/store/fields.h"

extern const struct fl_document fl_take_document; /* of struct fl_take */

extern const struct fl_field fl_identity_fields[]; /* of struct fl_take_spec */
extern const struct fl_field fl_footage_fields[];  /* of struct fl_take */
extern const struct fl_field fl_clock_fields[];
extern const struct fl_field fl_exposure_fields[];
extern const struct fl_field fl_smoothness_fields[];
extern const struct fl_field fl_pacing_fields[];
extern const struct fl_field fl_warning_fields[];

/* event_fields.c: what happens in a take, in time order. */
extern const struct fl_field fl_span_fields[]; /* of struct fl_state_span */
extern const struct fl_field fl_lapse_fields[];
extern const struct fl_field fl_reduction_fields[];
extern const struct fl_field fl_inferred_fields[];
extern const struct fl_field fl_flip_fields[]; /* ID-flips.csv */
/* A flick in three parts: ID-flicks.csv has the delay last. */
extern const struct fl_field fl_flick_fields[];
extern const struct fl_field fl_flick_table_fields[]; /* of struct fl_flick */
const char *fl_state_word(int state);                 /* for fl_field.word */

#endif
