#include "show/store/fields.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "show/store/json_value.h"
#include "show/text/escape.h"

/* clang-format off */
#define FIELD(type, member, kind, name) \
    {(name), FL_FIELD_##kind, offsetof(type, member), sizeof(((type *)0)->member)}
#define END {NULL, FL_FIELD_INT, 0, 0}
/* clang-format on */

#define TAKE(member, kind, name) FIELD(struct fl_take, member, kind, name)
const struct fl_field fl_footage_fields[] = {
    TAKE(frames, LONG, "frames"),
    TAKE(width, INT, "width"),
    TAKE(height, INT, "height"),
    TAKE(capture_rate_hz, FIGURE, "capture_rate_hz"),
    TAKE(duration_s, TIME, "duration_s"),
    TAKE(torn, BOOL, "torn"),
    TAKE(noise, FIGURE, "noise"),
    TAKE(constant_rate, BOOL, "constant_rate"),
    TAKE(missing_frames, LONG, "missing_frames"),
    TAKE(repeated_frames, LONG, "repeated_frames"),
    TAKE(codec, STRING, "codec"),
    TAKE(pixel_format, STRING, "pixel_format"),
    TAKE(transfer, STRING, "transfer"),
    END,
};

const struct fl_field fl_figure_fields[] = {
    TAKE(states.base_rate_on_hz, FIGURE, "base_rate_on_hz"),
    TAKE(states.base_rate_off_hz, FIGURE, "base_rate_off_hz"),
    TAKE(visible_floor_deg_s, FIGURE, "visible_floor_deg_s"),
    TAKE(camera_floor_deg_s, FIGURE, "camera_floor_deg_s"),
    TAKE(return_delay_p95_s, TIME, "return_delay_p95_s"),
    TAKE(kernel_ms, FIGURE, "kernel_ms"),
    END,
};

#define SPEC(member, kind, name) FIELD(struct fl_take_spec, member, kind, name)
const struct fl_field fl_setup_fields[] = {
    SPEC(footage, PATH, "footage_file"),
    SPEC(trace, PATH, "trace_file"),
    SPEC(sound, PATH, "sound_file"),
    SPEC(sound_offset_s, GIVEN, "sound_offset_s"),
    SPEC(report_rate_hz, GIVEN, "report_rate_hz"),
    SPEC(horizontal_fov_deg, GIVEN, "horizontal_fov_deg"),
    SPEC(base_rate_hz, GIVEN, "pinned_base_rate_hz"),
    SPEC(refresh_hz, GIVEN, "refresh_hz"),
    SPEC(cap_hz, GIVEN, "cap_hz"),
    SPEC(synthesis_disabled, BOOL, "synthesis_disabled"),
    SPEC(capture_local, BOOL, "capture_local"),
    SPEC(output_variable, BOOL, "output_variable"),
    SPEC(recorded_at, STRING, "recorded_at"),
    END,
};

#define CLOCK(member, kind, name) FIELD(struct fl_clock, member, kind, name)
const struct fl_field fl_clock_fields[] = {
    CLOCK(known, BOOL, "known"),
    CLOCK(offset_s, TIME, "offset_s"),
    CLOCK(drift_ppm, FIGURE, "drift_ppm"),
    CLOCK(error_ms, FIGURE, "error_ms"),
    CLOCK(off_minus_on_ms, FIGURE, "off_minus_on_ms"),
    CLOCK(off_minus_on_low_ms, FIGURE, "off_minus_on_low_ms"),
    CLOCK(off_minus_on_high_ms, FIGURE, "off_minus_on_high_ms"),
    CLOCK(method, CHARS, "method"),
    CLOCK(confidence, FIGURE, "confidence"),
    CLOCK(residual_ms, FIGURE, "residual_ms"),
    CLOCK(refused, CHARS, "refused"),
    CLOCK(gain_x, FIGURE, "picture_shift_per_count_x"),
    CLOCK(gain_y, FIGURE, "picture_shift_per_count_y"),
    END,
};

#define EXPOSURE(member, kind) FIELD(struct fl_exposure, member, kind, #member)
const struct fl_field fl_exposure_fields[] = {
    EXPOSURE(on_s, TIME),
    EXPOSURE(off_s, TIME),
    EXPOSURE(unseen_s, TIME),
    EXPOSURE(off_share, FIGURE),
    EXPOSURE(off_share_low, FIGURE),
    EXPOSURE(off_share_high, FIGURE),
    EXPOSURE(motion_s, TIME),
    EXPOSURE(on_motion_s, TIME),
    EXPOSURE(off_motion_s, TIME),
    EXPOSURE(off_share_in_motion, FIGURE),
    EXPOSURE(lapses_per_min, FIGURE),
    EXPOSURE(longest_s, TIME),
    END,
};

#define PICTURE_ONLY(member, kind) FIELD(struct fl_without_trace, member, kind, #member)
const struct fl_field fl_without_trace_fields[] = {
    PICTURE_ONLY(known, BOOL),
    PICTURE_ONLY(on_s, TIME),
    PICTURE_ONLY(off_s, TIME),
    PICTURE_ONLY(unseen_s, TIME),
    PICTURE_ONLY(off_share, FIGURE),
    PICTURE_ONLY(off_share_low, FIGURE),
    PICTURE_ONLY(off_share_high, FIGURE),
    PICTURE_ONLY(lapses, LONG),
    PICTURE_ONLY(v50_deg_s, FIGURE),
    PICTURE_ONLY(v50_low_deg_s, FIGURE),
    PICTURE_ONLY(v50_high_deg_s, FIGURE),
    PICTURE_ONLY(differs, BOOL),
    END,
};

#define SMOOTHNESS(member) FIELD(struct fl_smoothness, member, FIGURE, #member)
const struct fl_field fl_smoothness_fields[] = {
    SMOOTHNESS(rest_mean_hz),   SMOOTHNESS(rest_p1_hz),
    SMOOTHNESS(motion_mean_hz), SMOOTHNESS(motion_p1_hz),
    SMOOTHNESS(lapse_mean_hz),  SMOOTHNESS(lapse_p1_hz),
    SMOOTHNESS(swings_per_min), END,
};

#define PACING(member, kind) FIELD(struct fl_pacing_state, member, kind, #member)
const struct fl_field fl_pacing_fields[] = {
    PACING(time_s, TIME),
    PACING(kinds_known_s, TIME),
    PACING(kinds_known_share, FIGURE),
    PACING(rendered_share, FIGURE),
    PACING(synthesised_share, FIGURE),
    PACING(kinds_reason, STRING),
    PACING(pairs, LONG),
    PACING(rendered_of_pair_median, FIGURE),
    PACING(rendered_of_pair_p10, FIGURE),
    PACING(rendered_of_pair_p90, FIGURE),
    PACING(intervals, LONG),
    PACING(interval_mean_ms, FIGURE),
    PACING(interval_cv, FIGURE),
    PACING(interval_ratio_median, FIGURE),
    END,
};

#define SPAN(member, kind) FIELD(struct fl_state_span, member, kind, #member)
const struct fl_field fl_span_fields[] = {
    SPAN(start_s, TIME), SPAN(end_s, TIME), SPAN(confidence, FIGURE), SPAN(reason, STRING), END,
};

#define LAPSE(member, kind) FIELD(struct fl_lapse, member, kind, #member)
const struct fl_field fl_lapse_fields[] = {
    LAPSE(start_s, TIME),
    LAPSE(end_s, TIME),
    LAPSE(has_trip, BOOL),
    LAPSE(has_return, BOOL),
    LAPSE(unique_rate_hz, FIGURE),
    LAPSE(confidence, FIGURE),
    END,
};

#define FLICK(member, kind) FIELD(struct fl_flick, member, kind, #member)
const struct fl_field fl_flick_fields[] = {
    FLICK(start_s, TIME),         FLICK(end_s, TIME),
    FLICK(peak_s, TIME),          FLICK(path_deg, FIGURE),
    FLICK(direction_deg, FIGURE), FLICK(peak_acceleration_deg_s2, FIGURE),
    FLICK(trip_delay_s, TIME),    END,
};

json_t *fl_json_time(double seconds)
{
    return isfinite(seconds) ? json_real(fl_round_decimals(seconds, FL_TIME_DECIMALS))
                             : json_null();
}

json_t *fl_json_figure(double x)
{
    return isfinite(x) ? json_real(fl_round_digits(x, FL_FIGURE_DIGITS)) : json_null();
}

json_t *fl_json_given(double x)
{
    return isfinite(x) ? json_real(fl_round_digits(x, 15)) : json_null();
}

json_t *fl_json_text(const char *s)
{
    if (!s)
        return json_null();
    json_t *text = json_string(s);
    if (text)
        return text;
    char *clean = fl_clean_text(s);
    text = json_string(clean);
    free(clean);
    return text;
}

static json_t *field_json(const void *p, enum fl_field_kind kind)
{
    switch (kind) {
    case FL_FIELD_TIME: return fl_json_time(*(const double *)p);
    case FL_FIELD_FIGURE: return fl_json_figure(*(const double *)p);
    case FL_FIELD_GIVEN: return fl_json_given(*(const double *)p);
    case FL_FIELD_INT: return json_integer(*(const int *)p);
    case FL_FIELD_LONG: return json_integer(*(const long *)p);
    case FL_FIELD_BOOL: return json_boolean(*(const bool *)p);
    case FL_FIELD_STRING: return fl_json_text(*(const char *const *)p);
    case FL_FIELD_PATH: return fl_json_text(fl_own_name(*(const char *const *)p));
    case FL_FIELD_CHARS: return fl_json_text(*(const char *)p ? p : NULL);
    }
    return json_null();
}

void fl_fields_write(json_t *object, const void *base, const struct fl_field *table)
{
    for (const struct fl_field *f = table; f->name; f++)
        fl_json_set(object, f->name, field_json((const char *)base + f->offset, f->kind));
}

void fl_fields_round(void *base, const struct fl_field *table)
{
    for (const struct fl_field *f = table; f->name; f++) {
        double *v = (double *)((char *)base + f->offset);
        if (f->kind == FL_FIELD_TIME)
            *v = fl_round_decimals(*v, FL_TIME_DECIMALS);
        else if (f->kind == FL_FIELD_FIGURE)
            *v = fl_round_digits(*v, FL_FIGURE_DIGITS);
    }
}

void fl_reader_complain(struct fl_reader *r, const char *name, const char *problem)
{
    if (!r->bad)
        snprintf(r->what, sizeof r->what, "\"%s\" %s", name, problem);
    r->bad = true;
}

json_t *fl_read_member(struct fl_reader *r, const json_t *object, const char *name, json_type type)
{
    json_t *value = json_object_get(object, name);
    if (value && json_typeof(value) == type)
        return value;
    fl_reader_complain(r, name, value ? "has the wrong type" : "is missing");
    return NULL;
}

double fl_read_number(struct fl_reader *r, const json_t *value, const char *name)
{
    if (json_is_number(value))
        return json_number_value(value);
    if (!json_is_null(value))
        fl_reader_complain(r, name, value ? "is not a number" : "is missing");
    return FL_UNKNOWN;
}

const char *fl_read_text(struct fl_reader *r, const json_t *value, const char *name)
{
    if (json_is_string(value))
        return fl_arena_strdup(r->arena, json_string_value(value));
    if (!json_is_null(value))
        fl_reader_complain(r, name, value ? "is not text" : "is missing");
    return NULL;
}

static json_int_t read_integer(struct fl_reader *r, const json_t *value, const char *name)
{
    if (!json_is_integer(value))
        fl_reader_complain(r, name, value ? "is not an integer" : "is missing");
    return json_integer_value(value);
}

static bool read_bool(struct fl_reader *r, const json_t *value, const char *name)
{
    if (!json_is_boolean(value))
        fl_reader_complain(r, name, value ? "is not true or false" : "is missing");
    return json_is_true(value);
}

static void field_read(struct fl_reader *r, const json_t *value, void *p, const struct fl_field *f)
{
    const char *text;
    switch (f->kind) {
    case FL_FIELD_TIME:
    case FL_FIELD_GIVEN:
    case FL_FIELD_FIGURE: *(double *)p = fl_read_number(r, value, f->name); break;
    case FL_FIELD_INT: *(int *)p = (int)read_integer(r, value, f->name); break;
    case FL_FIELD_LONG: *(long *)p = (long)read_integer(r, value, f->name); break;
    case FL_FIELD_BOOL: *(bool *)p = read_bool(r, value, f->name); break;
    case FL_FIELD_STRING:
    case FL_FIELD_PATH: *(const char **)p = fl_read_text(r, value, f->name); break;
    case FL_FIELD_CHARS:
        text = fl_read_text(r, value, f->name);
        snprintf(p, f->size, "%s", text ? text : "");
        break;
    }
}

void fl_fields_read(struct fl_reader *r, const json_t *object, void *base,
                    const struct fl_field *table)
{
    for (const struct fl_field *f = table; f->name; f++)
        field_read(r, json_object_get(object, f->name), (char *)base + f->offset, f);
}

const char *fl_quantity_column(char buf[FL_COLUMN_SIZE], const char *prefix, enum fl_quantity q)
{
    const struct fl_quantity_info *info = fl_quantity_info(q);
    bool unit = info->unit && *info->unit;
    snprintf(buf, FL_COLUMN_SIZE, "%s%s%s%s%s", prefix, *prefix ? "_" : "", info->name,
             unit ? "_" : "", unit ? info->unit : "");
    return buf;
}
