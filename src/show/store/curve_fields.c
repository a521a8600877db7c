/* Trip curves and what is made of them: comparisons, and what the cut-off watches. */
#include "show/store/session_fields.h"
#include "study/compare/comparison.h"
#include "study/curve/curve.h"
#include "study/curve/quantity_rank.h"

const char *fl_bound_word(int i)
{
    return i <= FL_BOUND_NOT_POOLED ? fl_bound_name((enum fl_bound)i) : NULL;
}

#define AT(member, kind) FL_AT(fl_point, member, kind)
static const struct fl_field stray_flick_fields[] = {
    {"take", FL_AT(fl_take, spec.id, TEXT), FL_THROUGH(fl_point, take), FL_OR_NULL,
     .meaning = "Take."},
    {"start_s", AT(start_s, TIME), FL_OR_NULL, .meaning = "Start, footage time, s."},
    {"peak", AT(v, FIGURE5), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Its peak, in the curve's unit."},
    {"tripped", AT(tripped, BOOL), .meaning = "It tripped; else it held."},
    {0},
};
#undef AT

static bool is_stray(const void *point)
{
    return ((const struct fl_point *)point)->stray;
}

#define AT(member, kind) FL_AT(fl_take_v50, member, kind)
static const struct fl_field take_v50_fields[] = {
    {"id", FL_AT(fl_take, spec.id, TEXT), FL_THROUGH(fl_take_v50, take), FL_OR_NULL,
     .meaning = "Take."},
    {"v50", AT(v50, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Trip speed of this take; null: none of its flicks tripped, or all."},
    {"v50_low", AT(low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"v50_high", AT(high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end of its 95 % interval; null: open."},
    {"flicks", AT(flicks, WHOLE), FL_FROM_ZERO, .meaning = "Flicks fitted."},
    {"trips", AT(trips, WHOLE), FL_FROM_ZERO, .meaning = "Of these, tripped."},
    {0},
};
#undef AT

static const struct fl_range stray_rates = {0, 0.1};

#define AT(member, kind) FL_AT(fl_curve, member, kind)
static const struct fl_field stray_fields[] = {
    {"rate", AT(stray_rate, FIGURE5), .range = &stray_rates, FL_OR_NULL,
     .meaning = "Share of flicks that the model takes to go against the curve, at either end; "
                "null: no V50."},
    {"other_v50", AT(other_v50, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "V50 by Firth's penalised likelihood, all flicks alike; null: the two do not "
                "differ, each V50 within the other's interval."},
    {"other_low", AT(other_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % profile interval; null: open or none."},
    {"other_high", AT(other_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end of its 95 % profile interval; null: open or none."},
    {"flicks", FL_LIST_AT(fl_curve, points, flicks), .keep = is_stray, .fields = stray_flick_fields,
     .item_meaning = "One flick.",
     .meaning = "Flicks that went against their take's curve with a chance of 0.95 or more."},
    {"note", AT(stray_note, TEXT), FL_OR_NULL,
     .meaning = "Which flicks strayed, and what the second opinion says where it differs."},
    {0},
};

static const struct fl_field pooling_fields[] = {
    {"settings", AT(pool_settings, WHOLE), FL_FROM_ZERO,
     .meaning = "Settings that the curve is over; 0: it is of one setting."},
    {"ratio", AT(pool_ratio, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "V50 of one setting over that of another, of the two that differ most surely."},
    {"p", AT(pool_p, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "p that these two are the same, times the number of pairs; pooled from 0.05 on."},
    {"refused", AT(not_pooled, TEXT), FL_OR_NULL, .meaning = "Why there is no one curve."},
    {0},
};

const struct fl_field fl_setting_fields[] = {
    {"condition", AT(condition, TEXT), FL_OR_NULL,
     .meaning = "Free label of the condition, compared within a game."},
    {"counts_per_inch", AT(counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mouse resolution, counts per inch."},
    {"degrees_per_count", AT(degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Camera turn in degrees for one mouse count."},
    {0},
};

const struct fl_field fl_v50_fields[] = {
    {"v50", AT(v50, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Peak at which a flick has an even chance to trip, in the quantity's unit."},
    {"v50_low", AT(v50_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"v50_high", AT(v50_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end of its 95 % interval; null: open."},
    {"bound", AT(bound, WORD), .word = fl_bound_word,
     .meaning =
         "none: V50 is a number; above, below: it lies beyond bound_at; no_relation: faster "
         "flicks did not trip more often; too_few: nothing can be said; not_pooled: its settings "
         "contradict each other, or may."},
    {"bound_at", AT(bound_at, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "The bound, in the quantity's unit."},
    {0},
};

const struct fl_field fl_curve_fields[] = {
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"", FL_FIELD_PART, .fields = fl_setting_fields},
    {"pooled", AT(pooled, BOOL),
     .meaning = "Over all counts per inch and degrees per count; null where these differ."},
    {"degrees_per_count_found", AT(degrees_found, BOOL), FL_OLDER_LACK_IT(0),
     .meaning = "The session does not give degrees_per_count; the picture shows it."},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word, .meaning = "Quantity."},
    {"unit", AT(quantity, WORD), .word = fl_quantity_unit_word,
     .meaning = "Unit of the quantity and of every speed in this object."},
    {"kernel_ms", AT(kernel_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Width of the box mean that flicks' peaks are of, the same in all takes, ms."},
    {"", FL_FIELD_PART, .fields = fl_v50_fields},
    {"another_take_low", AT(another_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of the 95 % interval in which the V50 of a further take would lie; "
                "null: open or none."},
    {"another_take_high", AT(another_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end of it; null: open or none."},
    {"by_take", FL_LIST_AT(fl_curve, by_take, takes), .fields = take_v50_fields,
     .item_meaning = "One take.",
     .meaning = "Each take's own trip speed, from its flicks alone, at the slope that it shares "
                "with its setting."},
    {"takes_differ_octaves", AT(spread, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Standard deviation between takes of their own log2 V50."},
    {"takes_differ_low_octaves", AT(spread_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval."},
    {"takes_differ_high_octaves", AT(spread_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end of its 95 % interval."},
    {"v10", AT(v10, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Speed of a 10 % chance; null when separated."},
    {"v90", AT(v90, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Speed of a 90 % chance; null when separated."},
    {"slope", AT(slope, FIGURE5), FL_OR_NULL,
     .meaning = "Logit per octave (doubling) of speed; null when separated."},
    {"slope_low", AT(slope_low, FIGURE5), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval, separated or not."},
    {"slope_high", AT(slope_high, FIGURE5), FL_OR_NULL,
     .meaning = "Upper end of its 95 % interval, separated or not."},
    {"alpha", AT(alpha, FIGURE5), FL_OR_NULL,
     .meaning = "P(trip) = logistic(alpha + beta · log2 v) of one take, strays aside."},
    {"beta", AT(beta, FIGURE5), FL_OR_NULL, .meaning = "Logit per octave of the fit."},
    {"held_max", AT(held_max, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Fastest flick that held. Stray flicks aside."},
    {"tripped_min", AT(tripped_min, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Slowest flick that tripped."},
    {"separated", AT(separated, BOOL), .meaning = "held_max is below tripped_min."},
    {"flicks", AT(flicks, WHOLE), FL_FROM_ZERO, .meaning = "Flicks fitted."},
    {"trips", AT(trips, WHOLE), FL_FROM_ZERO, .meaning = "Of these, tripped."},
    {"not_fitted", AT(not_fitted, WHOLE), FL_FROM_ZERO,
     .meaning = "Flicks that could not be fitted."},
    {"not_fitted_unknown_risk", AT(not_fitted_unknown_risk, WHOLE), FL_FROM_ZERO,
     .meaning = "Because the state before was not known."},
    {"not_fitted_no_risk", AT(not_fitted_no_risk, WHOLE), FL_FROM_ZERO,
     .meaning = "Because synthesis was off as they began."},
    {"not_fitted_no_outcome", AT(not_fitted_no_outcome, WHOLE), FL_FROM_ZERO,
     .meaning = "Because the outcome was not seen."},
    {"not_fitted_no_value", AT(not_fitted_no_value, WHOLE), FL_FROM_ZERO,
     .meaning = "Because the quantity was not measured."},
    {"takes", AT(takes, WHOLE), FL_FROM_ZERO, .meaning = "Takes with fitted flicks."},
    {"interval_method", AT(interval_method, TEXT), FL_OR_NULL,
     .meaning = "hierarchical_grid: one model of all takes of the session, integrated on grids; "
                "null: no V50."},
    {"stray", FL_FIELD_OBJECT, .fields = stray_fields,
     .meaning = "Flicks whose outcome goes against the curve, and a second opinion where it "
                "differs."},
    {"pooling", FL_FIELD_OBJECT, .fields = pooling_fields,
     .meaning = "Whether the settings of a pooled curve contradict each other."},
    {"evidence", AT(evidence, TEXT), FL_OR_NULL, .meaning = "What the curve rests on, in words."},
    {0},
};
#undef AT

static const char *pair_word(int i)
{
    return i <= FL_PAIR_CONDITION ? fl_pair_name((enum fl_pair)i) : NULL;
}

/* The sides of a comparison: each a curve, and beside it a share of the comparison's own. */
#define AT(member, kind) FL_AT(fl_comparison, member, kind)
static const char off_share_meaning[] =
    "Off share, standardised to the flicks of both sides; null when refused.";
static const struct fl_field side_a_fields[] = {
    {"", FL_FIELD_PART, FL_THROUGH(fl_comparison, a), .fields = fl_setting_fields},
    {"", FL_FIELD_PART, FL_THROUGH(fl_comparison, a), .fields = fl_v50_fields},
    {"off_share_standardised", AT(off_share_a, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = off_share_meaning},
    {0},
};
static const struct fl_field side_b_fields[] = {
    {"", FL_FIELD_PART, FL_THROUGH(fl_comparison, b), .fields = fl_setting_fields},
    {"", FL_FIELD_PART, FL_THROUGH(fl_comparison, b), .fields = fl_v50_fields},
    {"off_share_standardised", AT(off_share_b, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = off_share_meaning},
    {0},
};

const struct fl_field fl_comparison_fields[] = {
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"differ_in", AT(pair, WORD), .word = pair_word, FL_FROM_ONE,
     .meaning = "What the two settings differ in: the mouse's counts per inch, degrees per count "
                "at one resolution, or the condition."},
    {"a", FL_FIELD_OBJECT, .fields = side_a_fields, .meaning = "Side A."},
    {"b", FL_FIELD_OBJECT, .fields = side_b_fields, .meaning = "Side B."},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word, .meaning = "Quantity."},
    {"unit", AT(quantity, WORD), .word = fl_quantity_unit_word,
     .meaning = "Unit of the quantity and of every speed in this object."},
    {"ratio", AT(ratio, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "V50 of A over V50 of B, no unit."},
    {"low", AT(low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"high", AT(high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Upper end; null: open."},
    {"p", AT(p, FIGURE5), FL_SHARE, FL_OR_NULL, .meaning = "Two-sided p of a ratio of 1."},
    {"p_adjusted", AT(p_adjusted, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Adjusted by Holm within the session."},
    {"held", AT(held, TEXT), FL_OR_NULL,
     .meaning = "What the comparison holds: degrees_per_count, degrees_per_cm, or null."},
    {"off_share_refused", AT(off_share_refused, TEXT), FL_OR_NULL,
     .meaning = "Why off shares were not compared."},
    {"verdict", AT(verdict, TEXT), FL_OR_NULL, .meaning = "In plain words."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_quantity_rank, member, kind)
const struct fl_field fl_quantity_rank_fields[] = {
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"quantity", AT(quantity, WORD), .word = fl_quantity_word, .meaning = "Quantity."},
    {"deviance_explained", AT(deviance_explained, FIGURE5), FL_OR_NULL,
     .meaning = "Share of the deviance that a trip curve in this quantity explains, at most 1."},
    {"auc", AT(auc, FIGURE5), FL_SHARE, FL_OR_NULL, .meaning = "Area under the ROC curve."},
    {"left_out_deviance", AT(left_out_deviance, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Deviance a flick on takes left out of the fit; lower is better."},
    {"against", AT(against, WORD), .word = fl_quantity_word, FL_OR_NULL,
     .meaning = "The best of the other quantities on takes left out."},
    {"lead", AT(lead, FIGURE5), FL_OR_NULL,
     .meaning = "Deviance a take of that other quantity less that of this one, on takes left out; "
                "below 0: this one is behind."},
    {"lead_se", AT(lead_se, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Standard error of lead over takes; null under three takes."},
    {"agreement_p", AT(agreement_p, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "p that its trip speeds are the same at all settings, adjusted for the number of "
                "pairs of settings."},
    {"ratios", AT(ratios, WHOLE), FL_FROM_ZERO,
     .meaning = "Pairs of settings, each of two takes or more, whose trip speeds were compared."},
    {"ratio_low", AT(ratio_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lowest end of the intervals of those ratios, at most 1; null: none, or open."},
    {"ratio_high", AT(ratio_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Highest end of the intervals of those ratios, at least 1; null: none, or open."},
    {"stands", AT(stands, BOOL), .meaning = "It is measured and not unlikely."},
    {"verdict", AT(verdict, TEXT), FL_OR_NULL,
     .meaning = "named, only one that still fits, cannot tell, unlikely (by how much), or "
                "not measured."},
    {"to_record", AT(to_record, TEXT), FL_OR_NULL,
     .meaning = "What to record so that one can be named, the same for all quantities of a game; "
                "null when one is named."},
    {0},
};
#undef AT
