/* The keys of a take, in one table: whoever reads, checks or fills a specification goes by it. */
#include "study/input/take_spec.h"

#include <assert.h>
#include <string.h>

#define AT(member) offsetof(struct fl_take_spec, member)
const struct fl_take_key fl_take_keys[FL_TAKE_KEYS] = {
    {"id", FL_KEY_ID, AT(id)},
    {"game", FL_KEY_TEXT, AT(game), .label = true},
    {"footage", FL_KEY_PATH, AT(footage)},
    {"trace", FL_KEY_PATH, AT(trace)},
    {"trace_columns", FL_KEY_COLUMNS, AT(trace_columns)},
    {"sound", FL_KEY_PATH, AT(sound)},
    {"sound_offset_s", FL_KEY_NUMBER, AT(sound_offset_s), FL_SOUND_OFFSET_RANGE},
    {"counts_per_inch", FL_KEY_NUMBER, AT(counts_per_inch), FL_COUNTS_PER_INCH_RANGE},
    {"degrees_per_count", FL_KEY_NUMBER, AT(degrees_per_count), FL_DEGREES_PER_COUNT_RANGE},
    {"counts_per_turn", FL_KEY_TURN, AT(degrees_per_count), FL_COUNTS_PER_TURN_RANGE},
    {"horizontal_fov_deg", FL_KEY_NUMBER, AT(horizontal_fov_deg), FL_FOV_RANGE},
    {"report_rate_hz", FL_KEY_NUMBER, AT(report_rate_hz), 10, 64000},
    {"condition", FL_KEY_TEXT, AT(condition), .label = true},
    {"synthesis", FL_KEY_CHOICE, AT(synthesis_disabled), .choice = {"available", "disabled"}},
    {"base_rate_hz", FL_KEY_NUMBER, AT(base_rate_hz), FL_BASE_RATE_RANGE},
    {"capture", FL_KEY_CHOICE, AT(capture_local), .choice = {"card", "local"}},
    {"output", FL_KEY_CHOICE, AT(output_variable), .choice = {"fixed", "variable"}},
    {"refresh_hz", FL_KEY_NUMBER, AT(refresh_hz), 10, 2000},
    {"cap_hz", FL_KEY_NUMBER, AT(cap_hz), 5, 2000},
    {"play", FL_KEY_CHOICE, AT(play_drill), .choice = {"game", "drill"}, .label = true},
    {"use", FL_KEY_SPANS, AT(use)},
    {"recorded_at", FL_KEY_TIME, AT(recorded_at), .label = true},
    {"notes", FL_KEY_NOTES, AT(note_keys), .label = true},
};

void fl_take_spec_init(struct fl_take_spec *spec)
{
    *spec = (struct fl_take_spec){.condition = "default"};
    for (int i = 0; i < FL_TAKE_KEYS; i++)
        if (fl_take_keys[i].kind == FL_KEY_NUMBER)
            *(double *)((char *)spec + fl_take_keys[i].offset) = FL_UNKNOWN;
}

const struct fl_take_key *fl_take_key(const char *name)
{
    for (int i = 0; i < FL_TAKE_KEYS; i++)
        if (!strcmp(fl_take_keys[i].name, name))
            return &fl_take_keys[i];
    return NULL;
}

double fl_take_key_value(const struct fl_take_key *key, double written)
{
    return key->kind == FL_KEY_TURN ? 360 / written : written;
}

enum flinch_code fl_take_spec_fill(struct fl_take_spec *spec, const struct fl_take_number *v,
                                   size_t n, struct fl_error *err)
{
    for (size_t i = 0; i < n; i++) {
        const struct fl_take_key *key = fl_take_key(v[i].key);
        assert(key && (key->kind == FL_KEY_NUMBER || key->kind == FL_KEY_TURN));
        if (v[i].value == 0)
            continue;
        if (!(v[i].value >= key->low && v[i].value <= key->high))
            return fl_fail(err, FLINCH_ERR_USAGE, "%s is %.10g, outside %.10g to %.10g; correct it",
                           key->name, v[i].value, key->low, key->high);
        *(double *)((char *)spec + key->offset) = fl_take_key_value(key, v[i].value);
    }
    return FLINCH_OK;
}

bool fl_take_id_valid(const char *id)
{
    size_t n = strspn(id, FL_TAKE_ID_LETTERS);
    return n > 0 && n <= FL_TAKE_ID_MOST && !id[n] && *id != '-';
}

bool fl_take_spec_uses(const struct fl_take_spec *spec, double t_s)
{
    for (size_t i = 0; i < spec->n_use; i++)
        if (t_s >= spec->use[i].start_s && t_s < spec->use[i].end_s)
            return true;
    return spec->n_use == 0;
}
