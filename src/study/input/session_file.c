/* Session files: every key once, by the table of take_spec.c; each error has its line and
 * column. */
#include "study/input/session_file.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "study/input/key_synonym.h"
#include "study/input/spelling.h"
#include "study/input/yaml_events.h"
#include "trace/parse_number.h"

enum { MAX_TAKES = 10000, MAX_TEXT = 4000 };

/* One mapping of take keys as it stands in the file: `defaults` or an entry of `takes`. */
struct entry {
    struct fl_take_spec spec;
    uint32_t named; /* bit i: fl_take_keys[i] was written */
    struct fl_place at, id_at;
};

struct reader {
    struct fl_yaml yaml;
    struct fl_session_file *out;
    const char *folder;
    struct entry defaults, *takes;
    size_t n_takes, cap_takes;
};

static enum flinch_code unknown_key(struct reader *r)
{
    const char *near = NULL, *instead = fl_key_synonym(r->yaml.text);
    int least = 3;
    if (instead)
        return fl_yaml_fail(&r->yaml, r->yaml.at, "unknown key '%.40s'; %s", r->yaml.text, instead);
    for (int i = 0; i < FL_TAKE_KEYS; i++) {
        int d = fl_edits(r->yaml.text, fl_take_keys[i].name);
        if (d < least)
            least = d, near = fl_take_keys[i].name;
    }
    if (near)
        return fl_yaml_fail(&r->yaml, r->yaml.at, "unknown key '%.40s'; did you mean '%s'?",
                            r->yaml.text, near);
    return fl_yaml_fail(&r->yaml, r->yaml.at,
                        "unknown key '%.40s'; remove it, or put it under 'notes'", r->yaml.text);
}

/* ---- scalars ---- */

static enum flinch_code want_scalar(struct reader *r, const char *key)
{
    struct fl_yaml *y = &r->yaml;
    if (y->type != YAML_SCALAR_EVENT)
        return fl_yaml_fail(y, y->at, "'%.40s' must be a single value; write `%.40s: value`", key,
                            key);
    if (y->length != strlen(y->text))
        return fl_yaml_fail(y, y->at, "'%.40s' holds a NUL character; take it out", key);
    return FLINCH_OK;
}

static enum flinch_code want_text(struct reader *r, const char *key, bool lines)
{
    struct fl_yaml *y = &r->yaml;
    enum flinch_code code = want_scalar(r, key);
    if (code)
        return code;
    if (!*y->text || (y->plain && (!strcmp(y->text, "~") || !strcmp(y->text, "null"))))
        return fl_yaml_fail(y, y->at, "'%.40s' is empty; give a value or remove the key", key);
    if (y->length > MAX_TEXT)
        return fl_yaml_fail(y, y->at, "'%.40s' is longer than %d bytes; shorten it", key, MAX_TEXT);
    for (const unsigned char *c = (const unsigned char *)y->text; *c; c++)
        if ((*c < 0x20 && !(lines && (*c == '\n' || *c == '\t'))) || *c == 0x7f)
            return fl_yaml_fail(y, y->at, "'%.40s' holds a control character; take it out", key);
    return FLINCH_OK;
}

static char *keep(struct reader *r, const char *text)
{
    return fl_arena_strdup(r->out->arena, text);
}

static enum flinch_code read_text(struct reader *r, const struct fl_take_key *key, void *field)
{
    enum flinch_code code = want_text(r, key->name, false);
    if (!code)
        *(const char **)field = keep(r, r->yaml.text);
    return code;
}

static enum flinch_code read_path(struct reader *r, const struct fl_take_key *key, void *field)
{
    enum flinch_code code = want_text(r, key->name, false);
    if (code)
        return code;
    char *path = fl_path_join(r->folder, r->yaml.text);
    *(const char **)field = keep(r, path);
    free(path);
    return FLINCH_OK;
}

static enum flinch_code read_id(struct reader *r, const struct fl_take_key *key, void *field)
{
    enum flinch_code code = read_text(r, key, field);
    if (code)
        return code;
    const char *id = r->yaml.text;
    if (id[strspn(id, FL_TAKE_ID_LETTERS)] || *id == '-')
        return fl_yaml_fail(&r->yaml, r->yaml.at,
                            "id '%.60s' cannot name a file; use letters, digits, '-' and '_', "
                            "and no '-' in front",
                            id);
    if (strlen(id) > FL_TAKE_ID_MOST)
        return fl_yaml_fail(&r->yaml, r->yaml.at, "id is longer than %d characters; shorten it",
                            FL_TAKE_ID_MOST);
    return FLINCH_OK;
}

