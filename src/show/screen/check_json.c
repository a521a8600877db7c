/* docs/check.schema.json: what `flinch check` says of recordings. */
#include "show/screen/check_screen.h"
#include "show/store/json.h"
#include "show/store/json_value.h"
#include "show/store/take_fields.h"

/* One recording. Groups of facts that are not there have no place: their pointer is NULL. */
struct recording {
    const char *path, *verdict, *error;
    bool usable;
    const struct fl_take *take;
    const struct fl_usable *judged;
    const struct recording *read, *traced; /* this one: it could be read, it has a trace */
};

static const char *told_word(int i)
{
    return i <= FL_TOLD_YES ? fl_told_name((enum fl_told)i) : NULL;
}

static const char *finding_word(int i)
{
    return i <= FL_NOTE ? fl_finding_name((enum fl_finding_kind)i) : NULL;
}

static const char *verdict_word(int i)
{
    return i <= FL_ADVICE ? fl_verdict_text((enum fl_finding_kind)i) : NULL;
}

#define FACT(member, kind) FL_AT(fl_usable, facts.member, kind), FL_THROUGH(recording, judged)
#define TAKE(member, kind) FL_AT(fl_take, member, kind), FL_THROUGH(recording, take)
static const struct fl_field output_fields[] = {
    {"on_hz", FACT(on_output_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Output frames/s with synthesis on: twice the base rate. Null: not seen, or not "
                "counted."},
    {"off_hz", FACT(off_output_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Output frames/s with synthesis off. Null: not seen."},
    {"on_above_capture", FACT(on_above_capture, BOOL),
     .meaning = "On was seen, but with every row new in every frame: its rate is at least the "
                "capture rate."},
    {"changed_rows_hz", FACT(changed_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mean share of rows that changed from frame to frame in motion × capture rate."},
    {"told_apart", FACT(told, WORD), .word = told_word,
     .meaning = "Whether on and off differ at this capture rate. With one of them seen, the other "
                "is expected at half or twice its rate."},
    {"off_most_hz", FACT(off_most_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Output without synthesis faster than this leaves no row unchanged and cannot be "
                "told from on."},
    {0},
};

static const struct fl_field motion_fields[] = {
    {"moving_s", FACT(moving_s, TIME), FL_FROM_ZERO,
     .meaning = "Seconds in which the scene moves by at least 1.5 pixels of 512 across per capture "
                "period."},
    {"flicks", TAKE(n_flicks, WHOLE), FL_FROM_ZERO, .meaning = "Bursts of fast motion."},
    {"on_s", TAKE(exposure.on_s, TIME), FL_FROM_ZERO, .meaning = "Seconds with synthesis on."},
    {"off_s", TAKE(exposure.off_s, TIME), FL_FROM_ZERO, .meaning = "Seconds with synthesis off."},
    {"unseen_s", TAKE(exposure.unseen_s, TIME), FL_FROM_ZERO,
     .meaning = "Seconds in which neither on nor off was seen."},
    {"seen_share", FACT(seen_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of moving_s that is on or off."},
    {"told_from_px", FACT(told_from_px, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Speed of the picture, native px a capture frame, from which up most of the time "
                "is on or off."},
    {"told_from_deg_s", FACT(told_from_deg_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "The same as camera speed, deg/s; null without a field of view."},
    {0},
};

static const struct fl_field recorder_fields[] = {
    {"compared_frames", TAKE(recorder.device.compared, WHOLE), FL_FROM_ZERO,
     .meaning = "Frames with the scene in motion both before and after."},
    {"identical_frames", TAKE(recorder.device.identical, WHOLE), FL_FROM_ZERO,
     .meaning = "Of them, those that differ in no row from the frame before, up to coding noise."},
    {"repeats_told", TAKE(recorder.repeats_told, BOOL),
     .meaning = "True: the output's own rhythm cannot explain them, and footage.repeated_frames "
                "counts the recorder's. False: it may."},
    {"double_steps", TAKE(recorder.jumps, WHOLE), FL_FROM_ZERO,
     .meaning = "Frames with synthesis on in which the whole picture moved twice as far as in its "
                "neighbours."},
    {"double_steps_told", TAKE(recorder.jumps_told, BOOL),
     .meaning = "True: they are frames that the recorder lost, with the times closed up. False: "
                "the output may have skipped a picture."},
    {"longest_gap_s", FACT(longest_gap_s, TIME), FL_FROM_ZERO,
     .meaning = "Longest time between two frames, s."},
    {"torn_share", FACT(torn_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the telling frames in which some rows changed and some did not."},
    {"left_out_share", TAKE(recorder.covered.share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the picture that does not move with the scene and is left out: overlay, "
                "held objects, a second picture, bars."},
    {"bars_share", TAKE(recorder.covered.bars, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Of this, black bars and plain panels: without detail or change."},
    {"bits_per_px", TAKE(recorder.bits_per_px, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Bits of the coded video a pixel and frame."},
    {"key_interval_s", TAKE(recorder.device.key_interval_s, TIME), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Median time between key frames, s."},
    {"rest_change", TAKE(recorder.device.rest_change, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Mean |change| from frame to frame at rest, 8-bit luma levels, median."},
    {"key_change", TAKE(recorder.device.key_change, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "The same of key frames at rest."},
    {"motion_change", TAKE(recorder.device.motion_change, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "The same in motion."},
    {0},
};

static json_t *trace_length(const void *at)
{
    const struct fl_recorder *r = &((const struct recording *)at)->take->recorder;
    return fl_json_time(r->trace_end_s - r->trace_start_s);
}

static const struct fl_field trace_fields[] = {
    {"clock", TAKE(clock, OBJECT), .fields = fl_clock_fields,
     .meaning = "trace time = offset_s + (1 + drift_ppm/10⁶) · footage time − L(state), L(on) = "
                "0."},
    {"covered_share", FACT(trace_share, FIGURE), FL_SHARE, FL_OR_NULL,
     .meaning = "Share of the footage that the trace covers; null without a clock."},
    {"report_rate_hz", TAKE(recorder.trace_report_hz, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Reports/s of the moving mouse."},
    {"gaps", TAKE(recorder.trace_gaps, WHOLE), FL_FROM_ZERO,
     .meaning = "Silences over 0.1 s in the middle of motion."},
    {"slate_s", TAKE(recorder.slate_s, TIME), FL_OR_NULL,
     .meaning = "Trace time of the first slate's first click; null: there is none."},
    {"clicks", TAKE(heard.clock.presses, WHOLE), FL_FROM_ZERO,
     .meaning = "Buttons pressed in the trace within the sound; 0 without sound."},
    {"clicks_heard", TAKE(heard.clock.heard, WHOLE), FL_FROM_ZERO,
     .meaning = "Those of them that are heard."},
    {"length_s", FL_FIELD_TIME, .make = trace_length, FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "Length of the trace, s."},
    {"hand_most_cm_s", FACT(hand_most_cm_s, FIGURE), FL_FROM_ZERO, FL_OR_NULL,
     .meaning = "99th percentile of the flicks' peak hand speed, cm/s; null without counts per "
                "inch."},
    {0},
};

#define AT(member, kind) FL_AT(fl_finding, member, kind)
static const struct fl_field finding_fields[] = {
    {"kind", AT(kind, WORD), .word = finding_word,
     .meaning = "unusable: nothing can be measured; limit: something cannot, or less surely; "
                "advice: the next recording should be better; note: a warning of the "
                "measurement."},
    {"code", AT(code, TEXT), .pattern = "^[a-z_]+$", .meaning = "Fixed word."},
    {"found", AT(found, CHARS), .meaning = "What was found."},
    {"change", AT(change, CHARS), FL_OR_NULL, .meaning = "What to change."},
    {0},
};
#undef AT

#define AT(member, kind) FL_AT(recording, member, kind)
static const struct fl_field recording_fields[] = {
    {"path", AT(path, TEXT),
     .meaning = "The recording, as given on the command line; what is not UTF-8 is replaced."},
    {"verdict", AT(verdict, TEXT), .word = verdict_word, .meaning = "The answer."},
    {"usable", AT(usable, BOOL), .meaning = "False: nothing can be measured."},
    {"footage", FL_FIELD_OBJECT, FL_THROUGH(recording, take), FL_OR_NULL,
     .fields = fl_footage_fields, .meaning = "The footage file, as in take.schema.json."},
    {"output", FL_FIELD_OBJECT, FL_THROUGH(recording, read), FL_OR_NULL, .fields = output_fields,
     .meaning = "Output rates seen, frames/s."},
    {"motion", FL_FIELD_OBJECT, FL_THROUGH(recording, read), FL_OR_NULL, .fields = motion_fields,
     .meaning = "How much moves, and how much of it can be told."},
    {"recorder", FL_FIELD_OBJECT, FL_THROUGH(recording, read), FL_OR_NULL,
     .fields = recorder_fields, .meaning = "What recorder and encoder did."},
    {"trace", FL_FIELD_OBJECT, FL_THROUGH(recording, traced), FL_OR_NULL, .fields = trace_fields,
     .meaning = "Whether the trace fits; null: none given."},
    {"findings", FL_LIST_AT(fl_usable, finding, n), .in_place = true, FL_THROUGH(recording, judged),
     .fields = finding_fields, .item_meaning = "One finding.", .meaning = "Most important first."},
    {"error", AT(error, TEXT), FL_OR_NULL,
     .meaning = "Why the recording could not be read; null: it was."},
    {0},
};
#undef AT

json_t *fl_check_json(const char *path, const struct fl_take *t, const struct fl_usable *u)
{
    enum fl_finding_kind verdict = fl_usable_verdict(u);
    const struct fl_take shown = fl_take_shown(t);
    struct recording r = {.path = path,
                          .verdict = fl_verdict_text(verdict),
                          .usable = verdict != FL_UNUSABLE,
                          .take = &shown,
                          .judged = u};
    r.read = &r;
    r.traced = t->spec.trace ? &r : NULL;
    return fl_fields_json(&r, recording_fields);
}

json_t *fl_check_failure_json(const char *path, const char *text)
{
    static const struct fl_usable nothing;
    const struct recording r = {
        .path = path, .verdict = fl_verdict_text(FL_UNUSABLE), .error = text, .judged = &nothing};
    return fl_fields_json(&r, recording_fields);
}

static json_t *list_of(const void *recordings)
{
    return json_incref(*(json_t *const *)recordings);
}

static const struct fl_field check_fields[] = {
    {"", FL_FIELD_PART, .fields = fl_version_fields},
    {"recordings", FL_FIELD_LIST, .make = list_of, .fields = recording_fields,
     .item_meaning = "One recording.", .meaning = "In the order of the command line."},
    {0},
};

const struct fl_document fl_check_document = {
    .name = "check",
    .title = "What flinch check --json prints",
    .meaning = "One recording after another. Seconds are footage time. Unknown numbers are null.",
    .format = "flinch-check",
    .version = 1,
    .fields = check_fields,
};

json_t *fl_check_file_json(json_t *recordings)
{
    json_t *file = fl_document_json(&fl_check_document, &recordings);
    json_decref(recordings);
    return file;
}
