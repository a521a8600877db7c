/* docs/what-if.schema.json: what fitted rules would do to a trace. */
#include <stdlib.h>

#include "show/screen/what_if_screen.h"
#include "show/store/json_value.h"
#include "show/store/session_fields.h"

static const char resolution_meaning[] = "Mouse resolution, counts per inch; null: not given.",
                  sensitivity_meaning[] = "Camera turn in degrees for one mouse count; null: not "
                                          "given.";

static const char *kept_word(int i)
{
    static const char *const words[] = {"as_recorded", "hand_and_turns", "hand", "turns", NULL};
    return words[i];
}

static json_t *lapses(const void *at)
{
    const struct fl_prediction *p = &((const struct fl_what_if *)at)->prediction;
    return p->refused ? json_null() : json_integer((json_int_t)p->lapses);
}

#define AT(member, kind) FL_AT(fl_what_if, member, kind)
static const struct fl_field row_fields[] = {
    {"counts_per_inch", AT(setting.counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = resolution_meaning},
    {"degrees_per_count", AT(setting.degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = sensitivity_meaning},
    {"kept", AT(kept, TEXT), .word = kept_word,
     .meaning = "What stays as recorded when the setting changes: the hand's motion, the camera's "
                "turns, or both, as degrees per centimetre stay the same."},
    {"refused", AT(prediction.refused, TEXT), FL_OR_NULL,
     .meaning = "Why nothing is predicted here; null: something is."},
    {"off_s", AT(prediction.off_s, TIME), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Time off, s."},
    {"off_share", AT(prediction.off_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of all of the trace, rests included, in which the rule is off."},
    {"off_share_low", AT(prediction.off_share_low, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Lower end: 95 % of resampled rules, and every rule that agrees with the takes as "
                "well; null: open."},
    {"off_share_high", AT(prediction.off_share_high, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"lapses", FL_FIELD_WHOLE, .make = lapses, FL_FROM_ZERO, FL_OR_NULL, .meaning = "Lapses."},
    {"lapses_per_min", AT(prediction.lapses_per_min, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lapses per minute of the trace."},
    {"lapses_per_min_low", AT(prediction.lapses_per_min_low, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end; null: open."},
    {"lapses_per_min_high", AT(prediction.lapses_per_min_high, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"longest_s", AT(prediction.longest_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Longest lapse, s."},
    {0},
};
#undef AT

/* A rule and what it would do. */
struct answer {
    const struct fl_rule *rule;
    struct fl_what_if *row;
    size_t n;
};

#define RULE(member, kind) FL_AT(fl_rule, member, kind), FL_THROUGH(answer, rule)
static const struct fl_field answer_fields[] = {
    {"game", RULE(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"condition", RULE(condition, TEXT), FL_OR_NULL, .meaning = "Free label of the condition."},
    {"quantity", RULE(quantity, WORD), .word = fl_quantity_word, .meaning = "Quantity."},
    {"unit", RULE(quantity, WORD), .word = fl_quantity_unit_word,
     .meaning = "Unit of the quantity and of the thresholds."},
    {"lead", RULE(lead, BOOL),
     .meaning = "The leading rule of its game and condition; else one that the takes do not tell "
                "from it."},
    {"refused", RULE(refused, TEXT), FL_OR_NULL,
     .meaning = "Why there is no rule to predict by; null: there is one."},
    {"theta_off", RULE(fit.theta_off, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Trips above this, in the quantity's unit."},
    {"theta_on", RULE(fit.theta_on, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Returns below this."},
    {"d_off_s", RULE(fit.d_off_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "For this long before it trips, s."},
    {"d_on_s", RULE(fit.d_on_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "For this long before it returns, s."},
    {"settings", FL_LIST_AT(answer, row, n), .fields = row_fields,
     .item_meaning = "One mouse setting.", .meaning = "One row a mouse setting."},
    {0},
};

/* What is printed. */
struct predicted {
    const struct fl_session *session;
    const struct fl_what_if_question *question;
    double trace_s;
    struct answer *answer;
    size_t n;
};

static json_t *yes(const void *nothing)
{
    (void)nothing;
    return json_true();
}

#define ASKED(member, kind) \
    FL_AT(fl_what_if_question, member, kind), FL_THROUGH(predicted, question)
static const struct fl_field what_if_fields[] = {
    {"", FL_FIELD_PART, .fields = fl_version_fields},
    {"prediction", FL_FIELD_BOOL, .make = yes, FL_FROM_ONE,
     .meaning = "These are predictions, not measurements."},
    {"session", FL_AT(fl_session, name, TEXT), FL_THROUGH(predicted, session), FL_OR_NULL,
     .meaning = "Name of the session whose rules are used."},
    {"trace", ASKED(trace, PATH), FL_OR_NULL, .meaning = "Name of the trace's file."},
    {"trace_s", FL_AT(predicted, trace_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Length of the trace, s."},
    {"counts_per_inch", ASKED(hand.recorded.counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Resolution that the trace was recorded at; null: not given."},
    {"degrees_per_count", ASKED(hand.recorded.degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Sensitivity that the trace was recorded at; null: not given."},
    {"rules", FL_LIST_AT(predicted, answer, n), .fields = answer_fields,
     .item_meaning = "One rule.", .meaning = "Leading rules and their rivals."},
    {0},
};

const struct fl_document fl_what_if_document = {
    .name = "what-if",
    .title = "What a fitted rule would do (flinch plan --what-if --json)",
    .meaning = "Cut-off rules of a session applied to the motion in somebody's own trace. Unknown "
               "numbers are null.",
    .format = "flinch-what-if",
    .version = 1,
    .fields = what_if_fields,
};

static struct answer answer_of(const struct fl_session *s, const struct fl_rule *r,
                               const struct fl_what_if_question *q)
{
    struct answer a = {.rule = r};
    a.n = r->refused ? 0 : fl_what_if(&a.row, s, r, &q->hand, &q->asked);
    return a;
}

json_t *fl_what_if_json(const struct fl_session *s, const struct fl_what_if_question *q)
{
    struct predicted p = {.session = s, .question = q, .trace_s = q->hand.end_s - q->hand.start_s};
    size_t cap = 0;
    for (const struct fl_rule *const *r = fl_what_if_rules(s); *r; r++)
        FL_PUSH(p.answer, p.n, cap, answer_of(s, *r, q));
    json_t *value = fl_document_json(&fl_what_if_document, &p);
    for (size_t i = 0; i < p.n; i++)
        free(p.answer[i].row);
    free(p.answer);
    return value;
}
