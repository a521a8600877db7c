/* docs/plan.schema.json: what to record next. */
#include "show/screen/plan_screen.h"
#include "show/store/json_value.h"
#include "show/store/session_fields.h"

/* Half of an interval; an open one is as wide as can be, not unknown. */
static double percent(double octaves)
{
    return isinf(octaves) ? FL_UNKNOWN : fl_octaves_to_percent(octaves);
}

static const char *step_word(int i)
{
    return i <= FL_STEP_AFTER ? fl_step_name((enum fl_step_kind)i) : NULL;
}

/* An end of a band. */
struct end {
    double peak, quarter_turn_s, hand_speed_cm_s;
};

#define AT(member, kind) FL_AT(end, member, kind)
static const struct fl_field end_fields[] = {
    {"peak", AT(peak, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Peak, in the quantity's unit."},
    {"quarter_turn_s", AT(quarter_turn_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Time of a smooth turn of 90 degrees with this peak, s; null: not a camera "
                "speed."},
    {"hand_speed_cm_s", AT(hand_speed_cm_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Peak of the hand, cm/s; null: resolution or sensitivity not given."},
    {0},
};
#undef AT

/* Speeds to flick at. */
struct band {
    int flicks;
    struct end from, to;
};

#define AT(member, kind) FL_AT(band, member, kind)
static const struct fl_field band_fields[] = {
    {"flicks_a_take", AT(flicks, WHOLE), FL_FROM_ZERO, .meaning = "Flicks of each take in it."},
    {"from", AT(from, OBJECT), .fields = end_fields, .meaning = "Its slow end."},
    {"to", AT(to, OBJECT), .fields = end_fields, .meaning = "Its fast end."},
    {0},
};
#undef AT

static struct end end_at(const struct fl_plan_setting *t, double v)
{
    return (struct end){v, fl_plan_quarter_turn_s(t, v), fl_plan_hand_cm_s(t, v)};
}

static json_t *bands(const void *setting)
{
    const struct fl_plan_setting *t = setting;
    json_t *list = json_array();
    for (int i = 0; i < FL_PLAN_BANDS; i++) {
        const struct fl_plan_band *b = &t->band[i];
        const struct band band = {t->flicks_a_take * b->share / FL_PLAN_BLOCK, end_at(t, b->low),
                                  end_at(t, b->high)};
        fl_json_append(list, fl_fields_json(&band, band_fields));
    }
    return list;
}

static json_t *flicks(const void *setting)
{
    const struct fl_curve *c = ((const struct fl_plan_setting *)setting)->curve;
    return json_integer(c ? c->flicks : 0);
}

static json_t *takes(const void *setting)
{
    const struct fl_curve *c = ((const struct fl_plan_setting *)setting)->curve;
    return json_integer(c ? c->takes : 0);
}

static json_t *more_flicks(const void *setting)
{
    const struct fl_plan_setting *t = setting;
    return json_integer(t->takes * t->flicks_a_take);
}

static const char game_meaning[] = "Game, as the session file names it; null: any.",
                  condition_meaning[] = "Free label of the condition; before a first session the "
                                        "letter of a setting.",
                  resolution_meaning[] = "Mouse resolution, counts per inch; null: not given.",
                  sensitivity_meaning[] = "Camera turn in degrees for one mouse count; null: not "
                                          "given.";

#define AT(member, kind) FL_AT(fl_plan_setting, member, kind)
static const struct fl_field setting_fields[] = {
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = game_meaning},
    {"condition", AT(condition, TEXT), FL_OR_NULL, .meaning = condition_meaning},
    {"counts_per_inch", AT(counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = resolution_meaning},
    {"degrees_per_count", AT(degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = sensitivity_meaning},
    {"degrees_per_count_found", AT(degrees_found, BOOL),
     .meaning = "The session does not give degrees_per_count; the picture shows it."},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word,
     .meaning = "Quantity of V50 and of the bands."},
    {"unit", AT(quantity, WORD), .word = fl_quantity_unit_word, .meaning = "Its unit."},
    {"flicks", FL_FIELD_WHOLE, .make = flicks, FL_FROM_ZERO,
     .meaning = "Flicks so far that say held or tripped."},
    {"takes", FL_FIELD_WHOLE, .make = takes, FL_FROM_ZERO, .meaning = "Takes that they come from."},
    {"bound", FL_AT(fl_curve, bound, WORD), FL_THROUGH(fl_plan_setting, curve), FL_OR_NULL,
     .word = fl_bound_word, .meaning = "As in the curves of a session; null before a first one."},
    {"v50", FL_AT(fl_curve, v50, FIGURE), FL_THROUGH(fl_plan_setting, curve), FL_FROM_ZERO,
     FL_OR_NULL, .meaning = "Trip speed so far; null: not known."},
    {"width_now_percent", AT(width_now, FIGURE), .as = percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Half of the 95 % interval of V50 so far, as a ratio; null: open or no V50."},
    {"enough", AT(enough, BOOL), .meaning = "It is as narrow as wanted already."},
    {"searching", AT(searching, BOOL),
     .meaning = "The flicks so far give no trip speed: these look for it."},
    {"reached", AT(reached, BOOL),
     .meaning = "The plan is expected to make it as narrow as wanted; else the plan ends at its "
                "most takes."},
    {"more_flicks", FL_FIELD_WHOLE, .make = more_flicks, FL_FROM_ZERO,
     .meaning = "Flicks to record."},
    {"more_takes", AT(takes, WHOLE), FL_FROM_ZERO, .meaning = "Takes to share them out over."},
    {"flicks_a_take", AT(flicks_a_take, WHOLE), FL_FROM_ZERO, .meaning = "Flicks of each."},
    {"expected_percent", AT(forecast.width, FIGURE), .as = percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Half of the interval to be expected after them: median of simulated sessions; "
                "null: open."},
    {"expected_low_percent", AT(forecast.low, FIGURE), .as = percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "A tenth of the simulations are narrower."},
    {"expected_high_percent", AT(forecast.high, FIGURE), .as = percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "A tenth are wider; null: open."},
    {"takes_differ_percent", AT(takes_differ.sd, FIGURE), .as = percent, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Standard deviation between takes of their own trip speeds that the forecast "
                "reckons with."},
    {"takes_differ_assumed", AT(takes_differ.assumed, BOOL),
     .meaning = "The takes say nothing of it; it is assumed."},
    {"bands", FL_FIELD_LIST, .make = bands, .fields = band_fields,
     .item_meaning = "One band of speeds.",
     .meaning = "Slow, middle and fast: flick anywhere within. One begins where another ends."},
    {0},
};
#undef AT

static json_t *order(const void *step)
{
    const struct fl_step *s = step;
    json_t *list = json_array();
    for (int i = 0; s->order && i < s->flicks; i++)
        fl_json_append(list, json_integer(s->order[i]));
    return list;
}

static double if_any(double minutes)
{
    return minutes > 0 ? minutes : FL_UNKNOWN;
}

static const struct fl_range band_numbers = {1, FL_PLAN_BANDS};
static const struct fl_field band_number = {"", FL_FIELD_WHOLE, .range = &band_numbers,
                                            .meaning = "Number of a band."};

#define AT(member, kind) FL_AT(fl_step, member, kind)
#define SETTING(member, kind) FL_AT(fl_plan_setting, member, kind), FL_THROUGH(fl_step, setting)
static const struct fl_field step_fields[] = {
    {"kind", AT(kind, WORD), .word = step_word, .meaning = "What kind of step."},
    {"game", SETTING(game, TEXT), FL_OR_NULL, .meaning = game_meaning},
    {"condition", SETTING(condition, TEXT), FL_OR_NULL, .meaning = condition_meaning},
    {"counts_per_inch", SETTING(counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = resolution_meaning},
    {"degrees_per_count", SETTING(degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = sensitivity_meaning},
    {"flicks", AT(flicks, WHOLE), FL_FROM_ZERO, .meaning = "Flicks of a take or control; else 0."},
    {"order", FL_FIELD_LIST, .make = order, .item = &band_number,
     .meaning = "Bands of a take, flick by flick: numbers from 1 into the setting's bands; empty "
                "for other steps."},
    {"minutes", AT(minutes, FIGURE), .as = if_any, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "About how long it takes, min; null: no time of its own."},
    {"text", AT(text, TEXT), .meaning = "What to do."},
    {0},
};
#undef AT

/* What is printed. */
struct planned {
    const char *name;
    double hand_scatter;
    const struct fl_plan *plan;
    const struct fl_schedule *desk;
};

static const struct fl_field plan_fields[] = {
    {"", FL_FIELD_PART, .fields = fl_version_fields},
    {"session", FL_AT(planned, name, TEXT), FL_OR_NULL,
     .meaning = "Name of the session so far; null: before a first one."},
    {"wanted_percent", FL_AT(fl_plan, wanted, FIGURE), FL_THROUGH(planned, plan), .as = percent,
     FL_FROM_ZERO, FL_OR_NULL, .meaning = "Wanted half of each interval."},
    {"hand_scatter_percent", FL_AT(planned, hand_scatter, FIGURE), .as = percent, FL_FROM_ZERO,
     FL_OR_NULL,
     .meaning = "How far a hand is taken to scatter about a speed that it aims at, standard "
                "deviation."},
    {"settings", FL_LIST_AT(fl_plan, setting, n), FL_THROUGH(planned, plan),
     .fields = setting_fields, .item_meaning = "One setting.",
     .meaning = "One row a game, condition, resolution and sensitivity."},
    {"takes_now", FL_AT(fl_schedule, takes, WHOLE), FL_THROUGH(planned, desk), FL_FROM_ZERO,
     .meaning = "Takes in the steps, controls aside."},
    {"takes_left", FL_AT(fl_schedule, takes_left, WHOLE), FL_THROUGH(planned, desk), FL_FROM_ZERO,
     .meaning = "Takes of the plan that do not fit one sitting."},
    {"steps", FL_LIST_AT(fl_schedule, step, n), FL_THROUGH(planned, desk), .fields = step_fields,
     .item_meaning = "One step.", .meaning = "What to do, in order; empty when nothing is needed."},
    {0},
};

const struct fl_document fl_plan_document = {
    .name = "plan",
    .title = "What to record next (flinch plan --json)",
    .meaning = "How many more takes at which speeds bring each trip speed to a wanted width, and "
               "the steps at the desk. Unknown numbers are null.",
    .format = "flinch-plan",
    .version = 1,
    .fields = plan_fields,
};

json_t *fl_plan_json(const char *name, const struct fl_plan *plan, const struct fl_schedule *desk)
{
    const struct planned planned = {name, FL_HAND_SCATTER, plan, desk};
    return fl_document_json(&fl_plan_document, &planned);
}