static enum flinch_code want_number(struct reader *r, const char *key, double low, double high,
                                    double *value)
{
    struct fl_yaml *y = &r->yaml;
    enum flinch_code code = want_scalar(r, key);
    if (code)
        return code;
    bool octal = y->text[0] == '0' && strchr("0123456789", y->text[1]) && y->text[1];
    if (!y->plain || octal || !fl_parse_number(y->text, y->length, value))
        return fl_yaml_fail(
            y, y->at,
            "'%s' must be a number, not '%.40s'; write digits only, without unit or quotes", key,
            y->text);
    if (*value < low || *value > high)
        return fl_yaml_fail(y, y->at, "'%s' is %.10g, outside %.10g to %.10g; correct it", key,
                            *value, low, high);
    return FLINCH_OK;
}

static enum flinch_code read_number(struct reader *r, const struct fl_take_key *key, void *field)
{
    double value = FL_UNKNOWN;
    enum flinch_code code = want_number(r, key->name, key->low, key->high, &value);
    if (!code)
        *(double *)field = fl_take_key_value(key, value);
    return code;
}

static enum flinch_code read_choice(struct reader *r, const struct fl_take_key *key, void *field)
{
    enum flinch_code code = want_scalar(r, key->name);
    if (code)
        return code;
    for (int i = 0; i < 2; i++)
        if (!strcmp(r->yaml.text, key->choice[i])) {
            *(bool *)field = i;
            return FLINCH_OK;
        }
    return fl_yaml_fail(&r->yaml, r->yaml.at, "'%s' is '%.40s'; write '%s' or '%s'", key->name,
                        r->yaml.text, key->choice[0], key->choice[1]);
}

static enum flinch_code read_time(struct reader *r, const struct fl_take_key *key, void *field)
{
    enum flinch_code code = read_text(r, key, field);
    if (!code && !fl_is_timestamp(r->yaml.text))
        return fl_yaml_fail(&r->yaml, r->yaml.at,
                            "'%s' is '%.40s'; write it as 2026-11-03T14:00:00Z", key->name,
                            r->yaml.text);
    return code;
}

/* ---- lists ---- */

static enum flinch_code read_span(struct reader *r, double after, struct fl_span *span)
{
    struct fl_yaml *y = &r->yaml;
    struct fl_place at = y->at;
    if (y->type != YAML_SEQUENCE_START_EVENT)
        return fl_yaml_fail(y, at,
                            "a span of 'use' must be [start, end]; write `use: [[2.0, 61.5]]`");
    double value[2];
    enum flinch_code code;
    for (int i = 0; i < 3; i++) {
        if ((code = fl_yaml_next(y)))
            return code;
        if ((y->type == YAML_SEQUENCE_END_EVENT) != (i == 2))
            return fl_yaml_fail(y, y->at,
                                "a span of 'use' has two numbers, start and end; write both");
        if (i < 2 && (code = want_number(r, "use", 0, FL_FOOTAGE_MOST_S, &value[i])))
            return code;
    }
    if (value[1] <= value[0] || value[0] < after)
        return fl_yaml_fail(y, at, "span [%.10g, %.10g] of 'use' %s", value[0], value[1],
                            value[1] <= value[0] ? "ends before it starts; swap its numbers"
                                                 : "overlaps the one before it; put them in order");
    *span = (struct fl_span){value[0], value[1]};
    return FLINCH_OK;
}

