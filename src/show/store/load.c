/* One take out of its JSON and its tables. */
#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "show/store/csv.h"
#include "show/store/load.h"
#include "show/store/stored_check.h"
#include "show/store/take_fields.h"

#define JSON_LIMIT ((size_t)1 << 29)

static enum flinch_code parse(const char *path, json_t **out, struct fl_error *err)
{
    char *data;
    size_t size;
    enum flinch_code code = fl_read_stored(path, JSON_LIMIT, &data, &size, err);
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

/* Reads all of the JSON; *flips becomes how many the table beside it must have. */
static void read_take(struct fl_reader *r, const json_t *o, struct fl_take *t, size_t *flips)
{
    fl_document_check(r, o, &fl_take_document);
    fl_fields_read(r, o, t, fl_take_document.fields);
    fl_check_stored(r, t);
    t->cap_warnings = t->n_warnings;
    *flips = t->flips.n;
    t->flips.n = 0;
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
        size_t flips;
        read_take(&r, json, t, &flips);
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
        fl_document_check(&r, json, &fl_take_document);
        if (!r.bad)
            key = fl_strdup(json_string_value(json_object_get(json, "key")));
    }
    json_decref(json);
    free(path);
    return key;
}
