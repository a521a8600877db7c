/* A stored take's key tells its measurement from every other, so it is all that ties answers to it.
 */
#include "show/store/eye_answers.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "show/store/eye_fields.h"

#define ANSWERS_LIMIT ((size_t)1 << 24)

static const char kept_as[] = "audit/answers.json";

struct reading {
    const struct fl_session *s;
    const char *path;
    struct fl_answers_file file;
    struct fl_audit_ground ground;
    struct fl_eye_answers *answers;
    struct fl_error *err;
};

static enum flinch_code parse(json_t **out, const char *path, struct fl_error *err)
{
    char *data;
    size_t size;
    json_error_t why;
    enum flinch_code code = fl_read_file(path, ANSWERS_LIMIT, &data, &size, err);
    if (code)
        return code;
    *out = json_loadb(data, size, JSON_REJECT_DUPLICATES, &why);
    free(data);
    if (!*out)
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "%s:%d:%d: not JSON: %s; give the file that the page saved", path, why.line,
                       why.column, why.text);
    return FLINCH_OK;
}

static enum flinch_code read_file(struct reading *r, const json_t *file)
{
    struct fl_reader reader = {.arena = r->s->names};
    fl_document_check(&reader, file, &fl_answers_document);
    if (!reader.bad)
        fl_fields_read(&reader, file, &r->file, fl_answers_document.fields);
    if (reader.bad)
        return fl_fail(r->err, FLINCH_ERR_FORMAT,
                       "%s: no answers of an audit (%s); give the file that its page saved",
                       r->path, reader.what);
    if (!r->file.n_entries)
        return fl_fail(r->err, FLINCH_ERR_FORMAT,
                       "%s: nothing is answered in it; answer some moments first", r->path);
    return FLINCH_OK;
}

/* s->n_takes: no take of that id. */
static size_t take_named(const struct fl_session *s, const char *id)
{
    size_t i = 0;
    while (i < s->n_takes && strcmp(s->takes[i]->spec.id, id))
        i++;
    return i;
}

static enum flinch_code check_takes(const struct reading *r)
{
    for (size_t i = 0; i < r->file.n_takes; i++) {
        const struct fl_answers_take *t = &r->file.take[i];
        const size_t k = take_named(r->s, t->id);
        if (k == r->s->n_takes)
            return fl_fail(r->err, FLINCH_ERR_FORMAT,
                           "%s: is about take '%.64s', which this folder lacks; give the answers "
                           "to its own audit",
                           r->path, t->id);
        if (!r->s->takes[k]->key || strcmp(t->key, r->s->takes[k]->key))
            return fl_fail(r->err, FLINCH_ERR_FORMAT,
                           "%s: is about another measurement of take '%.64s'; make the audit again "
                           "and answer it anew",
                           r->path, t->id);
    }
    return FLINCH_OK;
}

static bool listed(const struct fl_answers_file *file, const char *id)
{
    for (size_t i = 0; i < file->n_takes; i++)
        if (!strcmp(file->take[i].id, id))
            return true;
    return false;
}

/* The frame that begins then; -1: none does. Times are written to the microsecond. */
static long frame_at(const struct fl_take *t, double time_s)
{
    long lo = 0, hi = t->frames;
    while (lo < hi) {
        const long mid = (lo + hi) / 2;
        if (t->time_s[mid] < time_s - 1e-6)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo < t->frames && fabs(t->time_s[lo] - time_s) <= 1e-6 ? lo : -1;
}

static bool asked_before(const struct fl_eye_answers *a, size_t take, long frame)
{
    for (size_t i = 0; i < a->n; i++)
        if (a->v[i].take == take && a->v[i].frame == frame)
            return true;
    return false;
}

/* What is wrong with an answer; NULL and its place in *out: nothing. */
static const char *place_of(const struct reading *r, const struct fl_answers_entry *e,
                            struct fl_eye_answer *out)
{
    if (!listed(&r->file, e->take))
        return "names no take of those listed";
    const size_t take = take_named(r->s, e->take);
    const long frame = frame_at(r->s->takes[take], e->time_s);
    if (frame < 0 || !fl_audit_ground_at(&r->ground, take, frame))
        return "is at a moment that an audit never asks about";
    if (asked_before(r->answers, take, frame))
        return "is the second at its moment";
    *out = (struct fl_eye_answer){take, frame, e->eye};
    return NULL;
}

static enum flinch_code place_answers(struct reading *r)
{
    r->answers->v = FL_ARENA(r->s->names, struct fl_eye_answer, r->file.n_entries);
    for (size_t i = 0; i < r->file.n_entries; i++) {
        const char *wrong = place_of(r, &r->file.entry[i], &r->answers->v[i]);
        if (wrong)
            return fl_fail(r->err, FLINCH_ERR_FORMAT,
                           "%s: answer %zu %s; give the file as the page saved it", r->path, i + 1,
                           wrong);
        r->answers->n++;
    }
    return FLINCH_OK;
}

enum flinch_code fl_eye_answers_read(const struct fl_eye_answers **out, const struct fl_session *s,
                                     const char *path, struct fl_error *err)
{
    struct reading r = {
        .s = s, .path = path, .answers = FL_ARENA(s->names, struct fl_eye_answers, 1), .err = err};
    json_t *json = NULL;
    *out = NULL;
    enum flinch_code code = parse(&json, path, err);
    if (!code)
        code = read_file(&r, json);
    if (!code)
        code = check_takes(&r);
    if (!code) {
        fl_audit_ground_find(&r.ground, s);
        code = place_answers(&r);
        fl_audit_ground_finish(&r.ground);
    }
    if (!code)
        *out = r.answers;
    json_decref(json);
    return code;
}

enum flinch_code fl_eye_answers_keep(const char *folder, const char *path, struct fl_error *err)
{
    char *data = NULL, *to = fl_path_join(folder, kept_as), *home = fl_path_folder(to);
    size_t size = 0;
    struct fl_file file;
    enum flinch_code code = fl_read_file(path, ANSWERS_LIMIT, &data, &size, err);
    if (!code)
        code = fl_make_folder(home, err);
    if (!code)
        code = fl_file_begin(&file, to, err);
    if (!code) {
        fwrite(data, 1, size, file.stream);
        code = fl_file_commit(&file, err);
    }
    free(data);
    free(home);
    free(to);
    return code;
}

void fl_eye_answers_recall(struct fl_session *s, const char *folder)
{
    struct fl_error ignored;
    char *path = fl_path_join(folder, kept_as);
    fl_eye_answers_read(&s->eye_answers, s, path, &ignored);
    free(path);
}
