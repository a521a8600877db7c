/* Takes and sessions as JSON files, by the tables of take_fields.h and session_fields.h. */
#include "show/store/json.h"

#include <stdlib.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/store/json_value.h"
#include "show/store/session_fields.h"
#include "show/store/take_fields.h"

/* A refused clock has no figures: whatever the fit left in them is not to be used. */
struct fl_take fl_take_shown(const struct fl_take *t)
{
    struct fl_take shown = *t;
    struct fl_clock *c = &shown.clock;
    if (!c->known)
        c->offset_s = c->drift_ppm = c->residual_ms = c->error_ms = c->gain_x = c->gain_y =
            FL_UNKNOWN;
    if (!c->known || !fl_known(c->off_minus_on_ms))
        c->off_minus_on_ms = c->off_minus_on_low_ms = c->off_minus_on_high_ms = FL_UNKNOWN;
    return shown;
}

json_t *fl_take_json(const struct fl_take *t)
{
    const struct fl_take shown = fl_take_shown(t);
    return fl_document_json(&fl_take_document, &shown);
}

json_t *fl_session_json(const struct fl_session *s)
{
    return fl_document_json(&fl_session_document, s);
}

/* Takes ownership of value. */
static enum flinch_code write_json(json_t *value, const char *path, struct fl_error *err)
{
    struct fl_file file;
    enum flinch_code code = fl_file_begin(&file, path, err);
    if (!code) {
        /* Figures are rounded before; 15 digits print them as they were meant. */
        fl_json_put(file.stream, value, JSON_INDENT(1) | JSON_REAL_PRECISION(15));
        code = fl_file_commit(&file, err);
    } else {
        json_decref(value);
    }
    return code;
}

static enum flinch_code write_take(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, struct fl_error *err)
{
    (void)settings;
    char *takes = fl_path_join(folder, "takes"), *name = fl_format("%s.json", t->spec.id);
    char *path = fl_path_join(takes, name);
    enum flinch_code code = fl_make_folder(takes, err);
    if (!code)
        code = write_json(fl_take_json(t), path, err);
    free(path);
    free(name);
    free(takes);
    return code;
}

static enum flinch_code write_session(const char *folder, const struct fl_session *s,
                                      const struct fl_show_settings *settings, struct fl_error *err)
{
    (void)settings;
    char *path = fl_path_join(folder, "session.json");
    enum flinch_code code = write_json(fl_session_json(s), path, err);
    free(path);
    return code;
}

const struct fl_writer fl_json_writer = {"json", true, write_take, write_session};
