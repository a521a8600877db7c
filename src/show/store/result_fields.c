/* A row a setting, in the order in which page, charts and terminal give its figures. */
#include "show/store/session_fields.h"
#include "study/compare/result.h"

#include "show/store/json_value.h"

#define WATCHED(member, kind) FL_AT(fl_curve, member, kind)
static const struct fl_field watched_curve_fields[] = {
    {"quantity", WATCHED(quantity, WORD), .word = fl_quantity_word,
     .meaning = "What the game watches."},
    {"unit", WATCHED(quantity, WORD), .word = fl_quantity_unit_word,
     .meaning = "Unit of every speed in this object."},
    {"", FL_FIELD_PART, .fields = fl_v50_fields},
    {0},
};

#define AT(member, kind) FL_AT(fl_watched_v50, member, kind)
static const struct fl_field watched_fields[] = {
    {"", FL_FIELD_PART, FL_THROUGH(fl_watched_v50, curve), FL_OR_NULL,
     .fields = watched_curve_fields},
    {"named", AT(named, BOOL),
     .meaning = "It is named; else it leads on takes left out, by more than its standard error."},
    {"settings", AT(settings, WHOLE), FL_FROM_ZERO,
     .meaning = "Settings of the mouse that this V50 is pooled over; 1: this one's own."},
    {0},
};
#undef AT

static json_t *watched(const void *at)
{
    const struct fl_watched_v50 *w = &((const struct fl_result *)at)->watched;
    return w->curve ? fl_fields_json(w, watched_fields) : json_null();
}

static const char *kind_word(int drill)
{
    return drill == 0 ? "game" : drill == 1 ? "drill" : NULL;
}

#define AT(member, kind) FL_AT(fl_result, member, kind)
const struct fl_field fl_result_fields[] = {
    {"rank_first", AT(rank.first, WHOLE), FL_FROM_ZERO,
     .meaning = "First of the places that its V50 may have, 1: lowest; 0: not ranked. Rows whose "
                "intervals overlap share a place."},
    {"rank_last", AT(rank.last, WHOLE), FL_FROM_ZERO, .meaning = "Last of these places."},
    {"game", AT(game, TEXT), FL_OR_NULL, .meaning = "Game, as the session file names it."},
    {"condition", AT(condition, TEXT), FL_OR_NULL,
     .meaning = "Free label of the condition, compared within a game."},
    {"counts_per_inch", AT(counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mouse resolution, counts per inch."},
    {"degrees_per_count", AT(degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Camera turn in degrees for one mouse count."},
    {"degrees_per_count_found", AT(degrees_found, BOOL), FL_OLDER_LACK_IT(0),
     .meaning = "The session does not give degrees_per_count; the picture shows it."},
    {"control", AT(control, BOOL), .meaning = "Synthesis disabled in all its takes."},
    {"takes", AT(takes, WHOLE), FL_FROM_ZERO, .meaning = "Takes of the setting."},
    {"share_takes", AT(share_takes, WHOLE), FL_FROM_ZERO,
     .meaning = "Of these, those that shares and lapses are of: of play alone where some are "
                "drills."},
    {"play", AT(drill, WORD), .word = kind_word,
     .meaning = "What those are: drill, deliberate flicks, whose shares say nothing of play; or "
                "game."},
    {"off_share_in_motion", AT(shares.turning, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Off share of the time spent turning that was seen or inferred, 0..1."},
    {"off_share_in_motion_low", AT(shares.turning_low, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Of all turning, unseen turning counted as on."},
    {"off_share_in_motion_high", AT(shares.turning_high, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Of all turning, unseen turning counted as off."},
    {"off_share_of_take", AT(shares.take, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Off share of the recordings, unseen time settled by what moved in it; null where "
                "that is refused."},
    {"off_share_of_take_low", AT(shares.take_low, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Low end of its 95 % interval, the mean of those of the takes by their length."},
    {"off_share_of_take_high", AT(shares.take_high, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "High end."},
    {"off_share_of_take_refused", AT(shares.take_refused, TEXT), FL_OR_NULL,
     .meaning = "Why it is refused."},
    {"off_share_left_open_low", AT(shares.plain_low, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Of the recordings, without inference: all unseen time counted as on."},
    {"off_share_left_open_high", AT(shares.plain_high, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Of the recordings, without inference: all unseen time counted as off."},
    {"open_share", AT(shares.open, FIGURE5), FL_SHARE, FL_OR_NULL,
     .meaning = "Of the recordings, time that inference leaves open."},
    {"lapses_per_min", AT(lapses.per_min, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lapses a minute of what was measured."},
    {"lapses_per_min_low", AT(lapses.per_min_low, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Fewest, where the state between two was never seen."},
    {"lapses_per_min_high", AT(lapses.per_min_high, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Most."},
    {"median_length_s", AT(lapses.median_s, FIGURE5), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Median length of its lapses, s; those that footage cuts off are known to be "
                "longer (Kaplan–Meier)."},
    {"quantity", FL_AT(fl_curve, quantity, WORD), FL_THROUGH(fl_result, curve),
     .word = fl_quantity_word, FL_OR_NULL, .meaning = "Quantity of the V50."},
    {"unit", FL_AT(fl_curve, quantity, WORD), FL_THROUGH(fl_result, curve),
     .word = fl_quantity_unit_word, FL_OR_NULL, .meaning = "Unit of the V50."},
    {"", FL_FIELD_PART, FL_THROUGH(fl_result, curve), FL_OR_NULL, .fields = fl_v50_fields},
    {"quotable", AT(quotable, BOOL),
     .meaning = "Three takes, at most a tenth of the time open, and an interval of V50 at most 2 "
                "wide (high over low)."},
    {"why", AT(why, TEXT), FL_OR_NULL, .meaning = "Why it is not quotable; null when it is."},
    {"watched", FL_FIELD_OBJECT, FL_OR_NULL, .fields = watched_fields, .make = watched,
     .meaning = "V50 in the quantity that the game's cut-off watches; null: it is not known, or "
                "the one above."},
    {0},
};
