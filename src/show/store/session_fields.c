/* What session.json holds: a line a take, and the lists that a study fills. */
#include "show/store/session_fields.h"
#include "show/store/eye_fields.h"
#include "show/store/take_fields.h"
#include "study/compare/comparison.h"
#include "study/compare/repeat.h"
#include "study/compare/result.h"
#include "study/curve/curve.h"
#include "study/curve/quantity_rank.h"
#include "study/rule/delay.h"
#include "study/rule/rule.h"

static json_t *take_file(const void *at)
{
    return json_sprintf("takes/%s.json", ((const struct fl_take *)at)->spec.id);
}

#define AT(member, kind) FL_AT(fl_take, member, kind)
static const struct fl_field summary_fields[] = {
    {"", AT(spec, PART), .fields = fl_identity_fields},
    {"file", FL_FIELD_TEXT, .make = take_file, .meaning = "Its file, relative to this one."},
    {"synthesis_disabled", AT(spec.synthesis_disabled, BOOL), .meaning = "A control."},
    {"duration_s", AT(duration_s, TIME), FL_FROM_ZERO, .meaning = "Length, s."},
    {"base_rate_on_hz", AT(states.base_rate_on_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Rendered frames/s with synthesis on."},
    {"base_rate_off_hz", AT(states.base_rate_off_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Rendered frames/s with synthesis off."},
    {"visible_floor_deg_s", AT(visible_floor_deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Camera speed, deg/s, below which neither on nor off was seen."},
    {"clock_known", AT(clock.known, BOOL), .meaning = "Trace and footage were lined up."},
    {"lapses", AT(states.n_lapses, WHOLE), FL_FROM_ZERO, .meaning = "Lapses."},
    {"flicks", AT(n_flicks, WHOLE), FL_FROM_ZERO, .meaning = "Flicks."},
    {"exposure", AT(exposure, OBJECT), .fields = fl_exposure_fields,
     .meaning = "Time in each state. Shares are 0..1."},
    {"smoothness", AT(smoothness, OBJECT), .fields = fl_smoothness_fields,
     .meaning = "Unique rate, flips per second, in windows of 0.25 s of seen time: mean and 1st "
                "percentile."},
    {"pacing", AT(pacing, OBJECT), .fields = fl_pacing_fields,
     .meaning = "How long pictures of each kind are on screen, and how evenly they come. In state "
                "off every picture is rendered."},
    {"warnings", FL_LIST_AT(fl_take, warnings, n_warnings), .fields = fl_warning_fields,
     .item_meaning = "One warning.", .meaning = "What to mind about the figures."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_failed_take, member, kind)
const struct fl_field fl_failed_fields[] = {
    {"id", AT(id, TEXT), .meaning = "Its id."},
    {"text", AT(text, TEXT), .meaning = "Why."},
    {0},
};
#undef AT

#define LIST(member, n) FL_LIST_AT(fl_session, member, n)
static const struct fl_field session_fields[] = {
    {"", FL_FIELD_PART, .fields = fl_version_fields},
    {"session", FL_AT(fl_session, name, TEXT), FL_OR_NULL, .meaning = "Name of the session."},
    {"takes", LIST(takes, n_takes), .of_pointers = true, .fields = summary_fields,
     .item_meaning = "One take.",
     .meaning = "Measured takes, session order; all of each is in its own file."},
    {"settings", LIST(results, n_results), .fields = fl_result_fields,
     .item_meaning = "One game, condition, resolution and sensitivity; controls apart.",
     .meaning = "What was found of each setting, most easily tripped first."},
    {"curves", LIST(curves, n_curves), .fields = fl_curve_fields,
     .item_meaning = "One game, condition, resolution, sensitivity and quantity.",
     .meaning = "Trip curves."},
    {"comparisons", LIST(comparisons, n_comparisons), .fields = fl_comparison_fields,
     .item_meaning = "A against B.", .meaning = "Comparisons of V50."},
    {"quantities", LIST(quantities, n_quantities), .fields = fl_quantity_rank_fields,
     .item_meaning = "One game and quantity.", .meaning = "Which quantity drives the cut-off."},
    {"rules", LIST(rules, n_rules), .fields = fl_rule_fields, .item_meaning = "One rule.",
     .meaning = "The cut-off rule: off once the quantity is above theta_off for d_off_s, on again "
                "once it is below theta_on for d_on_s. One for each game, condition and measured "
                "quantity, over all settings of the mouse; controls are left out."},
    {"delays", LIST(delays, n_delays), .fields = fl_delay_fields,
     .item_meaning = "One game, condition and edge.",
     .meaning = "Delays from crossing the threshold of the leading rule to trip or return."},
    {"delay_comparisons", LIST(delay_comparisons, n_delay_comparisons),
     .fields = fl_delay_comparison_fields, .item_meaning = "One comparison.",
     .meaning = "The same delay in two conditions of a game."},
    {"repeatability", LIST(repeats, n_repeats), .fields = fl_repeat_fields,
     .item_meaning = "One game, condition, resolution and sensitivity.",
     .meaning = "Repeatability: takes of one setting beside each other, controls apart."},
    {"checked_by_eye", .kind = FL_FIELD_OBJECT, .size = sizeof(struct fl_eye_check),
     FL_THROUGH(fl_session, eye_check), FL_OR_NULL, .fields = fl_eye_check_fields,
     .meaning = "How answers given by eye (flinch audit) agree with what was measured; null: none "
                "were given, or a take that they are about was measured anew."},
    {"failed", LIST(failed, n_failed), .fields = fl_failed_fields, .item_meaning = "One take.",
     .meaning = "Takes that could not be measured."},
    {0},
};

const struct fl_document fl_session_document = {
    .name = "session",
    .title = "A studied session (session.json)",
    .meaning = "Settings, curves, comparisons, cut-off rules and delays of a session. Unknown "
               "numbers are null.",
    .format = "flinch-session",
    .version = 1,
    .fields = session_fields,
};