static enum flinch_code read_spans(struct reader *r, struct fl_take_spec *spec)
{
    struct fl_yaml *y = &r->yaml;
    if (y->type != YAML_SEQUENCE_START_EVENT)
        return fl_yaml_fail(y, y->at, "'use' must be a list of spans; write `use: [[2.0, 61.5]]`");
    struct fl_place at = y->at;
    struct fl_span *list = NULL;
    size_t n = 0, cap = 0;
    enum flinch_code code;
    while (!(code = fl_yaml_next(y)) && y->type != YAML_SEQUENCE_END_EVENT) {
        struct fl_span span;
        if ((code = read_span(r, n ? list[n - 1].end_s : 0, &span)))
            break;
        FL_PUSH(list, n, cap, span);
    }
    if (!code && !n)
        code = fl_yaml_fail(y, at, "'use' is empty; give a span or remove the key");
    if (!code) {
        struct fl_span *kept = FL_ARENA(r->out->arena, struct fl_span, n);
        memcpy(kept, list, n * sizeof *kept);
        spec->use = kept;
        spec->n_use = n;
    }
    free(list);
    return code;
}

static bool has_note(const struct fl_take_spec *spec, const char *key)
{
    for (size_t i = 0; i < spec->n_notes; i++)
        if (!strcmp(spec->note_keys[i], key))
            return true;
    return false;
}

static void add_note(struct reader *r, struct fl_take_spec *spec, const char *key,
                     const char *value)
{
    size_t n = spec->n_notes;
    const char **k = FL_ARENA(r->out->arena, const char *, n + 1);
    const char **v = FL_ARENA(r->out->arena, const char *, n + 1);
    if (n) {
        memcpy(k, spec->note_keys, n * sizeof *k);
        memcpy(v, spec->note_values, n * sizeof *v);
    }
    k[n] = key;
    v[n] = value;
    spec->note_keys = k;
    spec->note_values = v;
    spec->n_notes = n + 1;
}

static enum flinch_code read_notes(struct reader *r, struct fl_take_spec *spec)
{
    enum { MAX_NOTES = 200 };
    struct fl_yaml *y = &r->yaml;
    if (y->type != YAML_MAPPING_START_EVENT)
        return fl_yaml_fail(y, y->at,
                            "'notes' must hold keys with texts; write `notes: {driver: 1.2}`");
    enum flinch_code code;
    while (!(code = fl_yaml_next(y)) && y->type != YAML_MAPPING_END_EVENT) {
        if ((code = want_text(r, "a key of notes", false)))
            return code;
        const char *key = keep(r, y->text);
        if (has_note(spec, key))
            return fl_yaml_fail(y, y->at, "note '%.40s' stands twice; keep one", key);
        if (spec->n_notes >= MAX_NOTES)
            return fl_yaml_fail(y, y->at, "more than %d notes; shorten the list", MAX_NOTES);
        if ((code = fl_yaml_next(y)) || (code = want_text(r, key, true)))
            return code;
        add_note(r, spec, key, keep(r, y->text));
    }
    return code;
}

static enum flinch_code read_columns(struct reader *r, struct fl_take_spec *spec)
{
    struct fl_yaml *y = &r->yaml;
    struct fl_trace_columns *c = FL_ARENA(r->out->arena, struct fl_trace_columns, 1);
    const struct fl_place at = y->at;
    struct fl_error why;
    enum flinch_code code;
    if (y->type != YAML_MAPPING_START_EVENT)
        return fl_yaml_fail(y, at,
                            "'trace_columns' must hold columns with names; write "
                            "`trace_columns: {time_ms: Stamp, dx: X, dy: Y}`");
    while (!(code = fl_yaml_next(y)) && y->type != YAML_MAPPING_END_EVENT) {
        if ((code = want_text(r, "a key of trace_columns", false)))
            return code;
        const char *known = keep(r, y->text);
        if ((code = fl_yaml_next(y)) || (code = want_text(r, known, false)))
            return code;
        if (fl_trace_columns_map(c, known, y->text, &why))
            return fl_yaml_fail(y, y->at, "trace_columns: %s", why.text);
    }
    if (!code && !fl_trace_columns_any(c))
        code = fl_yaml_fail(y, at, "'trace_columns' is empty; name a column or remove the key");
    spec->trace_columns = c;
    return code;
}

/* ---- mappings ---- */

static int find_key(const char *name)
{
    for (int i = 0; i < FL_TAKE_KEYS; i++)
        if (!strcmp(fl_take_keys[i].name, name))
            return i;
    return -1;
}

/* The key under which this field was written, -1 if it was not. */
static int written_as(const struct entry *e, size_t offset)
{
    for (int i = 0; i < FL_TAKE_KEYS; i++)
        if (fl_take_keys[i].offset == offset && (e->named >> i & 1))
            return i;
    return -1;
}

