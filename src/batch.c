/* Worker threads take one take after another from the session, so that a long one holds up
 * nobody. What a take's files say must be the same whether it was measured now or read back: a
 * fresh measurement is rounded as its files are before anything is reckoned from it. A take that
 * cannot be written whole loses its JSON, without which no later run believes the rest. */
#include "batch.h"

#include <assert.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/clip/filmstrip.h"
#include "show/draw/fonts.h"
#include "show/store/eye_answers.h"
#include "show/store/load.h"
#include "show/store/output_rounding.h"
#include "show/store/writer.h"
#include "study/compare/session_study.h"
#include "writers.h"

static const char no_strips_code[] = "no_filmstrips";

struct result {
    struct fl_take *take; /* NULL: failed, or not reached */
    struct fl_error err;
};

struct batch {
    const struct fl_session_file *file;
    const char *folder;
    struct fl_run_settings run;
    bool again, no_strips;
    struct fl_show_settings show;
    const struct fl_batch_watch *watch;
    struct result *results; /* one a take; each is written by one worker only */
    size_t *order;          /* of work: indices of takes */
    pthread_mutex_t lock;   /* guards next and interrupted */
    size_t next;
    bool interrupted;
    pthread_mutex_t writing; /* one take is written at a time */
};

struct one {
    struct batch *batch;
    size_t index;
};

static void report(void *ctx, const char *what, double done)
{
    const struct one *one = ctx;
    const struct fl_batch_watch *w = one->batch->watch;
    if (w && w->moved)
        w->moved(w->ctx, one->index, what, done);
}

static bool stop(void *ctx)
{
    const struct fl_batch_watch *w = ((const struct one *)ctx)->batch->watch;
    return w && w->stop && w->stop(w->ctx);
}

static void note(void *ctx, const char *text)
{
    const struct one *one = ctx;
    const struct fl_batch_watch *w = one->batch->watch;
    if (w && w->noted)
        w->noted(w->ctx, one->index, text);
}

enum flinch_code fl_batch_prepare(const char *folder, struct fl_error *err)
{
    struct fl_file probe;
    enum flinch_code code = fl_fonts_check(err);
    if (!code)
        code = fl_make_folder(folder, err);
    if (code)
        return code;
    char *name = fl_path_join(folder, "probe");
    code = fl_file_begin(&probe, name, err);
    fl_file_abandon(&probe);
    free(name);
    return code;
}

/* all: or only what a take is read back from. */
static enum flinch_code write_take(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, bool all,
                                   struct fl_error *err)
{
    for (size_t i = 0; fl_writers[i]; i++) {
        const struct fl_writer *w = fl_writers[i];
        enum flinch_code code = w->write_take && (all || w->stores)
                                    ? w->write_take(folder, t, settings, err)
                                    : FLINCH_OK;
        if (code)
            return code;
    }
    return FLINCH_OK;
}

enum flinch_code fl_batch_write_take(const char *folder, const struct fl_take *t,
                                     const struct fl_show_settings *settings, struct fl_error *err)
{
    return write_take(folder, t, settings, true, err);
}

enum flinch_code fl_batch_write_session(const char *folder, const struct fl_session *s,
                                        const struct fl_show_settings *settings,
                                        struct fl_error *err)
{
    enum flinch_code code = fl_fonts_check(err);
    if (code)
        return code;
    for (size_t i = 0; fl_writers[i]; i++) {
        code = fl_writers[i]->write_session ? fl_writers[i]->write_session(folder, s, settings, err)
                                            : FLINCH_OK;
        if (code)
            return code;
    }
    return FLINCH_OK;
}

/* A take of which some file could not be written must not be found by the next run. */
static void forget_take(const char *folder, const char *id)
{
    char name[200];
    snprintf(name, sizeof name, "takes/%s.json", id);
    char *path = fl_path_join(folder, name);
    unlink(path);
    free(path);
}

/* True if the take's filmstrips are there, not wanted, or known to be impossible. */
static bool strips_settled(const struct batch *b, const struct fl_take *t)
{
    for (size_t i = 0; i < t->n_warnings; i++)
        if (!strcmp(t->warnings[i].code, no_strips_code))
            return true;
    return b->no_strips || fl_filmstrips_there(b->folder, t);
}

static struct fl_take *load_measured(const struct batch *b, const struct fl_take_spec *spec,
                                     const char *key)
{
    struct fl_take *t = NULL;
    struct fl_error ignored;
    if (b->again || !b->folder)
        return NULL;
    char *stored = fl_stored_key(b->folder, spec->id);
    bool same = stored && !strcmp(stored, key);
    free(stored);
    if (!same || fl_take_load(b->folder, spec->id, &t, &ignored))
        return NULL;
    if (!strips_settled(b, t)) {
        fl_take_free(&t);
        return NULL;
    }
    t->spec = *spec; /* labels may have changed */
    return t;
}

