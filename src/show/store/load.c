#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "show/store/csv.h"
#include "show/store/fields.h"
#include "show/store/json.h"
#include "show/store/load.h"
#include "show/store/stored_check.h"
#include "show/store/writer.h"

#define JSON_LIMIT ((size_t)1 << 29)

static enum flinch_code parse(const char *path, json_t **out, struct fl_error *err)
{
    char *data;
    size_t size;
    enum flinch_code code = fl_read_file(path, JSON_LIMIT, &data, &size, err);
    if (code)
        return code;
    json_error_t why;
    *out = json_loadb(data, size, JSON_REJECT_DUPLICATES, &why);
    free(data);
    if (!*out)
        return fl_fail(err, FLINCH_ERR_FORMAT, "%s:%d:%d: not JSON: %s; measure the take again",
                       path, why.line, why.column, why.text);
    return FLINCH_OK;
}

static void check_format(struct fl_reader *r, const json_t *take)
{
    const char *format = json_string_value(json_object_get(take, "format"));
    if (!format || strcmp(format, FL_TAKE_FORMAT))
        fl_reader_complain(r, "format", "is not " FL_TAKE_FORMAT);
    if (json_integer_value(json_object_get(take, "version")) != FL_TAKE_VERSION)
        fl_reader_complain(r, "version", "is not one that this flinch reads");
}

static const char *text_member(struct fl_reader *r, const json_t *o, const char *name)
{
    return fl_read_text(r, json_object_get(o, name), name);
}

static void read_use(struct fl_reader *r, const json_t *list, struct fl_take_spec *spec)
{
    struct fl_span *use = FL_ARENA(r->arena, struct fl_span, json_array_size(list) + 1);
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *pair = json_array_get(list, i);
        use[i].start_s = fl_read_number(r, json_array_get(pair, 0), "use_s");
        use[i].end_s = fl_read_number(r, json_array_get(pair, 1), "use_s");
    }
    spec->use = json_array_size(list) ? use : NULL;
    spec->n_use = json_array_size(list);
}

static void read_notes(struct fl_reader *r, const json_t *list, struct fl_take_spec *spec)
{
    size_t n = json_array_size(list);
    const char **keys = FL_ARENA(r->arena, const char *, n + 1),
               **values = FL_ARENA(r->arena, const char *, n + 1);
    for (size_t i = 0; i < n; i++) {
        keys[i] = text_member(r, json_array_get(list, i), "name");
        values[i] = text_member(r, json_array_get(list, i), "text");
    }
    spec->note_keys = keys;
    spec->note_values = values;
    spec->n_notes = n;
}

static void read_spec(struct fl_reader *r, const json_t *take, struct fl_take_spec *spec)
{
    spec->id = text_member(r, take, "id");
    spec->game = text_member(r, take, "game");
    spec->condition = text_member(r, take, "condition");
    if (!spec->id || !spec->game || !spec->condition)
        fl_reader_complain(r, !spec->id ? "id" : !spec->game ? "game" : "condition", "is null");
    spec->counts_per_inch =
        fl_read_number(r, json_object_get(take, "counts_per_inch"), "counts_per_inch");
    spec->degrees_per_count =
        fl_read_number(r, json_object_get(take, "degrees_per_count"), "degrees_per_count");
    const json_t *setup = fl_read_member(r, take, "setup", JSON_OBJECT);
    fl_fields_read(r, setup, spec, fl_setup_fields);
    read_use(r, fl_read_member(r, setup, "use_s", JSON_ARRAY), spec);
    read_notes(r, fl_read_member(r, setup, "notes", JSON_ARRAY), spec);
}

static enum fl_state state_named(struct fl_reader *r, const char *name)
{
    for (int s = 0; name && s < 3; s++)
        if (!strcmp(name, fl_state_name(s)))
            return s;
    fl_reader_complain(r, "state", "is none of on, off, unseen");
    return FL_STATE_UNSEEN;
}

static void read_states(struct fl_reader *r, const json_t *list, struct fl_states *s)
{
    s->n_spans = json_array_size(list);
    s->span = FL_NEW(struct fl_state_span, s->n_spans + 1);
    for (size_t i = 0; i < s->n_spans; i++) {
        const json_t *span = json_array_get(list, i);
        fl_fields_read(r, span, &s->span[i], fl_span_fields);
        s->span[i].state = state_named(r, json_string_value(json_object_get(span, "state")));
    }
}