static enum flinch_code read_value(struct reader *r, const struct fl_take_key *key, struct entry *e)
{
    void *field = (char *)&e->spec + key->offset;
    switch (key->kind) {
    case FL_KEY_ID: e->id_at = r->yaml.at; return read_id(r, key, field);
    case FL_KEY_TEXT: return read_text(r, key, field);
    case FL_KEY_PATH: return read_path(r, key, field);
    case FL_KEY_TIME: return read_time(r, key, field);
    case FL_KEY_NUMBER:
    case FL_KEY_TURN: return read_number(r, key, field);
    case FL_KEY_CHOICE: return read_choice(r, key, field);
    case FL_KEY_SPANS: return read_spans(r, &e->spec);
    case FL_KEY_NOTES: return read_notes(r, &e->spec);
    case FL_KEY_COLUMNS: return read_columns(r, &e->spec);
    }
    return FLINCH_OK;
}

/* Reads the key that y stands on: known, and not written before. */
static enum flinch_code read_key(struct reader *r, struct entry *e, int *which)
{
    struct fl_yaml *y = &r->yaml;
    enum flinch_code code = want_text(r, "a key", false);
    if (code)
        return code;
    *which = find_key(y->text);
    if (*which < 0)
        return unknown_key(r);
    int before = written_as(e, fl_take_keys[*which].offset);
    if (before == *which)
        return fl_yaml_fail(y, y->at, "key '%s' stands twice here; keep one",
                            fl_take_keys[before].name);
    if (before >= 0)
        return fl_yaml_fail(y, y->at, "'%s' and '%s' say the same thing; keep one",
                            fl_take_keys[before].name, fl_take_keys[*which].name);
    e->named |= (uint32_t)1 << *which;
    return FLINCH_OK;
}

static enum flinch_code read_entry(struct reader *r, struct entry *e, const char *what)
{
    struct fl_yaml *y = &r->yaml;
    *e = (struct entry){.at = y->at};
    fl_take_spec_init(&e->spec);
    if (y->type != YAML_MAPPING_START_EVENT)
        return fl_yaml_fail(y, y->at, "%s must hold keys with values; write `{key: value}`", what);
    enum flinch_code code;
    int which = 0;
    while (!(code = fl_yaml_next(y)) && y->type != YAML_MAPPING_END_EVENT)
        if ((code = read_key(r, e, &which)) || (code = fl_yaml_next(y)) ||
            (code = read_value(r, &fl_take_keys[which], e)))
            return code;
    return code;
}

static enum flinch_code read_takes(struct reader *r)
{
    struct fl_yaml *y = &r->yaml;
    if (y->type != YAML_SEQUENCE_START_EVENT)
        return fl_yaml_fail(y, y->at, "'takes' must be a list; start each take with `- id:`");
    struct fl_place at = y->at;
    enum flinch_code code;
    while (!(code = fl_yaml_next(y)) && y->type != YAML_SEQUENCE_END_EVENT) {
        struct entry e;
        if ((code = read_entry(r, &e, "a take")))
            return code;
        if (r->n_takes >= MAX_TAKES)
            return fl_yaml_fail(y, y->at, "more than %d takes; split the session", MAX_TAKES);
        FL_PUSH(r->takes, r->n_takes, r->cap_takes, e);
    }
    if (!code && !r->n_takes)
        return fl_yaml_fail(y, at, "'takes' is empty; list at least one take");
    return code;
}

static enum flinch_code read_session(struct reader *r)
{
    static const char *const names[] = {"session", "defaults", "takes"};
    struct fl_yaml *y = &r->yaml;
    struct fl_place at = y->at;
    bool seen[3] = {false};
    if (y->type != YAML_MAPPING_START_EVENT)
        return fl_yaml_fail(y, at, "not a session file; begin with `session: name`");
    enum flinch_code code;
    while (!(code = fl_yaml_next(y)) && y->type != YAML_MAPPING_END_EVENT) {
        if ((code = want_text(r, "a key", false)))
            return code;
        int k = 0;
        while (k < 3 && strcmp(names[k], y->text))
            k++;
        if (k == 3)
            return fl_yaml_fail(
                y, y->at,
                "unknown key '%.40s'; at this level only session, defaults "
                "and takes are known%s",
                y->text, find_key(y->text) < 0 ? "" : ", indent it under defaults or a take");
        if (seen[k])
            return fl_yaml_fail(y, y->at, "key '%s' stands twice here; keep one", names[k]);
        seen[k] = true;
        static const struct fl_take_key title = {"session", FL_KEY_TEXT, 0};
        if ((code = fl_yaml_next(y)) || (code = k == 0   ? read_text(r, &title, &r->out->name)
                                                : k == 1 ? read_entry(r, &r->defaults, "'defaults'")
                                                         : read_takes(r)))
            return code;
    }
    if (!code && !(seen[0] && seen[2]))
        code = fl_yaml_fail(y, at, "'%s' is missing; add it", seen[0] ? "takes" : "session");
    return code;
}

