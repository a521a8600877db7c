#include "study/input/take_spec.h"

#define AT(member) offsetof(struct fl_take_spec, member)
const struct fl_take_key fl_take_keys[FL_TAKE_KEYS] = {
    {"id", FL_KEY_ID, AT(id)},
    {"game", FL_KEY_TEXT, AT(game)},
    {"footage", FL_KEY_PATH, AT(footage)},
    {"trace", FL_KEY_PATH, AT(trace)},
    {"sound", FL_KEY_PATH, AT(sound)},
    {"sound_offset_s", FL_KEY_NUMBER, AT(sound_offset_s), -3600, 3600},
    {"counts_per_inch", FL_KEY_NUMBER, AT(counts_per_inch), 10, 200000},
    {"degrees_per_count", FL_KEY_NUMBER, AT(degrees_per_count), 1e-6, 10},
    {"counts_per_turn", FL_KEY_TURN, AT(degrees_per_count), 36, 3.6e8},
    {"horizontal_fov_deg", FL_KEY_NUMBER, AT(horizontal_fov_deg), 5, 175},
    {"report_rate_hz", FL_KEY_NUMBER, AT(report_rate_hz), 10, 64000},
    {"condition", FL_KEY_TEXT, AT(condition)},
    {"synthesis", FL_KEY_CHOICE, AT(synthesis_disabled), .choice = {"available", "disabled"}},
    {"base_rate_hz", FL_KEY_NUMBER, AT(base_rate_hz), 5, 1000},
    {"capture", FL_KEY_CHOICE, AT(capture_local), .choice = {"card", "local"}},
    {"output", FL_KEY_CHOICE, AT(output_variable), .choice = {"fixed", "variable"}},
    {"refresh_hz", FL_KEY_NUMBER, AT(refresh_hz), 10, 2000},
    {"cap_hz", FL_KEY_NUMBER, AT(cap_hz), 5, 2000},
    {"use", FL_KEY_SPANS, AT(use)},
    {"recorded_at", FL_KEY_TIME, AT(recorded_at)},
    {"notes", FL_KEY_NOTES, AT(note_keys)},
};

void fl_take_spec_init(struct fl_take_spec *spec)
{
    *spec = (struct fl_take_spec){.condition = "default"};
    for (int i = 0; i < FL_TAKE_KEYS; i++)
        if (fl_take_keys[i].kind == FL_KEY_NUMBER)
            *(double *)((char *)spec + fl_take_keys[i].offset) = FL_UNKNOWN;
}

bool fl_take_spec_uses(const struct fl_take_spec *spec, double t_s)
{
    for (size_t i = 0; i < spec->n_use; i++)
        if (t_s >= spec->use[i].start_s && t_s < spec->use[i].end_s)
            return true;
    return spec->n_use == 0;
}