static void read_pair(struct fl_reader *r, const json_t *o, const char *name, double pair[2])
{
    const json_t *list = fl_read_member(r, o, name, JSON_ARRAY);
    for (size_t i = 0; i < 2; i++)
        pair[i] = fl_read_number(r, json_array_get(list, i), name);
}

static unsigned read_evidence(struct fl_reader *r, const json_t *list)
{
    unsigned evidence = 0;
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *word = json_string_value(json_array_get(list, i));
        word = word ? word : "";
        unsigned bit = !strcmp(word, "rate")        ? FL_EVIDENCE_RATE
                       : !strcmp(word, "sharpness") ? FL_EVIDENCE_SHARPNESS
                       : !strcmp(word, "trace")     ? FL_EVIDENCE_TRACE
                                                    : 0;
        if (!bit)
            fl_reader_complain(r, "evidence", "has an unknown word");
        evidence |= bit;
    }
    return evidence;
}

static void read_lapses(struct fl_reader *r, const json_t *list, struct fl_states *s)
{
    s->n_lapses = json_array_size(list);
    s->lapse = FL_NEW(struct fl_lapse, s->n_lapses + 1);
    for (size_t i = 0; i < s->n_lapses; i++) {
        const json_t *lapse = json_array_get(list, i);
        fl_fields_read(r, lapse, &s->lapse[i], fl_lapse_fields);
        read_pair(r, lapse, "start_range_s", s->lapse[i].start_range_s);
        read_pair(r, lapse, "end_range_s", s->lapse[i].end_range_s);
        s->lapse[i].evidence = read_evidence(r, fl_read_member(r, lapse, "evidence", JSON_ARRAY));
    }
}

static enum fl_answer read_tripped(struct fl_reader *r, const json_t *value)
{
    if (!value || !(json_is_boolean(value) || json_is_null(value)))
        fl_reader_complain(r, "tripped", value ? "is none of true, false, null" : "is missing");
    return json_is_true(value) ? FL_YES : json_is_false(value) ? FL_NO : FL_ANSWER_UNKNOWN;
}

static enum fl_answer read_risk(struct fl_reader *r, const char *word)
{
    if (word && !strcmp(word, "yes"))
        return FL_YES;
    if (word && !strcmp(word, "no"))
        return FL_NO;
    if (!word || strcmp(word, "unknown"))
        fl_reader_complain(r, "at_risk", "is none of yes, no, unknown");
    return FL_ANSWER_UNKNOWN;
}

static void read_flick(struct fl_reader *r, const json_t *o, struct fl_flick *f)
{
    char name[FL_COLUMN_SIZE];
    fl_fields_read(r, o, f, fl_flick_fields);
    for (int q = 0; q < FL_QUANTITIES; q++) {
        fl_quantity_column(name, "peak", q);
        f->peak[q] = fl_read_number(r, json_object_get(o, name), name);
        fl_quantity_column(name, "mean", q);
        f->mean[q] = fl_read_number(r, json_object_get(o, name), name);
        fl_quantity_column(name, "peak_to_trip", q);
        f->peak_to_trip[q] = fl_read_number(r, json_object_get(o, name), name);
    }
    f->at_risk = read_risk(r, json_string_value(json_object_get(o, "at_risk")));
    f->tripped = read_tripped(r, json_object_get(o, "tripped"));
}

static void read_flicks(struct fl_reader *r, const json_t *list, struct fl_take *t)
{
    t->n_flicks = json_array_size(list);
    t->flicks = FL_ARENA(r->arena, struct fl_flick, t->n_flicks + 1);
    for (size_t i = 0; i < t->n_flicks; i++)
        read_flick(r, json_array_get(list, i), &t->flicks[i]);
}

static void read_warnings(struct fl_reader *r, const json_t *list, struct fl_take *t)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *o = json_array_get(list, i);
        struct fl_warning w = {text_member(r, o, "code"), text_member(r, o, "text")};
        FL_PUSH(t->warnings, t->n_warnings, t->cap_warnings, w);
    }
}

/* Marks the quantities that the frame table holds; fl_frames_load puts the real arrays there. */
static void read_measured(struct fl_reader *r, const json_t *list, struct fl_take *t)
{
    static float wanted;
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *name = json_string_value(json_array_get(list, i));
        int q = 0;
        while (name && q < FL_QUANTITIES && strcmp(name, fl_quantity_info(q)->name))
            q++;
        if (name && q < FL_QUANTITIES)
            t->quantity[q] = &wanted;
        else
            fl_reader_complain(r, "quantities_measured", "has an unknown name");
    }
}