static enum flinch_code measure(struct one *one, const char *key, struct result *r)
{
    struct batch *b = one->batch;
    const struct fl_progress progress = {report, stop, one, note};
    enum flinch_code code =
        fl_run_take(&r->take, &b->file->takes[one->index], &b->run, &progress, &r->err);
    if (!code) {
        r->take->key = fl_arena_strdup(r->take->arena, key);
        fl_take_round(r->take); /* a session says the same measured now or read back later */
    }
    return code;
}

/* Before the take's own files: JSON comes last of all. */
static enum flinch_code draw_strips(struct one *one, struct result *r)
{
    struct batch *b = one->batch;
    const struct fl_progress progress = {report, stop, one, note};
    const char *id = r->take->spec.id;
    if (!b->folder)
        return FLINCH_OK;
    enum flinch_code code = FLINCH_OK;
    if (!b->no_strips)
        code = fl_filmstrips_write(b->folder, r->take, b->run.threads, &progress, &r->err);
    if (b->no_strips || code)
        fl_filmstrips_remove(b->folder, id,
                             0); /* those of an earlier measurement show other lapses */
    if (code == FLINCH_ERR_WRITE || code == FLINCH_ERR_INTERRUPTED) {
        forget_take(b->folder, id);
        fl_take_free(&r->take);
        return code;
    }
    if (code)
        fl_take_warn(r->take, no_strips_code,
                     "Filmstrips could not be drawn: the footage could not be read a second time.");
    return FLINCH_OK;
}

/* As measured, so that it need not be measured again; what the session makes of it follows. */
static enum flinch_code store_result(struct batch *b, struct result *r)
{
    if (!b->folder)
        return FLINCH_OK;
    pthread_mutex_lock(&b->writing);
    enum flinch_code code = write_take(b->folder, r->take, &b->show, false, &r->err);
    if (code) {
        forget_take(b->folder, r->take->spec.id);
        fl_take_free(&r->take);
    }
    pthread_mutex_unlock(&b->writing);
    return code;
}

static void do_take(struct batch *b, size_t index)
{
    assert(index < b->file->n_takes && !b->results[index].take); /* each take once */
    const struct fl_take_spec *spec = &b->file->takes[index];
    struct one one = {b, index};
    struct result *r = &b->results[index];
    char *key = fl_measurement_key(spec, &b->run);
    enum fl_batch_outcome outcome = FL_BATCH_REUSED;
    enum flinch_code code = FLINCH_OK;
    r->take = load_measured(b, spec, key);
    if (!r->take) {
        outcome = FL_BATCH_MEASURED;
        code = measure(&one, key, r);
        if (!code)
            code = draw_strips(&one, r);
    }
    if (!code)
        code = store_result(b, r);
    free(key);
    if (code == FLINCH_ERR_INTERRUPTED) {
        pthread_mutex_lock(&b->lock);
        b->interrupted = true;
        pthread_mutex_unlock(&b->lock);
    } else if (b->watch && b->watch->finished) {
        b->watch->finished(b->watch->ctx, index, code ? FL_BATCH_FAILED : outcome,
                           code ? r->err.text : NULL);
    }
}

static bool readable(const struct fl_take_spec *spec)
{
    const char *const path[] = {spec->footage, spec->trace, spec->sound};
    bool all = true;
    for (int k = 0; k < 3; k++)
        all = all && (!path[k] || !access(path[k], R_OK));
    return all;
}

/* What cannot be read fails at once, and is told before hours are spent on the rest. */
static size_t *order_of_work(const struct fl_session_file *file)
{
    size_t *order = FL_NEW(size_t, file->n_takes + 1), n = 0;
    for (int can = 0; can < 2; can++)
        for (size_t i = 0; i < file->n_takes; i++)
            if (readable(&file->takes[i]) == can)
                order[n++] = i;
    return order;
}

static void *work(void *ctx)
{
    struct batch *b = ctx;
    struct one any = {b, 0};
    for (;;) {
        pthread_mutex_lock(&b->lock);
        size_t index = b->next;
        if (index < b->file->n_takes && stop(&any))
            b->interrupted = true;
        bool go = index < b->file->n_takes && !b->interrupted;
        b->next += go;
        pthread_mutex_unlock(&b->lock);
        if (!go)
            return NULL;
        do_take(b, b->order[index]);
    }
}

