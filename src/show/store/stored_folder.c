/* session.json says which takes a folder holds; each is loaded by itself, so that one bad file
 * costs one take. Before there is one, several runs may each have stored some takes; then the files
 * themselves say it, in the order of their names. */
#include "show/store/stored_folder.h"

#include <dirent.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/text_stream.h"
#include "show/store/eye_answers.h"
#include "show/store/json_value.h"
#include "show/store/load.h"
#include "show/store/session_fields.h"

#define SESSION_LIMIT ((size_t)1 << 29)

/* ID.json */
static int is_take(const struct dirent *e)
{
    static const char end[] = ".json";
    const size_t n = strlen(e->d_name), k = sizeof end - 1;
    return e->d_name[0] != '.' && n > k && !strcmp(e->d_name + n - k, end);
}

static int by_bytes(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

/* What session.json would list; NULL where there is no take. */
static json_t *list_stored(const char *folder)
{
    struct dirent **entry = NULL;
    char *takes = fl_path_join(folder, "takes");
    const int n = scandir(takes, &entry, is_take, by_bytes);
    json_t *list = n > 0 ? json_array() : NULL;
    for (int i = 0; i < n; i++) {
        const size_t length = strlen(entry[i]->d_name) - strlen(".json");
        fl_json_append(list, json_pack("{s:s%}", "id", entry[i]->d_name, length));
        free(entry[i]);
    }
    free(entry);
    free(takes);
    return list ? json_pack("{s:s, s:o}", "session", "Takes measured one by one", "takes", list)
                : NULL;
}

static enum flinch_code read_list(json_t **list, const char *folder, struct fl_error *err)
{
    json_error_t problem;
    char *path = fl_path_join(folder, "session.json");
    char *data = NULL;
    size_t size;
    enum flinch_code code = FLINCH_OK;
    if (access(path, R_OK) && (*list = list_stored(folder))) {
        /* nobody has gathered them yet */
    } else if (access(path, R_OK)) {
        code = fl_fail(err, FLINCH_ERR_USAGE,
                       "%s: cannot open; give a folder that `flinch run` has written", path);
    } else if (!(code = fl_read_stored(path, SESSION_LIMIT, &data, &size, err))) {
        *list = json_loadb(data, size, JSON_REJECT_DUPLICATES, &problem);
        if (!json_is_string(json_object_get(*list, "session")) ||
            !json_is_array(json_object_get(*list, "takes")))
            code = fl_fail(err, FLINCH_ERR_USAGE,
                           "%s: not a session written by flinch; run `flinch run` again", path);
    }
    free(data);
    free(path);
    return code;
}

/* The id, or a word for what is none. */
static const char *usable(const char *id)
{
    return id && fl_take_id_valid(id) ? id : "unnamed";
}

/* Loads every take that session.json lists; a take that cannot be read is named as failed. */
static int load_takes(struct fl_session *s, const json_t *takes, const char *folder)
{
    size_t i;
    json_t *item;
    int bad = 0;
    json_array_foreach(takes, i, item)
    {
        const char *id = json_string_value(json_object_get(item, "id"));
        struct fl_take *t = NULL;
        struct fl_error err = {0};
        if (!id || !fl_take_id_valid(id))
            fl_fail(&err, FLINCH_ERR_FORMAT, "session.json: take %zu has no usable id; run again",
                    i + 1);
        else if (!fl_take_load(folder, id, &t, &err)) {
            fl_session_add(s, t);
            continue;
        }
        fl_session_add_failed(s, usable(id), err.text);
        bad++;
    }
    return bad;
}

/* Takes that failed when they were measured stay named. */
static void keep_failed(struct fl_session *s, const json_t *failed)
{
    size_t i;
    json_t *item;
    json_array_foreach(failed, i, item)
    {
        const char *id = json_string_value(json_object_get(item, "id"));
        const char *text = json_string_value(json_object_get(item, "text"));
        if (text)
            fl_session_add_failed(s, usable(id), text);
    }
}

enum flinch_code fl_stored_session(struct fl_session **out, const char *folder, int *bad,
                                   struct fl_error *err)
{
    json_t *list = NULL;
    enum flinch_code code = read_list(&list, folder, err);
    *out = NULL;
    *bad = 0;
    if (!code) {
        *out = fl_session_new(json_string_value(json_object_get(list, "session")));
        *bad = load_takes(*out, json_object_get(list, "takes"), folder);
        keep_failed(*out, json_object_get(list, "failed"));
        fl_eye_answers_recall(*out, folder);
    }
    json_decref(list);
    return code;
}

/* Up to a handful of the ids in the list. */
static char *some_ids(const json_t *takes)
{
    enum { MOST = 8 };
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    size_t i;
    json_t *item;
    json_array_foreach(takes, i, item)
    {
        const char *id = json_string_value(json_object_get(item, "id"));
        if (i < MOST)
            fprintf(out, "%s%.64s", i ? ", " : "", id ? id : "?");
    }
    fprintf(out, "%s", json_array_size(takes) > MOST ? " …" : json_array_size(takes) ? "" : "none");
    return fl_text_end(&stream);
}

static bool listed(const json_t *takes, const char *id)
{
    size_t i;
    json_t *item;
    json_array_foreach(takes, i, item)
    {
        const char *other = json_string_value(json_object_get(item, "id"));
        if (other && !strcmp(other, id))
            return fl_take_id_valid(id);
    }
    return false;
}

enum flinch_code fl_stored_take(struct fl_take **out, const char *folder, const char *id,
                                struct fl_error *err)
{
    json_t *list = NULL;
    *out = NULL;
    enum flinch_code code = read_list(&list, folder, err);
    const json_t *takes = json_object_get(list, "takes");
    if (!code && !listed(takes, id)) {
        char *ids = some_ids(takes);
        code = fl_fail(err, FLINCH_ERR_USAGE, "%s: holds no take '%.64s'; it holds %s", folder, id,
                       ids);
        free(ids);
    }
    if (!code)
        code = fl_take_load(folder, id, out, err);
    json_decref(list);
    return code;
}

enum flinch_code fl_stored_version(const char *folder, struct fl_error *err)
{
    char *path = fl_path_join(folder, "session.json"), *data = NULL;
    size_t size;
    json_t *list = fl_read_stored(path, SESSION_LIMIT, &data, &size, NULL)
                       ? NULL
                       : json_loadb(data, size, JSON_REJECT_DUPLICATES, NULL),
           *version = json_object_get(list, "version");
    json_int_t found = json_integer_value(version);
    enum flinch_code code = FLINCH_OK;
    if (list && (!json_is_integer(version) || found != fl_session_document.version))
        code =
            fl_fail(err, FLINCH_ERR_USAGE,
                    "%s: written in version %lld of its format, this flinch compares version %d; "
                    "measure that session again",
                    path, (long long)found, fl_session_document.version);
    json_decref(list);
    free(data);
    free(path);
    return code;
}