/* Reads all of the JSON; returns how many flips the table beside it must have. */
static size_t read_take(struct fl_reader *r, const json_t *o, struct fl_take *t)
{
    check_format(r, o);
    t->key = text_member(r, o, "key");
    read_spec(r, o, &t->spec);
    fl_fields_read(r, fl_read_member(r, o, "footage", JSON_OBJECT), t, fl_footage_fields);
    fl_fields_read(r, fl_read_member(r, o, "clock", JSON_OBJECT), &t->clock, fl_clock_fields);
    fl_fields_read(r, o, t, fl_figure_fields);
    read_measured(r, fl_read_member(r, o, "quantities_measured", JSON_ARRAY), t);
    read_states(r, fl_read_member(r, o, "states", JSON_ARRAY), &t->states);
    read_lapses(r, fl_read_member(r, o, "lapses", JSON_ARRAY), &t->states);
    fl_fields_read(r, fl_read_member(r, o, "exposure", JSON_OBJECT), &t->exposure,
                   fl_exposure_fields);
    fl_fields_read(r, fl_read_member(r, o, "picture_only", JSON_OBJECT), &t->without_trace,
                   fl_without_trace_fields);
    fl_fields_read(r, fl_read_member(r, o, "smoothness", JSON_OBJECT), &t->smoothness,
                   fl_smoothness_fields);
    const json_t *pacing = fl_read_member(r, o, "pacing", JSON_OBJECT);
    fl_fields_read(r, fl_read_member(r, pacing, "on", JSON_OBJECT), &t->pacing.on,
                   fl_pacing_fields);
    fl_fields_read(r, fl_read_member(r, pacing, "off", JSON_OBJECT), &t->pacing.off,
                   fl_pacing_fields);
    read_flicks(r, fl_read_member(r, o, "flicks", JSON_ARRAY), t);
    read_warnings(r, fl_read_member(r, o, "warnings", JSON_ARRAY), t);
    json_int_t flips = json_integer_value(fl_read_member(r, o, "flips", JSON_INTEGER));
    if (t->frames < 0 || flips < 0)
        fl_reader_complain(r, t->frames < 0 ? "frames" : "flips", "is below zero");
    fl_check_stored(r, t);
    return (size_t)flips;
}

static enum flinch_code load_tables(struct fl_take *t, const char *folder, const char *id,
                                    size_t flips, struct fl_error *err)
{
    char *frames_path = fl_take_path(folder, id, "-frames.csv");
    char *flips_path = fl_take_path(folder, id, "-flips.csv");
    enum flinch_code code = fl_frames_load(t, frames_path, err);
    if (!code)
        code = fl_flips_load(t, flips_path, flips, err);
    char *flicks_path = fl_take_path(folder, id, "-flicks.csv");
    if (!code && access(flicks_path, R_OK)) /* repeats the JSON: only its presence matters */
        code = fl_fail(err, FLINCH_ERR_OPEN, "%s: missing; measure the take again", flicks_path);
    free(frames_path);
    free(flips_path);
    free(flicks_path);
    return code;
}

enum flinch_code fl_take_load(const char *folder, const char *id, struct fl_take **out,
                              struct fl_error *err)
{
    *out = NULL;
    json_t *json = NULL;
    char *path = fl_take_path(folder, id, ".json");
    enum flinch_code code = parse(path, &json, err);
    struct fl_take *t = fl_take_new();
    if (!code) {
        struct fl_reader r = {.arena = t->arena};
        size_t flips = read_take(&r, json, t);
        if (!r.bad && (!t->spec.id || strcmp(t->spec.id, id)))
            fl_reader_complain(&r, "id", "is not that of the file");
        code = r.bad
                   ? fl_fail(err, FLINCH_ERR_FORMAT, "%s: %s; measure the take again", path, r.what)
                   : load_tables(t, folder, id, flips, err);
    }
    if (code)
        fl_take_free(&t);
    *out = t;
    json_decref(json);
    free(path);
    return code;
}

char *fl_stored_key(const char *folder, const char *id)
{
    json_t *json = NULL;
    char *path = fl_take_path(folder, id, ".json");
    char *key = NULL;
    if (!parse(path, &json, NULL)) {
        struct fl_reader r = {0};
        check_format(&r, json);
        if (!r.bad)
            key = fl_strdup(json_string_value(json_object_get(json, "key")));
    }
    json_decref(json);
    free(path);
    return key;
}
