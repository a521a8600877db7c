/* What takes/ID.json holds. The order of rows is that of the file. */
#include "show/store/take_fields.h"

#include <string.h>

#include "show/store/json_value.h"

/* What a take is: the first fields of its own file and of its line in the session's. */
#define AT(member, kind) FL_AT(fl_take_spec, member, kind)
const struct fl_field fl_identity_fields[] = {
    {"id", AT(id, TEXT), .pattern = "^[A-Za-z0-9_-]+$",
     .meaning = "Name of the take and of its files."},
    {"game", AT(game, TEXT), .meaning = "Game, as the session file names it."},
    {"condition", AT(condition, TEXT),
     .meaning = "Free label of the condition, compared within a game."},
    {"counts_per_inch", AT(counts_per_inch, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mouse resolution, counts per inch."},
    {"degrees_per_count", AT(degrees_per_count, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Camera turn in degrees for one mouse count."},
    {0},
};

/* Names and texts of notes lie in two lists of one length. */
static const struct fl_field note_fields[] = {
    {"name", FL_FIELD_TEXT, .meaning = "Name of the note."},
    {"text", FL_FIELD_TEXT, FL_OR_NULL, .meaning = "Its text."},
    {0},
};

static json_t *notes_json(const void *at)
{
    const struct fl_take_spec *spec = at;
    json_t *notes = json_array();
    for (size_t i = 0; i < spec->n_notes; i++)
        fl_json_append(notes, json_pack("{s: o, s: o}", "name", fl_json_text(spec->note_keys[i]),
                                        "text", fl_json_text(spec->note_values[i])));
    return notes;
}

static void read_notes(struct fl_reader *r, const json_t *list, void *at)
{
    struct fl_take_spec *spec = at;
    size_t n = json_array_size(list);
    const char **keys = FL_ARENA(r->arena, const char *, n + 1),
               **values = FL_ARENA(r->arena, const char *, n + 1);
    if (!json_is_array(list))
        fl_reader_complain(r, "notes", list ? "has the wrong type" : "is missing");
    for (size_t i = 0; i < n; i++) {
        const json_t *note = json_array_get(list, i);
        keys[i] = fl_read_text(r, json_object_get(note, "name"), "name");
        values[i] = fl_read_text(r, json_object_get(note, "text"), "text");
    }
    spec->note_keys = keys;
    spec->note_values = values;
    spec->n_notes = n;
}

static const struct fl_field use_item = {"",
                                         FL_FIELD_PAIR,
                                         0,
                                         sizeof(struct fl_span),
                                         .item = &fl_given_item,
                                         .meaning = "Start and end."};

static const char *play_word(int drill)
{
    return drill == 0 ? "game" : drill == 1 ? "drill" : NULL;
}

static const struct fl_field setup_fields[] = {
    {"footage_file", AT(footage, PATH), FL_OR_NULL,
     .meaning = "File name of the footage, without its folder."},
    {"trace_file", AT(trace, PATH), FL_OR_NULL,
     .meaning = "File name of the input trace, without its folder."},
    {"sound_file", AT(sound, PATH), FL_OR_NULL,
     .meaning = "File name of the sound recording, without its folder."},
    {"sound_offset_s", AT(sound_offset_s, GIVEN), FL_OR_NULL,
     .meaning = "Sound time minus footage time, s, if given."},
    {"report_rate_hz", AT(report_rate_hz, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Report rate of the mouse, 1/s, if given."},
    {"horizontal_fov_deg", AT(horizontal_fov_deg, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Horizontal field of view, degrees, if given."},
    {"pinned_base_rate_hz", AT(base_rate_hz, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Base rate pinned by the tester, rendered frames/s."},
    {"refresh_hz", AT(refresh_hz, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Refresh rate of the display, 1/s, if given."},
    {"cap_hz", AT(cap_hz, GIVEN), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Frame cap, frames/s, if given."},
    {"synthesis_disabled", AT(synthesis_disabled, BOOL),
     .meaning = "A control: the feature was switched off in the settings."},
    {"capture_local", AT(capture_local, BOOL),
     .meaning = "Recorded on the machine itself, not by a capture card."},
    {"output_variable", AT(output_variable, BOOL), .meaning = "Variable refresh rate."},
    {"play", AT(play_drill, WORD), .word = play_word, FL_OLDER_LACK_IT(0),
     .meaning = "drill: deliberate flicks; game: played as one plays."},
    {"recorded_at", AT(recorded_at, TEXT), FL_OR_NULL,
     .meaning = "When it was recorded, as given."},
    {"use_s", FL_LIST_AT(fl_take_spec, use, n_use), .item = &use_item,
     .meaning = "Spans that were measured, footage time in s; empty: all."},
    {"notes", FL_FIELD_LIST, .fields = note_fields, .make = notes_json, .take = read_notes,
     .item_meaning = "One note.", .meaning = "Free notes."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_take, member, kind)
const struct fl_field fl_footage_fields[] = {
    {"frames", AT(frames, WHOLE), FL_FROM_ZERO, .meaning = "Capture frames."},
    {"width", AT(width, WHOLE), FL_FROM_ZERO, .meaning = "Picture width, px."},
    {"height", AT(height, WHOLE), FL_FROM_ZERO, .meaning = "Picture height, px."},
    {"capture_rate_hz", AT(capture_rate_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Capture frames per second, fitted."},
    {"duration_s", AT(duration_s, TIME), FL_FROM_ZERO, .meaning = "Length, s."},
    {"torn", AT(torn, BOOL), .meaning = "Capture frames show tears."},
    {"noise", AT(noise, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mean |change| of still rows, 8-bit luma levels."},
    {"constant_rate", AT(constant_rate, BOOL), .meaning = "Frame times fit a constant rate."},
    {"missing_frames", AT(missing_frames, WHOLE), FL_FROM_ZERO,
     .meaning = "Frames missing on the constant grid."},
    {"repeated_frames", AT(repeated_frames, WHOLE), FL_FROM_ZERO,
     .meaning = "Frames that repeat the one before."},
    {"codec", AT(codec, TEXT), FL_OR_NULL, .meaning = "Codec."},
    {"pixel_format", AT(pixel_format, TEXT), FL_OR_NULL, .meaning = "Pixel format."},
    {"transfer", AT(transfer, TEXT), FL_OR_NULL, .meaning = "Transfer characteristic."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_clock, member, kind)
const struct fl_field fl_clock_fields[] = {
    {"known", AT(known, BOOL), .meaning = "False: refused."},
    {"offset_s", AT(offset_s, TIME), FL_OR_NULL, .meaning = "Offset, s."},
    {"drift_ppm", AT(drift_ppm, FIGURE), FL_OR_NULL, .meaning = "Drift, parts per million."},
    {"error_ms", AT(error_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Half of the 95 % interval of the trace time in state on, at the worse end of the "
                "take, ms; null where too little is seen to say."},
    {"off_minus_on_ms", AT(off_minus_on_ms, FIGURE), FL_OR_NULL,
     .meaning = "L(off) − L(on), ms: below zero where synthesis delays the picture."},
    {"off_minus_on_low_ms", AT(off_minus_on_low_ms, FIGURE), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval, ms."},
    {"off_minus_on_high_ms", AT(off_minus_on_high_ms, FIGURE), FL_OR_NULL,
     .meaning = "Upper end, ms."},
    {"method", AT(method, CHARS), FL_OR_NULL, .meaning = "What the clock was found from."},
    {"confidence", AT(confidence, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "0..1, peak against best rival peak."},
    {"residual_ms", AT(residual_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Robust spread of window offsets about the line, ms."},
    {"refused", AT(refused, CHARS), FL_OR_NULL, .meaning = "Why the clock was refused."},
    {"picture_shift_per_count_x", AT(gain_x, FIGURE), FL_OR_NULL,
     .meaning =
         "Picture shift per count, horizontal, px at native width; a first estimate, in which "
         "all of the picture has a say."},
    {"picture_shift_per_count_y", AT(gain_y, FIGURE), FL_OR_NULL,
     .meaning = "Picture shift per count, vertical: as above."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_polling, member, kind)
static const struct fl_field polling_fields[] = {
    {"found_hz", AT(found_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Polls/s found, near the rate that was given or a multiple of it."},
    {"jitter_us", AT(jitter_us, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Robust spread of reports about their polls, µs."},
    {"missed_share", AT(missed, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the polls in motion at which no report came."},
    {"polls", AT(turns, WHOLE), FL_FROM_ZERO, .meaning = "Polls in motion that were looked at."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_heard, member, kind)
static const struct fl_field heard_fields[] = {
    {"known", AT(clock.known, BOOL), .meaning = "The clicks that are heard give a clock."},
    {"presses", AT(clock.presses, WHOLE), FL_FROM_ZERO,
     .meaning = "Buttons pressed in the trace within the sound."},
    {"heard", AT(clock.heard, WHOLE), FL_FROM_ZERO, .meaning = "Those of them that are heard."},
    {"offset_s", AT(clock.offset_s, TIME), FL_OR_NULL,
     .meaning = "Trace time of the sound's beginning, s."},
    {"drift_ppm", AT(clock.drift_ppm, FIGURE), FL_OR_NULL,
     .meaning = "Drift of the trace's clock against the sound's, parts per million."},
    {"error_ms", AT(clock.error_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Half of the 95 % interval of the trace time, at the worse end of the sound, ms."},
    {"confidence", AT(clock.confidence, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "0..1, best lag against its best rival, presses heard, and how closely."},
    {"residual_ms", AT(clock.residual_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Robust spread of the clicks about the line, ms."},
    {"release_ms", AT(clock.release_ms, FIGURE), FL_OR_NULL,
     .meaning = "How much later than presses releases are logged, ms."},
    {"refused", AT(clock.refused, CHARS), FL_OR_NULL, .meaning = "Why the sound gives no clock."},
    {"at_odds", AT(join.at_odds, BOOL),
     .meaning = "Clicks and motion contradict each other: one of them is not this take's."},
    {"picture_behind_ms", AT(join.behind_ms, FIGURE), FL_OR_NULL,
     .meaning = "By which the picture follows the sound, ms: the delay from hand to picture, less "
                "what the recorder's sound runs behind its picture where that was not measured."},
    {"drift_apart_ppm", AT(join.drift_apart_ppm, FIGURE), FL_OR_NULL,
     .meaning = "Drift by the clicks less drift by motion, parts per million."},
    {"delay_on_ms", AT(join.on_ms, FIGURE), FL_OR_NULL,
     .meaning = "L(on), from hand to picture with synthesis on, ms; null unless sound_offset_s was "
                "measured and clock.error_ms is known."},
    {"delay_on_low_ms", AT(join.on_low_ms, FIGURE), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval, ms."},
    {"delay_on_high_ms", AT(join.on_high_ms, FIGURE), FL_OR_NULL, .meaning = "Upper end, ms."},
    {"delay_off_ms", AT(join.off_ms, FIGURE), FL_OR_NULL,
     .meaning = "L(off), with synthesis off, ms."},
    {"delay_off_low_ms", AT(join.off_low_ms, FIGURE), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval, ms."},
    {"delay_off_high_ms", AT(join.off_high_ms, FIGURE), FL_OR_NULL, .meaning = "Upper end, ms."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_sensitivity, member, kind)
static const struct fl_field sensitivity_fields[] = {
    {"degrees_per_count", AT(right.degrees, FIGURE), FL_OR_NULL,
     .meaning = "Degrees that the camera turns to the right for a count to the right, found; below "
                "0: the axis is inverted."},
    {"degrees_per_count_low", AT(right.low, FIGURE), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; the field of view is taken as true."},
    {"degrees_per_count_high", AT(right.high, FIGURE), FL_OR_NULL, .meaning = "Upper end."},
    {"growth_per_doubling", AT(right.growth, FIGURE), FL_OR_NULL,
     .meaning = "By which it grows as the hand doubles its speed, as a share: 0 without "
                "acceleration."},
    {"growth_per_doubling_low", AT(right.growth_low, FIGURE), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval."},
    {"growth_per_doubling_high", AT(right.growth_high, FIGURE), FL_OR_NULL,
     .meaning = "Upper end."},
    {"agree_share", AT(right.agree, FIGURE), FL_SHARE,
     .meaning = "Share of the counts in strokes (movements one way) that fit it within a tenth."},
    {"strokes", AT(right.strokes, WHOLE), FL_FROM_ZERO,
     .meaning = "Horizontal strokes that could be measured."},
    {"vertical_degrees_per_count", AT(down.degrees, FIGURE), FL_OR_NULL,
     .meaning = "Degrees down for a count towards the user; below 0: inverted."},
    {"vertical_degrees_per_count_low", AT(down.low, FIGURE), FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval."},
    {"vertical_degrees_per_count_high", AT(down.high, FIGURE), FL_OR_NULL, .meaning = "Upper end."},
    {"vertical_strokes", AT(down.strokes, WHOLE), FL_FROM_ZERO,
     .meaning = "Vertical strokes that could be measured."},
    {"camera_tilt_deg", AT(tilt_deg, FIGURE), FL_OR_NULL,
     .meaning = "How far the camera looks down in turns, degrees, mean."},
    {"horizontal_fov_deg", AT(fov_deg, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Horizontal field of view, degrees, found where it was not given and "
                "degrees_per_count was."},
    {"horizontal_fov_low_deg", AT(fov_low_deg, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval."},
    {"horizontal_fov_high_deg", AT(fov_high_deg, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end."},
    {"refused", AT(refused, CHARS), FL_OR_NULL, .meaning = "Why nothing was found."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_turn_rate, member, kind)
static const struct fl_field turn_rate_fields[] = {
    {"deflection", AT(deflection, FIGURE), FL_SHARE, .meaning = "Deflection of the stick, 0..1."},
    {"turn_rate_deg_s", AT(deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "How fast the camera turns at it, median, deg/s; null without a field of view."},
    {"picture_px_s", AT(speed, FIGURE), FL_FROM_ZERO,
     .meaning = "The same as the picture's speed, px/s at native width."},
    {"picture_low_px_s", AT(low, FIGURE), FL_FROM_ZERO, .meaning = "Lower quartile of it."},
    {"picture_high_px_s", AT(high, FIGURE), FL_FROM_ZERO, .meaning = "Upper quartile of it."},
    {"frames", AT(frames, WHOLE), FL_FROM_ZERO,
     .meaning = "Capture frames that it rests on, each with the 50 ms about it."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_turn_curve, member, kind)
static const struct fl_field stick_fields[] = {
    {"rest_noise", AT(rest, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Deflection under which the stick stays for 95 % of the time that it is let go; "
                "null without a stick."},
    {"dead_zone", AT(dead_zone, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Deflection up to which the game does not turn."},
    {"turn_rates", FL_LIST_AT(fl_turn_curve, rate, n), .fields = turn_rate_fields,
     .item_meaning = "One deflection.",
     .meaning = "How fast the game turns at each deflection, made monotone; empty where unknown."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_exposure, member, kind)
const struct fl_field fl_exposure_fields[] = {
    {"on_s", AT(on_s, TIME), FL_FROM_ZERO, .meaning = "Seconds with synthesis on."},
    {"off_s", AT(off_s, TIME), FL_FROM_ZERO, .meaning = "Seconds with synthesis off."},
    {"unseen_s", AT(unseen_s, TIME), FL_FROM_ZERO,
     .meaning = "Seconds in which neither on nor off was seen."},
    {"off_share", AT(off_share, FIGURE), FL_SHARE, FL_OR_NULL, .meaning = "off / (on + off)."},
    {"off_share_low", AT(off_share_low, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "off / all: all unseen time counted as on."},
    {"off_share_high", AT(off_share_high, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "(off + unseen) / all: all unseen time counted as off."},
    {"inferred_on_s", AT(inferred_on_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Unseen seconds that must have been on: nothing moved that trips the cut-off."},
    {"inferred_off_s", AT(inferred_off_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Unseen seconds that must have been off: a lapse whose rule had not returned yet."},
    {"open_s", AT(open_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Unseen seconds that may have been either."},
    {"off_share_of_take", AT(off_share_of_take, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning =
         "(off + inferred off) / (all - open): of this recording, counting rest as on unless "
         "the setting's rule says otherwise; null where refused."},
    {"off_share_of_take_low", AT(off_share_of_take_low, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Low end of its 95 % interval, open time as on; where refused, all unseen time as "
                "on."},
    {"off_share_of_take_high", AT(off_share_of_take_high, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "High end, open time as off; where refused, all unseen time as off."},
    {"off_share_of_take_refused", AT(off_share_of_take_refused, TEXT), FL_OR_NULL,
     .meaning = "Why there is no off_share_of_take, one line."},
    {"motion_s", AT(motion_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Seconds in motion: camera speed above 25 deg/s."},
    {"on_motion_s", AT(on_motion_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Seconds on and in motion."},
    {"off_motion_s", AT(off_motion_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Seconds off and in motion."},
    {"inferred_on_motion_s", AT(inferred_on_motion_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Unseen seconds in motion that must have been on, or that lead from on to where a "
                "lapse was first seen."},
    {"inferred_off_motion_s", AT(inferred_off_motion_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Unseen seconds in motion that must have been off."},
    {"off_share_in_motion", AT(off_share_in_motion, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "off / (on + off), of the time spent turning (motion_s) that was seen or "
                "inferred."},
    {"off_share_in_motion_low", AT(off_share_in_motion_low, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "off / all of the time spent turning: what was unseen counted as on, the turns as "
                "much earlier or later as the clock may be wrong."},
    {"off_share_in_motion_high", AT(off_share_in_motion_high, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "(off + unseen) / all of it: what was unseen counted as off."},
    {"lapses_low", AT(lapses_low, WHOLE), FL_FROM_ZERO,
     .meaning = "The fewest lapses that agree with what was seen."},
    {"lapses_high", AT(lapses_high, WHOLE), FL_FROM_ZERO,
     .meaning = "The most lapses that agree with it: where on was not seen between two stretches "
                "seen off they may be one."},
    {"lapses_per_min", AT(lapses_per_min, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lapses per minute of footage."},
    {"longest_s", AT(longest_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Length of the longest lapse, seconds."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_without_trace, member, kind)
static const struct fl_field without_trace_fields[] = {
    {"known", AT(known, BOOL),
     .meaning = "False: no second pass; the states are the picture's alone."},
    {"on_s", AT(on_s, TIME), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Seconds on."},
    {"off_s", AT(off_s, TIME), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Seconds off."},
    {"unseen_s", AT(unseen_s, TIME), FL_FROM_ZERO, FL_OR_NULL, .meaning = "Seconds unseen."},
    {"off_share", AT(off_share, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Off share of seen time."},
    {"off_share_low", AT(off_share_low, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its range."},
    {"off_share_high", AT(off_share_high, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end."},
    {"lapses", AT(lapses, WHOLE), FL_FROM_ZERO, .meaning = "Lapses."},
    {"v50_deg_s", AT(v50_deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "V50 of camera speed by the flicks of this take alone, deg/s."},
    {"v50_low_deg_s", AT(v50_low_deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Lower end of its 95 % interval; null: open."},
    {"v50_high_deg_s", AT(v50_high_deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Upper end; null: open."},
    {"differs", AT(differs, BOOL),
     .meaning =
         "With the trace's help off share or V50 lie outside these ranges; warnings say so."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_smoothness, member, kind)
const struct fl_field fl_smoothness_fields[] = {
    {"rest_mean_hz", AT(rest_mean_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mean at rest, flips/s."},
    {"rest_p1_hz", AT(rest_p1_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "1st percentile at rest, flips/s."},
    {"motion_mean_hz", AT(motion_mean_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mean in motion, flips/s."},
    {"motion_p1_hz", AT(motion_p1_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "1st percentile in motion, flips/s."},
    {"lapse_mean_hz", AT(lapse_mean_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mean in lapses, flips/s."},
    {"lapse_p1_hz", AT(lapse_p1_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "1st percentile in lapses, flips/s."},
    {"swings_per_min", AT(swings_per_min, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Swings on-off-on per minute."},
    {0},
};
#undef AT

static const char *kinds_reason(int i)
{
    static const char *const words[] = {"state_not_seen", "kinds_unknown", "too_few", NULL};
    return words[i];
}

#define AT(member, kind) FL_AT(fl_pacing_state, member, kind)
static const struct fl_field pacing_state_fields[] = {
    {"time_s", AT(time_s, TIME), FL_FROM_ZERO, .meaning = "Time in this state, seconds."},
    {"kinds_known_s", AT(kinds_known_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Of it, time in which the kind of the picture on screen is known, seconds."},
    {"kinds_known_share", AT(kinds_known_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "The same as a share of the time in this state."},
    {"rendered_share", AT(rendered_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the screen time of known kind that shows rendered pictures."},
    {"synthesised_share", AT(synthesised_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the screen time of known kind that shows synthesised pictures."},
    {"kinds_reason", AT(kinds_reason, TEXT), FL_OR_NULL, .word = kinds_reason,
     .meaning = "Why the shares of kinds are null: the state is never seen, no kind could be told, "
                "or under 20 were."},
    {"pairs", AT(pairs, WHOLE), FL_FROM_ZERO,
     .meaning = "Rendered pictures with their synthesised one after them, nothing missed between."},
    {"rendered_of_pair_median", AT(rendered_of_pair_median, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "The rendered picture's part of its pair's time, median."},
    {"rendered_of_pair_p10", AT(rendered_of_pair_p10, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "The same, 10th percentile."},
    {"rendered_of_pair_p90", AT(rendered_of_pair_p90, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "The same, 90th percentile."},
    {"intervals", AT(intervals, WHOLE), FL_FROM_ZERO,
     .meaning = "Intervals from a flip to the next in which no flip was missed."},
    {"interval_mean_ms", AT(interval_mean_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Their mean, milliseconds; null under 20 intervals, as are the next two."},
    {"interval_cv", AT(interval_cv, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Their coefficient of variation: standard deviation over mean."},
    {"interval_ratio_median", AT(interval_ratio_median, FIGURE), FL_FROM_ONE, FL_OR_NULL,
     .meaning = "The longer of two successive intervals over the shorter, median; 1 is even."},
    {"whole_refreshes_share", AT(whole_refreshes_share, FIGURE), FL_SHARE, FL_OR_NULL,
     FL_OLDER_LACK_IT(0),
     .meaning =
         "Share of the intervals that last a whole number of the display's refreshes, within "
         "an eighth of one; 0.25 by chance. Null under 20 intervals, without refresh_hz, or "
         "with variable output."},
    {"odd_refreshes_share", AT(odd_refreshes_share, FIGURE), FL_SHARE, FL_OR_NULL,
     FL_OLDER_LACK_IT(0),
     .meaning = "Of those, the share that last another number of refreshes than most do."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_pacing, member, kind)
const struct fl_field fl_pacing_fields[] = {
    {"on", AT(on, OBJECT), .fields = pacing_state_fields, .meaning = "Pacing in state on."},
    {"off", AT(off, OBJECT), .fields = pacing_state_fields, .meaning = "Pacing in state off."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(fl_warning, member, kind)
const struct fl_field fl_warning_fields[] = {
    {"code", AT(code, TEXT), .meaning = "Fixed word for programs."},
    {"text", AT(text, TEXT), .meaning = "One line for people."},
    {0},
};
#undef AT

static json_t *measured_json(const void *at)
{
    const struct fl_take *t = at;
    json_t *list = json_array();
    for (int q = 0; q < FL_QUANTITIES; q++)
        if (t->quantity[q])
            fl_json_append(list, json_string(fl_quantity_word(q)));
    return list;
}

/* Marks the quantities that the frame table holds; fl_frames_load puts the real arrays there. */
static void read_measured(struct fl_reader *r, const json_t *list, void *at)
{
    static float wanted;
    struct fl_take *t = at;
    if (!json_is_array(list))
        fl_reader_complain(r, "quantities_measured", list ? "has the wrong type" : "is missing");
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *name = json_string_value(json_array_get(list, i));
        int q = 0;
        while (name && q < FL_QUANTITIES && strcmp(name, fl_quantity_word(q)))
            q++;
        if (name && q < FL_QUANTITIES)
            t->quantity[q] = &wanted;
        else
            fl_reader_complain(r, "quantities_measured", "has an unknown name");
    }
}

/* By the bits of states.frames_possible, of which the first two are never set. */
static const struct fl_range from_two = {2, INFINITY};

static const char *frames_word(int n)
{
    static const char *const words[] = {"0", "1", "2", "3", "4", NULL};
    return words[n];
}

#define AT(member, kind) FL_AT(fl_take, member, kind)
static const struct fl_field take_fields[] = {
    {"", FL_FIELD_PART, .fields = fl_version_fields},
    {"key", AT(key, TEXT), FL_OR_NULL,
     .meaning = "Names the inputs and settings of the measurement; compared to decide whether it "
                "can be used again."},
    {"", AT(spec, PART), .fields = fl_identity_fields},
    {"setup", AT(spec, OBJECT), .fields = setup_fields,
     .meaning = "What the session file says about the recording."},
    {"footage", FL_FIELD_OBJECT, .fields = fl_footage_fields, .meaning = "The footage file."},
    {"clock", AT(clock, OBJECT), .fields = fl_clock_fields,
     .meaning = "trace time = offset_s + (1 + drift_ppm/10⁶) · footage time − L(state), L(on) = "
                "0."},
    {"sound", AT(heard, OBJECT), .fields = heard_fields, FL_OLDER_LACK_IT(0),
     .meaning = "The trace's buttons in the sound: trace time = offset_s + (1 + drift_ppm/10⁶) · "
                "sound time."},
    {"sensitivity", AT(sensitivity, OBJECT), .fields = sensitivity_fields, FL_OLDER_LACK_IT(0),
     .meaning = "How far the camera turns for a count, as picture and trace show."},
    {"stick", AT(turn_curve, OBJECT), .fields = stick_fields, FL_OLDER_LACK_IT(0),
     .meaning = "The stick of a controller, and what the game makes of it."},
    {"picture_scale", AT(picture_scale, FIGURE), FL_OR_NULL, FL_OLDER_LACK_IT(0),
     .meaning = "Turn of the camera by the middle of the picture, over the turn that the shift of "
                "the whole picture would be there: camera speed from the picture goes by it; null: "
                "not known, and 1 is taken."},
    {"polling", AT(recorder.polling, OBJECT), .fields = polling_fields, FL_OLDER_LACK_IT(0),
     .meaning = "How evenly the mouse reported, against setup.report_rate_hz; unknown without it."},
    {"base_rate_on_hz", AT(states.base_rate_on_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Rendered frames/s while synthesis is on."},
    {"base_rate_off_hz", AT(states.base_rate_off_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Rendered frames/s while synthesis is off."},
    {"frames_per_rendered", AT(states.frames_per_rendered, WHOLE), FL_FROM_ONE, FL_OR_NULL,
     FL_OLDER_LACK_IT(0),
     .meaning = "Output frames for each rendered one while synthesis is on, the most of the take; "
                "null: never seen on, or the picture does not tell."},
    {"frames_per_rendered_possible", AT(states.frames_possible, WORDS), .word = frames_word,
     .range = &from_two, FL_OLDER_LACK_IT(0),
     .meaning = "What it may be, by rates and steps; empty: never seen on."},
    {"visible_floor_deg_s", AT(visible_floor_deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Camera speed, deg/s, below which neither on nor off was seen."},
    {"camera_floor_deg_s", AT(camera_floor_deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Camera speed, deg/s, above which a flick begins."},
    {"return_delay_p95_s", AT(return_delay_p95_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "95th percentile of the delay of the return, s."},
    {"kernel_ms", AT(kernel_ms, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Width of the box mean of the quantities, ms."},
    {"quantities_measured", FL_FIELD_WORDS, .word = fl_quantity_word, .make = measured_json,
     .take = read_measured, .meaning = "Quantities that were measured in this take."},
    {"states", FL_LIST_AT(fl_take, states.span, states.n_spans), .malloced = true,
     .fields = fl_span_fields, .item_meaning = "One stretch.",
     .meaning = "States; they tile the footage without gaps."},
    {"lapses", FL_LIST_AT(fl_take, states.lapse, states.n_lapses), .malloced = true,
     .fields = fl_lapse_fields, .item_meaning = "One lapse.", .meaning = "Lapses in time order."},
    {"reductions", FL_LIST_AT(fl_take, states.reduction, states.n_reductions), .malloced = true,
     .fields = fl_reduction_fields, FL_OLDER_LACK_IT(0), .item_meaning = "One stretch.",
     .meaning = "Stretches on with fewer synthesised frames than the take has at most: neither off "
                "nor lapses."},
    {"inferred", FL_LIST_AT(fl_take, inferred, n_inferred), .malloced = true,
     .fields = fl_inferred_fields, .item_meaning = "One stretch.",
     .meaning = "What unseen time must have been, in time order; tiles the unseen time."},
    {"exposure", AT(exposure, OBJECT), .fields = fl_exposure_fields,
     .meaning = "Time in each state. Shares are 0..1."},
    {"picture_only", AT(without_trace, OBJECT), .fields = without_trace_fields,
     .meaning = "What the picture alone says, where the trace helped to see when the scene moves: "
                "figures of the states before the second pass."},
    {"smoothness", AT(smoothness, OBJECT), .fields = fl_smoothness_fields,
     .meaning = "Unique rate, flips per second, in windows of 0.25 s of seen time: mean and 1st "
                "percentile."},
    {"pacing", AT(pacing, OBJECT), .fields = fl_pacing_fields,
     .meaning = "How long pictures of each kind are on screen, and how evenly they come. In state "
                "off every picture is rendered."},
    {"carried_s", FL_LIST_AT(fl_take, carried, n_carried), .item = &use_item, FL_OLDER_LACK_IT(0),
     .meaning = "Stretches in which the camera was carried (the picture moves, but not as a turn "
                "moves it) or its view zoomed in, so that its speed is null."},
    {"carried_flicks", AT(carried_flicks, WHOLE), FL_FROM_ZERO, FL_OLDER_LACK_IT(0),
     .meaning = "Flicks that touch one of these and are therefore not fitted."},
    {"flips", AT(flips.n, WHOLE), FL_FROM_ZERO, .meaning = "Rows of ID-flips.csv."},
    {"flicks", FL_LIST_AT(fl_take, flicks, n_flicks), .fields = fl_flick_fields,
     .item_meaning = "One flick.", .meaning = "Flicks in time order."},
    {"warnings", FL_LIST_AT(fl_take, warnings, n_warnings), .malloced = true,
     .fields = fl_warning_fields, .item_meaning = "One warning.",
     .meaning = "What to mind about the figures."},
    {0},
};
#undef AT

const struct fl_document fl_take_document = {
    .name = "take",
    .title = "A measured take (takes/ID.json)",
    .meaning = "Everything measured on one recording. Seconds are footage time: since the first "
               "video frame. Intervals are half-open. Unknown numbers are null.",
    .format = "flinch-take",
    .version = 2,
    .fields = take_fields,
};