static void run_workers(struct batch *b, int jobs)
{
    size_t n = (size_t)jobs, started = 0;
    pthread_t *threads = FL_NEW(pthread_t, n);
    while (started + 1 < n && !pthread_create(&threads[started], NULL, work, b))
        started++;
    work(b); /* this thread is the last worker */
    for (size_t i = 0; i < started; i++)
        pthread_join(threads[i], NULL);
    free(threads);
}

static struct fl_session *collect(struct batch *b)
{
    assert(!b->interrupted && b->next == b->file->n_takes);
    struct fl_session *s = fl_session_new(b->file->name);
    for (size_t i = 0; i < b->file->n_takes; i++) {
        struct result *r = &b->results[i];
        if (r->take)
            fl_session_add(s, r->take);
        else
            fl_session_add_failed(s, b->file->takes[i].id, r->err.text);
        r->take = NULL;
    }
    if (b->folder)
        fl_eye_answers_recall(s, b->folder);
    fl_session_study(s);
    return s;
}

static enum flinch_code interrupted(struct fl_error *err)
{
    return fl_fail(err, FLINCH_ERR_INTERRUPTED,
                   "interrupted; finished takes are kept, run the same command to go on");
}

static enum flinch_code conclude(struct fl_session **out, struct batch *b, struct fl_error *err)
{
    if (b->interrupted)
        return interrupted(err);
    struct fl_session *s = collect(b);
    enum flinch_code code = FLINCH_OK;
    for (size_t i = 0; i < s->n_takes && b->folder && !code; i++)
        code = fl_batch_write_take(b->folder, s->takes[i], &b->show, err);
    if (!code && b->folder)
        code = fl_batch_write_session(b->folder, s, &b->show, err);
    if (code)
        fl_session_free(&s);
    *out = s;
    return code;
}

/* Decoding leaves a core idle while states are fitted, and the other way round; two takes on two
 * cores with two decoder threads each keep both busy. */
static void share_cores(struct fl_run_settings *run, int *jobs, size_t n_takes)
{
    enum { MOST_JOBS = 8, LEAST_THREADS = 2 };
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    if (!*jobs)
        *jobs = cores > MOST_JOBS ? MOST_JOBS : cores > 1 ? (int)cores : 1;
    if ((size_t)*jobs > n_takes)
        *jobs = n_takes ? (int)n_takes : 1;
    if (!run->threads)
        run->threads = cores > *jobs * LEAST_THREADS ? (int)(cores / *jobs) : LEAST_THREADS;
}

/* Measures all takes into b->results; fails only where the folder cannot be written. */
static enum flinch_code begin(struct batch *b, const struct fl_session_file *file,
                              const char *folder, const struct fl_batch_settings *settings,
                              const struct fl_batch_watch *watch, struct fl_error *err)
{
    int jobs = settings->jobs;
    *b = (struct batch){.file = file,
                        .folder = folder,
                        .run = settings->run,
                        .again = settings->again,
                        .no_strips = settings->no_strips,
                        .show = settings->show,
                        .watch = watch,
                        .results = FL_NEW(struct result, file->n_takes ? file->n_takes : 1),
                        .order = order_of_work(file),
                        .lock = PTHREAD_MUTEX_INITIALIZER,
                        .writing = PTHREAD_MUTEX_INITIALIZER};
    share_cores(&b->run, &jobs, file->n_takes);
    enum flinch_code code = folder ? fl_batch_prepare(folder, err) : FLINCH_OK;
    if (!code)
        run_workers(b, jobs);
    return code;
}

static void end(struct batch *b)
{
    for (size_t i = 0; i < b->file->n_takes; i++)
        fl_take_free(&b->results[i].take); /* those that no session has taken over */
    free(b->order);
    free(b->results);
}

enum flinch_code fl_batch_run(struct fl_session **out, const struct fl_session_file *file,
                              const char *folder, const struct fl_batch_settings *settings,
                              const struct fl_batch_watch *watch, struct fl_error *err)
{
    struct batch b;
    *out = NULL;
    enum flinch_code code = begin(&b, file, folder, settings, watch, err);
    if (!code)
        code = conclude(out, &b, err);
    end(&b);
    return code;
}

enum flinch_code fl_batch_store(const struct fl_session_file *file, const char *folder,
                                const struct fl_batch_settings *settings,
                                const struct fl_batch_watch *watch, size_t *failed,
                                struct fl_error *err)
{
    struct batch b;
    assert(folder);
    enum flinch_code code = begin(&b, file, folder, settings, watch, err);
    if (!code && b.interrupted)
        code = interrupted(err);
    *failed = 0;
    for (size_t i = 0; i < file->n_takes; i++)
        *failed += !b.results[i].take;
    end(&b);
    return code;
}
