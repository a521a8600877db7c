/* docs/against.schema.json: two folders beside each other. */
#include "show/screen/against_screen.h"
#include "show/store/json_value.h"
#include "show/store/session_fields.h"

static const char *found_word(int i)
{
    return i <= FL_FOUND_ONE_SIDED ? fl_found_name((enum fl_found)i) : NULL;
}

static const char before_meaning[] = "Before, in the figure's unit.",
                  now_meaning[] = "Now, in the figure's unit.";

/* What is said of any change, its own figures first. */
#define AT(member, kind) FL_AT(fl_change, member, kind)
static const struct fl_field claim_fields[] = {
    {"p", AT(p, FIGURE), FL_SHARE, FL_OR_NULL, .meaning = "Of no change; null: not tested."},
    {"p_adjusted", AT(p_adjusted, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "p by Holm over all tests of the two folders."},
    {"finding", AT(finding, WORD), .word = found_word,
     .meaning = "What is claimed of now against before: higher or lower (p_adjusted below 0.05), "
                "same (the interval of a ratio lies within 0.9 to 1.11), one_sided (a bound keeps "
                "the ratio off 1; not tested), cannot_tell; none: nothing, as it was not compared "
                "or depends on the hand."},
    {"unsure", AT(unsure, TEXT), FL_OR_NULL,
     .meaning = "Why there is no interval or no test; null: there is."},
    {"refused", AT(refused, TEXT), FL_OR_NULL,
     .meaning = "Why the two sides cannot be compared; null: they can."},
    {0},
};
static const struct fl_field interval_fields[] = {
    {"low", AT(low, FIGURE), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open or none."},
    {"high", AT(high, FIGURE), FL_OR_NULL, .meaning = "Upper end; null: open or none."},
    {"", FL_FIELD_PART, .fields = claim_fields},
    {0},
};
static const struct fl_field ratio_fields[] = {
    {"before", AT(before, FIGURE), FL_OR_NULL, .meaning = before_meaning},
    {"now", AT(now, FIGURE), FL_OR_NULL, .meaning = now_meaning},
    {"ratio", AT(change, FIGURE), FL_OR_NULL, .meaning = "Now over before."},
    {"", FL_FIELD_PART, .fields = interval_fields},
    {0},
};
static const struct fl_field difference_fields[] = {
    {"before", AT(before, FIGURE), FL_OR_NULL, .meaning = before_meaning},
    {"now", AT(now, FIGURE), FL_OR_NULL, .meaning = now_meaning},
    {"difference", AT(change, FIGURE), FL_OR_NULL, .meaning = "Now less before."},
    {"", FL_FIELD_PART, .fields = interval_fields},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_curve, member, kind)
static const struct fl_field curve_fields[] = {
    {"v50", AT(v50, FIGURE), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Trip speed."},
    {"v50_low", AT(v50_low, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"v50_high", AT(v50_high, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"bound", AT(bound, WORD), .word = fl_bound_word, .meaning = "What is known instead of V50."},
    {"bound_at", AT(bound_at, FIGURE), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Where the bound is."},
    {"kernel_ms", AT(kernel_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Motion is averaged over so long."},
    {"flicks", AT(flicks, WHOLE), FL_FROM_ZERO, .meaning = "Flicks fitted."},
    {"trips", AT(trips, WHOLE), FL_FROM_ZERO, .meaning = "Of these, tripped."},
    {"takes", AT(takes, WHOLE), FL_FROM_ZERO, .meaning = "Takes they come from."},
    {0},
};
#undef AT

/* A quantity beside the one that it is one test with; NULL: a test of its own. */
struct compared {
    const struct fl_against_v50 *v50, *twin;
};

#define AT(member, kind) FL_AT(fl_against_v50, member, kind), FL_THROUGH(compared, v50)
static const struct fl_field change_fields[] = {
    {"before", FL_FIELD_OBJECT, FL_THROUGH(fl_against_v50, before), FL_OR_NULL,
     .fields = curve_fields, .meaning = "The curve before; null: not measured there."},
    {"now", FL_FIELD_OBJECT, FL_THROUGH(fl_against_v50, now), FL_OR_NULL, .fields = curve_fields,
     .meaning = "The curve now; null: not measured there."},
    {"ratio", FL_AT(fl_against_v50, change.change, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "V50 now over before."},
    {"low", FL_AT(fl_against_v50, change.low, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval, or of what a bound leaves; null: open or none."},
    {"high", FL_AT(fl_against_v50, change.high, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open or none."},
    {"", FL_AT(fl_against_v50, change, PART), .fields = claim_fields},
    {0},
};
static const struct fl_field v50_fields[] = {
    {"", FL_FIELD_PART, FL_THROUGH(compared, v50), .fields = change_fields},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word, .meaning = "Motion quantity."},
    {"unit", AT(quantity, WORD), .word = fl_quantity_unit_word, .meaning = "Its unit."},
    {"same_test_as", FL_AT(fl_against_v50, quantity, WORD), FL_THROUGH(compared, twin), FL_OR_NULL,
     .word = fl_quantity_word,
     .meaning = "An earlier quantity that puts the flicks of both sides in the same order: the "
                "two count as one test; null: a test of its own."},
    {0},
};
#undef AT

static json_t *v50_json(const void *at)
{
    const struct fl_against_setting *s = at;
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_v50; i++) {
        const struct fl_against_v50 *v = &s->v50[i], *twin = &s->v50[v->twin];
        const struct compared c = {v, twin == v ? NULL : twin};
        fl_json_append(list, fl_fields_json(&c, v50_fields));
    }
    return list;
}

/* A quantity is set only where one leads. */
static json_t *off_share_by(const void *at)
{
    const struct fl_against_setting *s = at;
    return fl_json_text(s->lead ? fl_quantity_word((int)s->off_share_by) : NULL);
}

static const struct fl_field id_item = {"", FL_AT(fl_take, spec.id, TEXT),
                                        .meaning = "Id of a take."};

#define AT(member, kind) FL_AT(fl_setting, member, kind)
static const struct fl_field setting_fields[] = {
    {"game", AT(game, TEXT), .meaning = "Game."},
    {"condition", AT(condition, TEXT), .meaning = "Condition."},
    {"counts_per_inch", AT(counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mouse resolution; null: not given."},
    {"degrees_per_count", AT(degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Sensitivity; null: not given."},
    {"synthesis_disabled", AT(control, BOOL), .meaning = "A control."},
    {0},
};
static const struct fl_field lone_setting_fields[] = {
    {"", FL_FIELD_PART, .fields = setting_fields},
    {"takes", FL_LIST_AT(fl_setting, takes, n), .of_pointers = true, .item = &id_item,
     .meaning = "Its takes."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_against_setting, member, kind)
static const struct fl_field both_fields[] = {
    {"", AT(now, PART), .fields = setting_fields},
    {"takes_before", FL_LIST_AT(fl_against_setting, before.takes, before.n), .of_pointers = true,
     .item = &id_item, .meaning = "Takes before."},
    {"takes_now", FL_LIST_AT(fl_against_setting, now.takes, now.n), .of_pointers = true,
     .item = &id_item, .meaning = "Takes now."},
    {"refused", AT(refused, TEXT), FL_OR_NULL,
     .meaning = "Why nothing of it is compared; null: something is."},
    {"sentence", AT(sentence, TEXT), .meaning = "What changed, in plain words."},
    {"lead", FL_AT(fl_against_v50, quantity, WORD), FL_THROUGH(fl_against_setting, lead),
     FL_OR_NULL, .word = fl_quantity_word,
     .meaning = "Quantity that the sentence is about; null: none can be compared."},
    {"v50", FL_FIELD_LIST, .make = v50_json, .fields = v50_fields,
     .item_meaning = "One motion quantity.", .meaning = "Trip speeds."},
    {"off_share_standardised", AT(off_share, OBJECT), .fields = difference_fields,
     .meaning = "Share of off in the seen time of flicks, standardised to the flicks that both "
                "sides have in common."},
    {"off_share_by", FL_FIELD_WORD, .make = off_share_by, FL_OR_NULL, .word = fl_quantity_word,
     .meaning = "Quantity whose peaks make flicks alike; null: none."},
    {"base_rate_on_hz", AT(base_on, OBJECT), .fields = ratio_fields,
     .meaning = "Rendered frames per second with synthesis on."},
    {"base_rate_off_hz", AT(base_off, OBJECT), .fields = ratio_fields,
     .meaning = "Rendered frames per second with synthesis off."},
    {"lapses_per_min", AT(lapses, OBJECT), .fields = difference_fields,
     .meaning = "Lapses a minute. They depend on how the hand moved, so they are neither tested "
                "nor claimed to have changed."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_delay, member, kind)
static const struct fl_field delay_fields[] = {
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word,
     .meaning = "Quantity whose crossing starts the delay."},
    {"threshold", AT(threshold, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Where it is crossed, in the quantity's unit."},
    {"switched", AT(switched, WHOLE), FL_FROM_ZERO, .meaning = "Delays that ended in a switch."},
    {"median_s", AT(median_s, TIME), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Median."},
    {"median_low_s", AT(low_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"median_high_s", AT(high_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {0},
};
#undef AT

static const char *method_word(int i)
{
    static const char *const words[] = {"log_rank", "intervals", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_against_delay, member, kind)
static const struct fl_field both_delay_fields[] = {
    {"game", AT(game, TEXT), .meaning = "Game."},
    {"condition", AT(condition, TEXT), .meaning = "Condition."},
    {"edge", AT(trip, WORD), .word = fl_edge_word,
     .meaning = "From crossing the threshold up to the trip, or down to the return."},
    {"before", FL_FIELD_OBJECT, FL_THROUGH(fl_against_delay, before), FL_OR_NULL,
     .fields = delay_fields, .meaning = "Before; null: no cut-off rule."},
    {"now", FL_FIELD_OBJECT, FL_THROUGH(fl_against_delay, now), FL_OR_NULL, .fields = delay_fields,
     .meaning = "Now; null: no cut-off rule."},
    {"difference_s", AT(change.change, TIME), FL_OR_NULL, .meaning = "Median now less before."},
    {"method", AT(method, TEXT), FL_OR_NULL, .word = method_word,
     .meaning = "How the two are compared: log-rank test and intervals of the medians, or the "
                "intervals alone; null: not compared."},
    {"", AT(change, PART), .fields = claim_fields},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_session, member, kind)
static const struct fl_field side_fields[] = {
    {"session", AT(name, TEXT), FL_OR_NULL, .meaning = "Name of the session; null: not read."},
    {"takes", AT(n_takes, WHOLE), FL_FROM_ZERO, .meaning = "Takes read back."},
    {"failed", FL_LIST_AT(fl_session, failed, n_failed), .fields = fl_failed_fields,
     .item_meaning = "One take.", .meaning = "Takes that could not be measured or read."},
    {0},
};
#undef AT

/* What is printed, from both folders. */
struct sides {
    const struct fl_session *before, *now;
    const struct fl_against *a;
};

#define LIST(member, n) FL_LIST_AT(fl_against, member, n), FL_THROUGH(sides, a)
static const struct fl_field against_fields[] = {
    {"", FL_FIELD_PART, .fields = fl_version_fields},
    {"refused", FL_AT(fl_against, refused, TEXT), FL_THROUGH(sides, a), FL_OR_NULL,
     .meaning = "Why nothing can be compared; null: something can be tried."},
    {"before", FL_FIELD_OBJECT, FL_THROUGH(sides, before), .fields = side_fields,
     .meaning = "The earlier session."},
    {"now", FL_FIELD_OBJECT, FL_THROUGH(sides, now), .fields = side_fields,
     .meaning = "The later session."},
    {"settings", LIST(setting, n), .fields = both_fields,
     .item_meaning = "One game, condition, resolution and sensitivity that both have.",
     .meaning = "What both have."},
    {"delays", LIST(delay, n_delays), .fields = both_delay_fields,
     .item_meaning = "One delay of one game and condition.",
     .meaning = "Trip and return delays of games and conditions that both have."},
    {"only_before", LIST(only_before, n_only_before), .fields = lone_setting_fields,
     .item_meaning = "One setting.", .meaning = "What is in the earlier folder only."},
    {"only_now", LIST(only_now, n_only_now), .fields = lone_setting_fields,
     .item_meaning = "One setting.", .meaning = "What is in the later folder only."},
    {"tests", FL_AT(fl_against, tests, WHOLE), FL_THROUGH(sides, a), FL_FROM_ZERO,
     .meaning = "Tests that p_adjusted is adjusted for."},
    {0},
};

const struct fl_document fl_against_document = {
    .name = "against",
    .title = "Two folders compared (flinch show --against --json)",
    .meaning = "What changed from an earlier session to a later one. Unknown numbers are null.",
    .format = "flinch-against",
    .version = 1,
    .fields = against_fields,
};

json_t *fl_against_json(const struct fl_against_side *before, const struct fl_against_side *now,
                        const struct fl_against *a)
{
    static const struct fl_session unread;
    const struct sides sides = {before->session ? before->session : &unread,
                                now->session ? now->session : &unread, a};
    return fl_document_json(&fl_against_document, &sides);
}
