#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "batch.h"
#include "cli/commands.h"
#include "cli/summary.h"
#include "cli/terminal.h"
#include "show/json.h"

struct settings {
    bool json, quiet;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print the session as JSON, not the summary"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

static enum flinch_code read_list(json_t **list, const char *folder, struct fl_error *err)
{
    json_error_t problem;
    char *path = fl_path_join(folder, "session.json");
    enum flinch_code code = FLINCH_OK;
    if (access(path, R_OK)) {
        code = fl_fail(err, FLINCH_ERR_USAGE,
                       "%s: cannot open; give a folder that `flinch run` has written", path);
    } else {
        *list = json_load_file(path, JSON_REJECT_DUPLICATES, &problem);
        if (!json_is_string(json_object_get(*list, "session")) ||
            !json_is_array(json_object_get(*list, "takes")))
            code = fl_fail(err, FLINCH_ERR_USAGE,
                           "%s: not a session written by flinch; run `flinch run` again", path);
    }
    free(path);
    return code;
}

static bool good_id(const char *id)
{
    return id && *id && !strchr(id, '/') && *id != '.';
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
        if (!good_id(id))
            fl_fail(&err, FLINCH_ERR_FORMAT, "session.json: take %zu has no usable id; run again",
                    i + 1);
        else if (!fl_take_load(folder, id, &t, &err)) {
            fl_session_add(s, t);
            continue;
        }
        fl_complain(err.text);
        fl_session_add_failed(s, good_id(id) ? id : "unnamed", err.text);
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
        if (id && text)
            fl_session_add_failed(s, id, text);
    }
}

static enum flinch_code write_all(const char *folder, struct fl_session *s, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    fl_session_study(s);
    for (size_t i = 0; i < s->n_takes && !code; i++)
        code = fl_batch_write_take(folder, s->takes[i], err);
    return code ? code : fl_batch_write_session(folder, s, err);
}

static int rebuild(const struct settings *set, const json_t *list, const char *folder)
{
    struct fl_session *s = fl_session_new(json_string_value(json_object_get(list, "session")));
    struct fl_error err = {0};
    int bad = load_takes(s, json_object_get(list, "takes"), folder);
    keep_failed(s, json_object_get(list, "failed"));
    int status = bad ? 1 : 0;
    if (write_all(folder, s, &err)) {
        fl_complain(err.text);
        status = 1;
    } else if (set->json) {
        fl_print_json(stdout, fl_session_json(s));
    } else if (!set->quiet) {
        fl_print_session(stdout, s, 0, folder);
    }
    fl_session_free(&s);
    return fl_finish_output(status);
}

static int run(const void *settings, char **args, int n_args)
{
    (void)n_args;
    json_t *list = NULL;
    struct fl_error err = {0};
    int status = 2;
    if (read_list(&list, args[0], &err))
        fl_complain(err.text);
    else
        status = rebuild(settings, list, args[0]);
    json_decref(list);
    return status;
}

const struct fl_command fl_command_show = {
    "show", "FOLDER",
    "Rebuilds curves, charts and report from the measurements in a folder that run has written.",
    1, 1, options, sizeof(struct settings), run,
};