/* ---- after the whole file is read: `defaults` may stand below `takes` ---- */

static size_t field_size(enum fl_key_kind kind)
{
    return kind == FL_KEY_CHOICE                          ? sizeof(bool)
           : kind == FL_KEY_NUMBER || kind == FL_KEY_TURN ? sizeof(double)
                                                          : sizeof(char *);
}

static void apply_defaults(struct reader *r, struct entry *e)
{
    const struct fl_take_spec *from = &r->defaults.spec;
    for (int i = 0; i < FL_TAKE_KEYS; i++) {
        const struct fl_take_key *key = &fl_take_keys[i];
        if (!(r->defaults.named >> i & 1) || key->kind == FL_KEY_NOTES ||
            written_as(e, key->offset) >= 0)
            continue;
        memcpy((char *)&e->spec + key->offset, (const char *)from + key->offset,
               field_size(key->kind));
        if (key->kind == FL_KEY_SPANS)
            e->spec.n_use = from->n_use;
    }
    for (size_t i = 0; i < from->n_notes; i++)
        if (!has_note(&e->spec, from->note_keys[i]))
            add_note(r, &e->spec, from->note_keys[i], from->note_values[i]);
}

static enum flinch_code check_take(struct reader *r, size_t i)
{
    struct entry *e = &r->takes[i];
    const struct fl_take_spec *s = &e->spec;
    const char *missing = !s->id ? "id" : !s->game ? "game" : !s->footage ? "footage" : NULL;
    if (missing)
        return fl_yaml_fail(&r->yaml, e->at, "this take has no '%s'; add it", missing);
    for (size_t j = 0; j < i; j++)
        if (!strcmp(r->takes[j].spec.id, s->id))
            return fl_yaml_fail(&r->yaml, e->id_at.line ? e->id_at : e->at,
                                "two takes with the id '%s', the first at line %u; rename one",
                                s->id, r->takes[j].at.line);
    return FLINCH_OK;
}

static enum flinch_code finish_takes(struct reader *r)
{
    for (size_t i = 0; i < r->n_takes; i++) {
        apply_defaults(r, &r->takes[i]);
        enum flinch_code code = check_take(r, i);
        if (code)
            return code;
    }
    r->out->takes = FL_ARENA(r->out->arena, struct fl_take_spec, r->n_takes);
    r->out->n_takes = r->n_takes;
    for (size_t i = 0; i < r->n_takes; i++)
        r->out->takes[i] = r->takes[i].spec;
    return FLINCH_OK;
}

enum flinch_code fl_session_read(struct fl_session_file *out, const char *path,
                                 struct fl_error *err)
{
    struct fl_error unread;
    char *folder = fl_path_folder(path);
    *out = (struct fl_session_file){.arena = fl_arena_new()};
    struct reader r = {.out = out, .folder = strcmp(folder, ".") ? folder : NULL};
    fl_take_spec_init(&r.defaults.spec);
    enum flinch_code code = fl_yaml_open(&r.yaml, path, err ? err : &unread);
    if (!code)
        code = read_session(&r);
    if (!code)
        code = fl_yaml_end(&r.yaml);
    if (!code)
        code = finish_takes(&r);
    fl_yaml_close(&r.yaml);
    free(r.takes);
    free(folder);
    if (code)
        fl_session_file_finish(out);
    return code;
}

void fl_session_file_finish(struct fl_session_file *s)
{
    fl_arena_free(&s->arena);
    *s = (struct fl_session_file){0};
}
