/* What happens in a take, in time order: stretches of one state, lapses, flips, flicks. */
#include "show/store/take_fields.h"

const char *fl_state_word(int i)
{
    return i <= FL_STATE_OFF ? fl_state_name((enum fl_state)i) : NULL;
}

/* In the order of the bits of FL_EVIDENCE_*. */
static const char *evidence_word(int i)
{
    static const char *const words[] = {"rate", "sharpness", "trace", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_state_span, member, kind)
const struct fl_field fl_span_fields[] = {
    {"state", AT(state, WORD), .word = fl_state_word, .meaning = "State."},
    {"start_s", AT(start_s, TIME), FL_FROM_ZERO, .meaning = "Start, s."},
    {"end_s", AT(end_s, TIME), FL_FROM_ZERO, .meaning = "End, s."},
    {"confidence", AT(confidence, FIGURE), FL_SHARE, FL_OR_NULL, .meaning = "0..1."},
    {"reason", AT(reason, TEXT), FL_OR_NULL, .meaning = "Why unseen: a fixed word."},
    {"unique_rate_hz", AT(unique_rate_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mean unique rate, flips/s; null: unseen, or the state's flips cannot be counted."},
    {"evidence", AT(evidence, WORDS), .word = evidence_word,
     .meaning = "What a stretch off was seen by; empty otherwise."},
    {"frames_per_rendered", AT(frames_per_rendered, WHOLE), FL_FROM_ONE, FL_OR_NULL,
     FL_OLDER_LACK_IT(0),
     .meaning = "Output frames for each rendered one: 1 in state off; null: unseen, or the picture "
                "does not tell."},
    {0},
};
#undef AT

static const char *end_found_word(int i)
{
    static const char *const words[] = {"seen", "rule", "delay", NULL};
    return words[i];
}

static const char *inferred_why(int i)
{
    static const char *const words[] = {"rule", "harmless", "motion", "start", "refused", NULL};
    return words[i];
}

/* As of states, by what an inference makes of them. */
static const char *inferred_word(int i)
{
    return i == FL_STATE_UNSEEN ? "open" : fl_state_word(i);
}

#define AT(member, kind) FL_AT(fl_inferred, member, kind)
const struct fl_field fl_inferred_fields[] = {
    {"start_s", AT(start_s, TIME), FL_FROM_ZERO, .meaning = "Start, s."},
    {"end_s", AT(end_s, TIME), FL_FROM_ZERO, .meaning = "End, s."},
    {"state", AT(state, WORD), .word = inferred_word,
     .meaning = "What it must have been; open: either."},
    {"why", AT(why, TEXT), .word = inferred_why,
     .meaning = "rule: off, since the setting's rule has not returned yet; harmless: on, since "
                "nothing moved that trips it; motion: open, faster than on was often seen at, or "
                "not known; start: open, nothing was seen before; refused: open, nothing can be "
                "inferred here."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_reduction, member, kind)
const struct fl_field fl_reduction_fields[] = {
    {"start_s", AT(start_s, TIME), FL_FROM_ZERO, .meaning = "Start, s."},
    {"end_s", AT(end_s, TIME), FL_FROM_ZERO, .meaning = "End, s."},
    {"from", AT(from, WHOLE), FL_FROM_ONE,
     .meaning = "Output frames for each rendered one that the take has at most."},
    {"to", AT(to, WHOLE), FL_FROM_ONE, .meaning = "Those of this stretch: two or more."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_lapse, member, kind)
const struct fl_field fl_lapse_fields[] = {
    {"start_s", AT(start_s, TIME), .meaning = "Start, s."},
    {"end_s", AT(end_s, TIME), .meaning = "End, s."},
    {"has_trip", AT(has_trip, BOOL), .meaning = "False: already off at the start."},
    {"has_return", AT(has_return, BOOL), .meaning = "False: still off at the end."},
    {"unique_rate_hz", AT(unique_rate_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Unique rate inside, flips/s."},
    {"confidence", AT(confidence, FIGURE), FL_SHARE, FL_OR_NULL, .meaning = "0..1."},
    {"start_range_s", AT(start_range_s, PAIR), .item = &fl_time_item,
     .meaning = "[last sure, first sure] of the start, s."},
    {"end_range_s", AT(end_range_s, PAIR), .item = &fl_time_item,
     .meaning = "[last sure, first sure] of the end, s."},
    {"evidence", AT(evidence, WORDS), .word = evidence_word, .meaning = "What it was seen by."},
    {"end_found", AT(end_found, WORD), .word = end_found_word,
     .meaning =
         "How end_s was found: seen to a base period; by the setting's return rule, run over "
         "the motion; by the rule's delay alone."},
    {"parted_before", AT(parted_before, BOOL),
     .meaning = "Another lapse lies before it and on was not seen between: that there are two is "
                "inferred."},
    {"parted_after", AT(parted_after, BOOL), .meaning = "The same of the lapse after it."},
    {"run", AT(run, WHOLE), FL_FROM_ZERO,
     .meaning =
         "The first of the stretches seen off that it is made of, counted from 0 among those "
         "of the take; its filmstrip has that number plus 1."},
    {"runs", AT(runs, WHOLE), FL_FROM_ZERO,
     .meaning = "How many stretches seen off it is made of, one after the other."},
    {0},
};
#undef AT

static const char *kind_word(int i)
{
    static const char *const words[] = {"unknown", "rendered", "synthesised", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_flip, member, kind)
const struct fl_field fl_flip_fields[] = {
    {"time_s", AT(time_s, TIME), .meaning = "The instant of the flip, s."},
    {"capture_frame", AT(frame, WHOLE), FL_FROM_ZERO,
     .meaning = "The capture frame in which the new picture first shows."},
    {"row", AT(row, FIGURE), FL_FROM_ZERO,
     .meaning = "Native row from the top from which it shows; 0 for a flip in the blank."},
    {"confidence", AT(confidence, FIGURE), FL_SHARE, .meaning = "0..1."},
    {"kind", AT(kind, WORD), .word = kind_word, .meaning = "Whose picture it shows."},
    {"in_blank", AT(in_blank, BOOL),
     .meaning = "1: between two pictures' scans, so that its row is not known; else 0."},
    {0},
};
#undef AT

static const char *answer_word(int i)
{
    static const char *const words[] = {"no", "yes", "unknown", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_flick, member, kind)
static const struct fl_field course_fields[] = {
    {"start_s", AT(start_s, TIME), .meaning = "Start, footage time in s."},
    {"end_s", AT(end_s, TIME), .meaning = "End, footage time in s."},
    {"peak_s", AT(peak_s, TIME), FL_OR_NULL,
     .meaning = "Time of the speed peak, footage time in s."},
    {"path_deg", AT(path_deg, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Path of the camera, degrees."},
    {"direction_deg", AT(direction_deg, FIGURE), FL_OR_NULL,
     .meaning = "Direction of the camera's turn: 0 right, 90 down, degrees."},
    {"peak_acceleration_deg_s2", AT(peak_acceleration_deg_s2, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Greatest camera acceleration, deg/s²."},
    {0},
};
static const struct fl_field delay_fields[] = {
    {"trip_delay_s", AT(trip_delay_s, TIME), FL_OR_NULL,
     .meaning = "From the flick's start to the trip, s; null if it did not trip or is not known."},
    {0},
};
static const struct fl_field outcome_fields[] = {
    {"peak", AT(peak, QUANTITIES), .meaning = "Peak of a mean over 16.7 ms"},
    {"mean", AT(mean, QUANTITIES), .meaning = "Mean"},
    {"peak_to_trip", AT(peak_to_trip, QUANTITIES),
     .meaning = "Peak up to the trip (null unless tripped)"},
    {"at_risk", AT(at_risk, WORD), .word = answer_word,
     .meaning = "yes: synthesis was on as the flick began; no: known off; else unknown."},
    {"tripped", AT(tripped, ANSWER), FL_OR_NULL,
     .meaning = "true: synthesis went off during the flick; false: it stayed on; null: not known."},
    {0},
};
#undef AT

const struct fl_field fl_flick_fields[] = {
    {"", FL_FIELD_PART, .fields = course_fields},
    {"", FL_FIELD_PART, .fields = delay_fields},
    {"", FL_FIELD_PART, .fields = outcome_fields},
    {0},
};
const struct fl_field fl_flick_table_fields[] = {
    {"", FL_FIELD_PART, .fields = course_fields},
    {"", FL_FIELD_PART, .fields = outcome_fields},
    {"", FL_FIELD_PART, .fields = delay_fields},
    {0},
};
