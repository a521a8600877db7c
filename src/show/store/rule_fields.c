/* Cut-off rules and delays. */
#include "show/store/session_fields.h"
#include "study/rule/delay.h"
#include "study/rule/rule.h"

#define AT(member, kind) FL_AT(fl_rule_miss, member, kind)
static const struct fl_field miss_fields[] = {
    {"take", FL_AT(fl_take, spec.id, TEXT), FL_THROUGH(fl_rule_miss, take), FL_OR_NULL,
     .meaning = "Id of its take."},
    {"start_s", AT(start_s, TIME), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Where it starts, s."},
    {"end_s", AT(end_s, TIME), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Where it ends, s."},
    {"flick_start_s", AT(flick_start_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Start of the flick it belongs to, s; null: none."},
    {"peak", AT(peak, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Most of the quantity from 0.4 s before it to its end; null: not known."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_rule, member, kind)
static const struct fl_field parameter_fields[] = {
    {"theta_off", AT(fit.theta_off, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Trips above this, in the quantity's unit."},
    {"theta_off_low", AT(low.theta_off, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"theta_off_high", AT(high.theta_off, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"theta_on", AT(fit.theta_on, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Returns below this, in the quantity's unit."},
    {"theta_on_low", AT(low.theta_on, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"theta_on_high", AT(high.theta_on, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"d_off_s", AT(fit.d_off_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "For this long before it trips, s of footage time."},
    {"d_off_low_s", AT(low.d_off_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval."},
    {"d_off_high_s", AT(high.d_off_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"d_on_s", AT(fit.d_on_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "For this long before it returns, s of footage time."},
    {"d_on_low_s", AT(low.d_on_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval."},
    {"d_on_high_s", AT(high.d_on_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"interval_method", AT(interval_method, TEXT), FL_OR_NULL,
     .meaning = "null: no interval, as it is neither the lead nor a rival; takes_bootstrap: takes "
                "resampled, from six; takes_events_bootstrap: takes and their flicks resampled, "
                "two to five; events_bootstrap: flicks of one take. Rules that agree with the "
                "states as well, but for one rendered frame in all, are always inside."},
    {0},
};

const struct fl_field fl_rule_fields[] = {
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"condition", AT(condition, TEXT), FL_OR_NULL,
     .meaning = "Free label of the condition, compared within a game."},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word, .meaning = "Quantity."},
    {"unit", AT(quantity, WORD), .word = fl_quantity_unit_word,
     .meaning = "Unit of the quantity and of every speed in this object."},
    {"kernel_ms", AT(kernel_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Width of the box mean, ms."},
    {"lead", AT(lead, BOOL),
     .meaning = "The quantity that was named, else camera speed if its rule is as good as the "
                "best, else the best."},
    {"rival", AT(rival, BOOL),
     .meaning = "No quantity is named, and on takes left out this one is no worse than the lead by "
                "more than the standard error of the difference, or than half a rendered frame a "
                "lapse."},
    {"refused", AT(refused, TEXT), FL_OR_NULL,
     .meaning = "Why there is no rule; null: there is one."},
    {"", FL_FIELD_PART, .fields = parameter_fields},
    {"takes", AT(takes, WHOLE), FL_FROM_ZERO, .meaning = "Takes with seen time at a known speed."},
    {"lapses", AT(lapses, WHOLE), FL_FROM_ZERO,
     .meaning = "Lapses with off time outside their brackets."},
    {"seen_on_s", AT(seen_on_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Time seen on that was fitted, s."},
    {"seen_off_s", AT(seen_off_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Time seen off that was fitted, s."},
    {"agreement", AT(agreement, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Agreement of rule and states on takes left out of the fit, balanced: the mean of "
                "the shares right of on and of off time; null with one take."},
    {"agreement_fitted", AT(agreement_fitted, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "The same on the takes that the rule was fitted to."},
    {"agreement_always_on", AT(agreement_always_on, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "The same of a rule that is always on."},
    {"explained_off_share", AT(explained_off_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the off time in which the rule says off."},
    {"false_off_share", AT(false_off_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the on time in which the rule says off."},
    {"unexplained", FL_LIST_AT(fl_rule, unexplained, n_unexplained), .fields = miss_fields,
     .item_meaning = "One lapse.", .meaning = "Lapses for most of which the rule says on."},
    {"should_have_tripped", FL_LIST_AT(fl_rule, held, n_held), .fields = miss_fields,
     .item_meaning = "One expected lapse.",
     .meaning = "Lapses that the rule expects where synthesis was mostly on."},
    {0},
};
#undef AT

const char *fl_edge_word(int trip)
{
    static const char *const words[] = {"return", "trip", NULL};
    return words[trip];
}

static const char *delay_method(int i)
{
    static const char *const words[] = {"kaplan_meier", "turnbull", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_delay, member, kind)
const struct fl_field fl_delay_fields[] = {
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"condition", AT(condition, TEXT), FL_OR_NULL,
     .meaning = "Free label of the condition, compared within a game."},
    {"edge", AT(trip, WORD), .word = fl_edge_word,
     .meaning = "trip: from crossing theta_off; return: from crossing theta_on."},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word, .meaning = "Quantity."},
    {"unit", AT(quantity, WORD), .word = fl_quantity_unit_word,
     .meaning = "Unit of the quantity and of every speed in this object."},
    {"threshold", AT(threshold, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "theta_off or theta_on of the leading rule."},
    {"switched", AT(switched, WHOLE), FL_FROM_ZERO,
     .meaning = "Crossings that ended in the trip or return."},
    {"crossed_back", AT(left, WHOLE), FL_FROM_ZERO,
     .meaning = "Crossings after which the hand crossed back first: it slowed before a trip, or "
                "moved again before a return."},
    {"censored", AT(censored, WHOLE), FL_FROM_ZERO, .meaning = "Crossings whose end is not known."},
    {"unmatched", AT(unmatched, WHOLE), FL_FROM_ZERO,
     .meaning = "Trips or returns without one crossing to count from."},
    {"method", AT(method, TEXT), .word = delay_method, FL_OR_NULL,
     .meaning = "kaplan_meier: every bracket is under a base period; turnbull: from brackets; "
                "null: nothing to estimate."},
    {"median_s", AT(median_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Median delay had the hand not crossed back, s; null: open."},
    {"median_low_s", AT(low_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval, s; null: open."},
    {"median_high_s", AT(high_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end, s; null: open."},
    {"interval_method", AT(interval_method, TEXT), FL_OR_NULL,
     .meaning = "log_log: of Kaplan and Meier's curve; cases_bootstrap: crossings resampled; "
                "takes_bootstrap: takes resampled, from six."},
    {"crossed_back_share", AT(left_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Chance that the hand crosses back first, as it moved in these takes."},
    {0},
};
#undef AT

static const char *comparison_method(int i)
{
    static const char *const words[] = {"log_rank", "intervals", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_delay_comparison, member, kind)
#define OF_A(member, kind) FL_AT(fl_delay, member, kind), FL_THROUGH(fl_delay_comparison, a)
#define OF_B(member, kind) FL_AT(fl_delay, member, kind), FL_THROUGH(fl_delay_comparison, b)
const struct fl_field fl_delay_comparison_fields[] = {
    {"game", OF_A(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"edge", OF_A(trip, WORD), .word = fl_edge_word, .meaning = "Which delay."},
    {"a", OF_A(condition, TEXT), FL_OR_NULL, .meaning = "One condition."},
    {"b", OF_B(condition, TEXT), FL_OR_NULL, .meaning = "The other."},
    {"method", AT(method, TEXT), .word = comparison_method,
     .meaning = "log_rank: tested, where both are Kaplan-Meier; intervals: whether the intervals "
                "of the medians overlap."},
    {"chi2", AT(chi2, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Log-rank statistic, one degree of freedom; null: not tested."},
    {"p", AT(p, FIGURE), FL_SHARE, FL_OR_NULL, .meaning = "Its p."},
    {"p_adjusted", AT(p_adjusted, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Adjusted by Holm within the session."},
    {"verdict", AT(verdict, TEXT), FL_OR_NULL, .meaning = "In plain words."},
    {0},
};
