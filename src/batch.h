/* Session file → every take measured, studied and written: what `flinch run` and the library do.
 *
 * Takes are measured side by side by worker threads; a take whose files in the folder carry the
 * key of the same inputs and settings is read back instead. A take that fails is named in the
 * session, and the others go on. */
#ifndef FL_BATCH_H
#define FL_BATCH_H

#include "base/error.h"
#include "run.h"
#include "show/store/writer.h"
#include "study/input/session_file.h"
#include "study/take/session.h"

struct fl_batch_settings {
    struct fl_run_settings run; /* threads 0: the cores shared out over the jobs, at least 2 */
    int jobs;                   /* takes measured side by side; 0: as many as cores, at most 8 */
    bool again;                 /* measure takes again even if their files are there */
    bool no_strips;             /* draw no filmstrips of lapses */
    struct fl_show_settings show;
};

enum fl_batch_outcome { FL_BATCH_MEASURED, FL_BATCH_REUSED, FL_BATCH_FAILED };

/* Any function may be NULL. All are called from worker threads, several at a time. */
struct fl_batch_watch {
    void (*moved)(void *ctx, size_t take, const char *what, double done);
    void (*finished)(void *ctx, size_t take, enum fl_batch_outcome outcome, const char *text);
    bool (*stop)(void *ctx);
    void *ctx;
    void (*noted)(void *ctx, size_t take, const char *text); /* one line that is no warning */
};

/* Creates the folder and tries to write into it, and looks for a font, so that what is wrong is
 * found before anything is measured. */
enum flinch_code fl_batch_prepare(const char *folder, struct fl_error *err);

/* Measures the takes of file, studies them and writes into folder (NULL: write and reuse
 * nothing). *out keeps pointers into file, which must outlive it. Takes that fail are in
 * (*out)->failed. On an error (interrupted, session files not written) *out is NULL; takes
 * finished until then are whole in the folder. */
enum flinch_code fl_batch_run(struct fl_session **out, const struct fl_session_file *file,
                              const char *folder, const struct fl_batch_settings *settings,
                              const struct fl_batch_watch *watch, struct fl_error *err);

/* Measures the takes of file and stores each as a later fl_batch_run finds it; writes nothing of
 * the session, so that several may work on one folder, each on takes of its own. *failed: how many
 * could not be measured (said through watch). */
enum flinch_code fl_batch_store(const struct fl_session_file *file, const char *folder,
                                const struct fl_batch_settings *settings,
                                const struct fl_batch_watch *watch, size_t *failed,
                                struct fl_error *err);

/* All writers over one take, and over a session. */
enum flinch_code fl_batch_write_take(const char *folder, const struct fl_take *t,
                                     const struct fl_show_settings *settings, struct fl_error *err);
enum flinch_code fl_batch_write_session(const char *folder, const struct fl_session *s,
                                        const struct fl_show_settings *settings,
                                        struct fl_error *err);

/* A digest of everything that a measurement depends on: sources of this build, files (path, size,
 * time of last change), the take's specification without its labels, settings. 64 hexadecimal
 * digits, malloc'ed.
 */
char *fl_measurement_key(const struct fl_take_spec *spec, const struct fl_run_settings *settings);

#endif
