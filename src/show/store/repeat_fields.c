/* Repeatability: takes of one setting beside each other. */
#include "show/store/session_fields.h"
#include "study/compare/repeat.h"
#include "study/plan/forecast.h"

#define AT(member, kind) FL_AT(fl_repeat_take, member, kind)
static const struct fl_field take_fields[] = {
    {"id", FL_AT(fl_take, spec.id, TEXT), FL_THROUGH(fl_repeat_take, take), FL_OR_NULL,
     .meaning = "Take."},
    {"flicks", AT(flicks, WHOLE), FL_FROM_ZERO, .meaning = "Flicks at risk with a known outcome."},
    {"trips", AT(trips, WHOLE), FL_FROM_ZERO, .meaning = "How many of them tripped."},
    {"v50", AT(v50, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "V50 of this take by itself, at the slope of the others; null unless some flicks "
                "tripped and some held."},
    {"v50_low", AT(v50_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Its 95 % limits from these flicks alone; null: open."},
    {"v50_high", AT(v50_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "High limit; null: open."},
    {"v50_to_others", AT(v50_ratio, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Its V50 over the mean of the other takes of the setting; null: not tested."},
    {"v50_p", AT(v50_p, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Chance of a V50 as far off, were it one of them."},
    {"v50_p_adjusted", AT(v50_p_adjusted, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "The same, adjusted by Holm over all takes and tests of the session."},
    {"off_share_standardised", AT(share, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Off share, standardised to the flicks of the takes of the setting."},
    {"off_share_of_others", AT(share_of_others, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Mean of the other takes' shares; null: not tested."},
    {"off_share_p", AT(share_p, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Chance of a share as far off, were it one of them."},
    {"off_share_p_adjusted", AT(share_p_adjusted, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "The same, adjusted."},
    {"stands_out", AT(stands_out, BOOL), .meaning = "Either adjusted p is below 0.05."},
    {"warning", AT(warning, TEXT), FL_OR_NULL, .meaning = "In what it stands out, in words."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_scatter, member, kind)
static const struct fl_field scatter_fields[] = {
    {"takes", AT(takes, WHOLE), FL_FROM_ZERO, .meaning = "Takes that it is made of."},
    {"sd", AT(sd, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Standard deviation between takes, octaves of V50 or a share of 1."},
    {"low", AT(low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Its 95 % interval by chi-square: low end."},
    {"high", AT(high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL, .meaning = "High end."},
    {"df", AT(df, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Degrees of freedom; null under two takes."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_scatter, member, kind)
static const struct fl_field octave_fields[] = {
    {"", FL_FIELD_PART, .fields = scatter_fields},
    {"sd_percent", AT(sd, FIGURE5), .as = fl_octaves_to_percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "sd in percent of V50."},
    {"low_percent", AT(low, FIGURE5), .as = fl_octaves_to_percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Low end in percent."},
    {"high_percent", AT(high, FIGURE5), .as = fl_octaves_to_percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "High end in percent."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_repeat, member, kind)
static const struct fl_field v50_spread_fields[] = {
    {"", AT(v50, PART), .fields = octave_fields},
    {"flicks_alone", AT(flick_error, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Standard deviation that the flicks alone would make, were the takes alike, "
                "octaves."},
    {"told_ratio", AT(told_ratio, FIGURE5), FL_FROM_ONE, FL_OR_NULL,
     .meaning = "A take must differ in V50 by this factor to stand out; null: none can, or one "
                "does."},
    {0},
};
#undef AT

static const struct fl_field control_item = {"", FL_AT(fl_take, spec.id, TEXT), FL_OR_NULL};

#define AT(member, kind) FL_AT(fl_repeat_rate, member, kind)
static const struct fl_field rate_fields[] = {
    {"controls", FL_LIST_AT(fl_repeat_rate, control, controls), .of_pointers = true,
     .item = &control_item, .item_meaning = "A take with the feature disabled.",
     .meaning = "Controls that serve: of this condition, else of this game under the same cap."},
    {"control_hz", AT(control_hz, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Their rate, frames/s (geometric mean)."},
    {"off_hz", AT(off_hz, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "The takes' base rate with synthesis off."},
    {"off_ratio", AT(off_ratio, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Over the controls'."},
    {"off_ratio_low", AT(off_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "95 % interval by Student's t on logarithms; null with one take and one control."},
    {"off_ratio_high", AT(off_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL, .meaning = "High end."},
    {"on_hz", AT(on_hz, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "The takes' base rate with synthesis on."},
    {"on_ratio", AT(on_ratio, FIGURE5), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Over the controls'."},
    {"on_ratio_low", AT(on_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "95 % interval, likewise."},
    {"on_ratio_high", AT(on_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL, .meaning = "High end."},
    {"text", AT(text, TEXT), FL_OR_NULL,
     .meaning = "The same in plain words; null without controls."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_repeat, member, kind)
const struct fl_field fl_repeat_fields[] = {
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"condition", AT(condition, TEXT), FL_OR_NULL, .meaning = "Free label of the condition."},
    {"counts_per_inch", AT(counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mouse resolution, counts per inch."},
    {"degrees_per_count", AT(degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Camera turn in degrees for one mouse count."},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word, .meaning = "Quantity of V50."},
    {"unit", AT(quantity, WORD), .word = fl_quantity_unit_word, .meaning = "Its unit."},
    {"takes", FL_LIST_AT(fl_repeat, takes, n), .fields = take_fields, .item_meaning = "One take.",
     .meaning = "Takes of the setting, session order."},
    {"v50_spread_octaves", FL_FIELD_OBJECT, .fields = v50_spread_fields,
     .meaning = "How far the takes' V50 lie apart."},
    {"off_share_spread", AT(share, OBJECT), .fields = scatter_fields,
     .meaning = "How far the takes' standardised off shares lie apart."},
    {"off_share_refused", AT(share_refused, TEXT), FL_OR_NULL,
     .meaning = "Why there are no shares; null when there are."},
    {"rates", AT(rate, OBJECT), .fields = rate_fields,
     .meaning = "Rendered frames beside those of the controls."},
    {"stands_out", AT(stands_out, BOOL), .meaning = "Any of the takes stands out."},
    {"verdict", AT(verdict, TEXT), FL_OR_NULL, .meaning = "In plain words."},
    {0},
};
