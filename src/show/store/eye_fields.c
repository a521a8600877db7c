/* Agreement of eye and measurement, field by field. */
#include "show/store/eye_fields.h"

#include "show/store/take_fields.h"

static const char *eye_word(int e)
{
    return e <= FL_EYE_UNTOLD ? fl_eye_name((enum fl_eye)e) : NULL;
}

static const char *stratum_word(int s)
{
    return s < FL_STRATA ? fl_stratum_name((enum fl_stratum)s) : NULL;
}

/* ---- agreement ---- */

#define AT(member, kind) FL_AT(fl_agreement, member, kind)
static const struct fl_field agreement_fields[] = {
    {"agree", AT(agree, WHOLE), FL_FROM_ZERO, .meaning = "Answers that say what was measured."},
    {"differ", AT(differ, WHOLE), FL_FROM_ZERO, .meaning = "Answers that say the other state."},
    {"cannot_tell", AT(untold, WHOLE), FL_FROM_ZERO,
     .meaning = "Answers that could not tell; in no share."},
    {"agreement", AT(share, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Share that agrees; over all strata weighted by their seen time."},
    {"agreement_low", AT(low, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning =
         "Its 95 % interval by Wilson's method, over all strata by square-and-add: low end."},
    {"agreement_high", AT(high, FIGURE5), FL_SHARE, FL_OR_NULL, .meaning = "High end."},
    {"seen_share", AT(seen_share, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "How much of the seen time, controls left out, this stands for."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_eye_difference, member, kind)
static const struct fl_field difference_fields[] = {
    {"take", AT(id, TEXT), .meaning = "Take."},
    {"time_s", AT(time_s, TIME), FL_FROM_ZERO,
     .meaning = "Footage time of the capture frame that was asked about, s."},
    {"measured", AT(state, WORD), .word = fl_state_word, .meaning = "State that was measured."},
    {"by_eye", AT(eye, WORD), .word = eye_word, .meaning = "State that was seen."},
    {"stratum", AT(stratum, WORD), .word = stratum_word, .meaning = "Stratum it was drawn from."},
    {0},
};
#undef AT

static json_t *whole_text(const void *at)
{
    return json_sprintf("checked by eye: %s", ((const struct fl_eye_check *)at)->text);
}

#define AT(member, kind) FL_AT(fl_eye_check, member, kind)
const struct fl_field fl_eye_check_fields[] = {
    {"text", FL_FIELD_TEXT, .make = whole_text, .meaning = "In words."},
    {"", AT(all, PART), .fields = agreement_fields},
    {"on_turning", AT(stratum[FL_STRATUM_ON], OBJECT), .fields = agreement_fields,
     .meaning = "Of moments on while turning."},
    {"off", AT(stratum[FL_STRATUM_OFF], OBJECT), .fields = agreement_fields,
     .meaning = "Of moments off."},
    {"near_edge", AT(stratum[FL_STRATUM_EDGE], OBJECT), .fields = agreement_fields,
     .meaning = "Of moments within four base periods of an edge, and not within one."},
    {"differences", FL_LIST_AT(fl_eye_check, difference, n_differences),
     .fields = difference_fields, .item_meaning = "One moment.",
     .meaning = "Moments at which eye and measurement differ, in order of takes and time."},
    {0},
};
#undef AT

/* ---- the file of answers ---- */

#define AT(member, kind) FL_AT(fl_answers_take, member, kind)
static const struct fl_field answers_take_fields[] = {
    {"id", AT(id, TEXT), .meaning = "Name of the take."},
    {"key", AT(key, TEXT), .meaning = "Key of the measurement that was asked about."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_answers_entry, member, kind)
static const struct fl_field answers_entry_fields[] = {
    {"take", AT(take, TEXT), .meaning = "Take, one of those listed."},
    {"time_s", AT(time_s, TIME), FL_FROM_ZERO,
     .meaning = "Footage time at which the capture frame that was asked about begins, s."},
    {"answer", AT(eye, WORD), .word = eye_word, .meaning = "What was seen."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_answers_file, member, kind)
static const struct fl_field answers_fields[] = {
    {"session", AT(session, TEXT), FL_OR_NULL, .meaning = "Name of the session."},
    {"seed", AT(seed, WHOLE), FL_FROM_ZERO, .meaning = "Which of all draws the moments are."},
    {"takes", FL_LIST_AT(fl_answers_file, take, n_takes), .fields = answers_take_fields,
     .item_meaning = "One take.", .meaning = "Takes that were asked about."},
    {"asked", AT(asked, WHOLE), FL_FROM_ZERO, .meaning = "How many moments the page asks about."},
    {"answers", FL_LIST_AT(fl_answers_file, entry, n_entries), .fields = answers_entry_fields,
     .item_meaning = "One moment.", .meaning = "Moments that were answered."},
    {0},
};
#undef AT

const struct fl_document fl_answers_document = {
    .name = "audit-answers",
    .title = "Answers given by eye on the page of flinch audit",
    .meaning = "What a person saw at moments drawn at random. It holds for the measurements whose "
               "keys it names and for no others.",
    .format = "flinch-audit-answers",
    .version = 1,
    .fields = answers_fields,
};

/* ---- what the command prints ---- */

#define AT(member, kind) FL_AT(fl_audit_told, member, kind)
static const struct fl_field told_fields[] = {
    {"session", AT(session, TEXT), FL_OR_NULL, .meaning = "Name of the session."},
    {"page", AT(page, TEXT), FL_OR_NULL,
     .meaning = "Path of the page that was written: that of the questions or, with --answers, that "
                "of the moments that differ."},
    {"asked", AT(asked, WHOLE), FL_FROM_ZERO,
     .meaning = "How many moments were asked for; 0 with --answers."},
    {"moments", AT(moments, WHOLE), FL_FROM_ZERO, .meaning = "How many were drawn."},
    {"on_turning", AT(of_stratum[FL_STRATUM_ON], WHOLE), FL_FROM_ZERO,
     .meaning = "Of these, on while turning."},
    {"off", AT(of_stratum[FL_STRATUM_OFF], WHOLE), FL_FROM_ZERO, .meaning = "Of these, off."},
    {"near_edge", AT(of_stratum[FL_STRATUM_EDGE], WHOLE), FL_FROM_ZERO,
     .meaning = "Of these, near an edge."},
    {"checked_by_eye", .kind = FL_FIELD_OBJECT, .size = sizeof(struct fl_eye_check),
     FL_THROUGH(fl_audit_told, eye), FL_OR_NULL, .fields = fl_eye_check_fields,
     .meaning = "With --answers: how they agree with what was measured."},
    {0},
};
#undef AT

const struct fl_document fl_audit_document = {
    .name = "audit",
    .title = "What flinch audit --json prints",
    .meaning = "Moments that were drawn for a check by eye or, with --answers, how the answers "
               "agree with what was measured.",
    .format = "flinch-audit",
    .version = 1,
    .fields = told_fields,
};
