/* `flinch audit`: asks a person about moments drawn at random, and weighs the answers. */
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "cli/open_folder.h"
#include "cli/options.h"
#include "cli/terminal.h"
#include "show/page/audit_page.h"
#include "show/screen/eye_screen.h"
#include "show/screen/summary.h"
#include "show/store/eye_answers.h"
#include "study/compare/session_study.h"
#include "writers.h"

struct settings {
    const char *answers, *session, *footage;
    int moments, seed, threads;
    bool link_pictures, json, quiet;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"moments", 'n', FL_OPTION_WHOLE, AT(moments), 3, 1000, "N", "how many; 60 if not given",
     "A third each is on while turning, off, and near an edge between the two."},
    {"seed", 0, FL_OPTION_WHOLE, AT(seed), 0, 1000000000, "N",
     "which of all draws: the same N draws the same moments"},
    {"answers", 0, FL_OPTION_FILE, AT(answers), 0, 0, "FILE",
     "weigh these answers, as the page saved them, in place of drawing",
     "The report and session.json then tell how many agree, until a take is measured anew. Answers "
     "about other measurements are refused."},
    {"session", 0, FL_OPTION_FILE, AT(session), 0, 0, "FILE",
     "session file that says where the footage lies; else it is looked for in FOLDER, beside "
     "FOLDER and here"},
    {"footage", 0, FL_OPTION_FILE, AT(footage), 0, 0, "FILE",
     "the recording that was measured, for a folder of one take"},
    {"threads", 0, FL_OPTION_WHOLE, AT(threads), 0, 256, "N", "decoder threads; 0: two"},
    {"link-pictures", 0, FL_OPTION_FLAG, AT(link_pictures), 0, 0, NULL,
     "with --answers: the report links its filmstrips in strips/, instead of holding them"},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print JSON"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

/* What both ways of the command work on. */
struct audit {
    const struct settings *set;
    const char *folder;
    struct fl_session *s;
    struct fl_terminal *terminal;
    struct fl_batch_watch watch;
};

static void moved(void *ctx, const char *what, double done)
{
    const struct audit *a = ctx;
    a->watch.moved(a->watch.ctx, 0, what, done);
}

static enum flinch_code take_pictures(const struct audit *a, struct fl_audit_picture *out,
                                      const struct fl_audit_moment *moment, size_t n,
                                      struct fl_error *err)
{
    enum { FEW_THREADS = 2 };
    const struct fl_footage_wish where = {a->folder, a->set->session, a->set->footage, "--footage"};
    const struct fl_progress progress = {moved, fl_terminal_stopped, (void *)a};
    const int threads = a->set->threads ? a->set->threads : FEW_THREADS;
    if (a->set->footage && a->s->n_takes > 1)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--footage: %s holds %zu takes; say with --session SESSION.yaml where the "
                       "footage of each lies",
                       a->folder, a->s->n_takes);
    enum flinch_code code =
        fl_audit_pictures(out, a->s, moment, n, &where, threads, &progress, err);
    fl_terminal_erase(a->terminal);
    return code;
}

/* A page in the folder of results, malloc'ed. */
static char *path_of(const char *folder, const char *name)
{
    char *home = fl_path_join(folder, "audit"), *path = fl_path_join(home, name);
    free(home);
    return path;
}

static enum flinch_code begin_page(struct fl_file *file, const char *path, struct fl_error *err)
{
    char *home = fl_path_folder(path);
    enum flinch_code code = fl_make_folder(home, err);
    free(home);
    return code ? code : fl_file_begin(file, path, err);
}

/* ---- asking ---- */

static enum flinch_code check_keys(const struct audit *a, const struct fl_audit_moment *moment,
                                   size_t n, struct fl_error *err)
{
    for (size_t i = 0; i < n; i++)
        if (!a->s->takes[moment[i].take]->key)
            return fl_fail(err, FLINCH_ERR_USAGE,
                           "take %s: its measurement carries no key that answers could be tied to; "
                           "measure it again with `flinch run`",
                           a->s->takes[moment[i].take]->spec.id);
    if (!n)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "%s: no stretch of on or off is long enough to ask about", a->folder);
    return FLINCH_OK;
}

static void tell_drawn(const struct audit *a, const struct fl_audit_ground *g,
                       const struct fl_audit_moment *moment, struct fl_audit_told *told)
{
    for (size_t i = 0; i < told->moments; i++)
        told->of_stratum[moment[i].stratum]++;
    if (a->set->json)
        fl_print_json(stdout, fl_document_json(&fl_audit_document, told));
    else if (!a->set->quiet)
        fl_print_audit(stdout, told, g);
}

static enum flinch_code write_page(const struct audit *a, const char *path,
                                   const struct fl_audit_moment *moment, size_t n,
                                   struct fl_error *err)
{
    struct fl_file file;
    struct fl_audit_picture *picture = FL_NEW(struct fl_audit_picture, n);
    enum flinch_code code = take_pictures(a, picture, moment, n, err);
    if (!code)
        code = begin_page(&file, path, err);
    if (!code) {
        fl_audit_page_write(file.stream, a->s, moment, picture, n, (uint64_t)a->set->seed);
        code = fl_file_commit(&file, err);
    }
    fl_audit_pictures_finish(picture, n);
    free(picture);
    return code;
}

static enum flinch_code ask(const struct audit *a, struct fl_error *err)
{
    enum { MOMENTS = 60 };
    const size_t asked = a->set->moments ? (size_t)a->set->moments : MOMENTS;
    struct fl_audit_moment *moment = FL_NEW(struct fl_audit_moment, asked);
    struct fl_audit_ground g;
    fl_audit_ground_find(&g, a->s);
    const size_t n = fl_audit_draw(moment, &g, asked, (uint64_t)a->set->seed);
    char *path = path_of(a->folder, "audit.html");
    enum flinch_code code = check_keys(a, moment, n, err);
    if (!code)
        code = write_page(a, path, moment, n, err);
    if (!code)
        tell_drawn(a, &g, moment,
                   &(struct fl_audit_told){
                       .session = a->s->name, .page = path, .asked = asked, .moments = n});
    fl_audit_ground_finish(&g);
    free(moment);
    free(path);
    return code;
}

/* ---- weighing ---- */

static enum flinch_code write_differences(const struct audit *a, const char *path,
                                          struct fl_error *err)
{
    const struct fl_eye_check *c = a->s->eye_check;
    const size_t n = c->n_differences;
    struct fl_file file;
    struct fl_audit_moment *moment = FL_NEW(struct fl_audit_moment, n);
    struct fl_audit_picture *picture = FL_NEW(struct fl_audit_picture, n);
    for (size_t i = 0; i < n; i++)
        moment[i] = (struct fl_audit_moment){c->difference[i].take, c->difference[i].frame,
                                             c->difference[i].stratum};
    enum flinch_code code = take_pictures(a, picture, moment, n, err);
    if (!code)
        code = begin_page(&file, path, err);
    if (!code) {
        fl_differences_page_write(file.stream, a->s, c, picture);
        code = fl_file_commit(&file, err);
    }
    fl_audit_pictures_finish(picture, n);
    free(picture);
    free(moment);
    return code;
}

/* The page of what differs, which alone needs the footage; a page of other answers goes. Returns
 * its path, malloc'ed; NULL: there is none. */
static char *show_differences(const struct audit *a)
{
    struct fl_error err = {0};
    char *path = path_of(a->folder, "differences.html");
    unlink(path);
    const bool any = a->s->eye_check->n_differences > 0,
               shown = any && !write_differences(a, path, &err);
    if (any && !shown && !a->set->quiet)
        fl_complain(err.text);
    if (!shown)
        free(path);
    return shown ? path : NULL;
}

/* Report and session.json tell of it; charts and marks do not. */
static enum flinch_code tell_in_files(const struct audit *a, struct fl_error *err)
{
    const struct fl_show_settings show = {.linked_pictures = a->set->link_pictures};
    enum flinch_code code = FLINCH_OK;
    for (size_t i = 0; fl_writers[i] && !code; i++)
        if (!strcmp(fl_writers[i]->name, "json") || !strcmp(fl_writers[i]->name, "page"))
            code = fl_writers[i]->write_session(a->folder, a->s, &show, err);
    return code;
}

static enum flinch_code weigh(const struct audit *a, struct fl_error *err)
{
    if (fl_eye_answers_read(&a->s->eye_answers, a->s, a->set->answers, err))
        return FLINCH_ERR_USAGE; /* the wrong file was given, whatever is wrong with it */
    fl_session_study(a->s);
    enum flinch_code code = fl_eye_answers_keep(a->folder, a->set->answers, err);
    if (!code)
        code = tell_in_files(a, err);
    if (code)
        return code;
    char *differences = show_differences(a);
    if (a->set->json)
        fl_print_json(stdout, fl_document_json(&fl_audit_document,
                                               &(struct fl_audit_told){.session = a->s->name,
                                                                       .page = differences,
                                                                       .eye = a->s->eye_check}));
    else if (!a->set->quiet)
        fl_print_eye_check(stdout, a->s->eye_check, differences);
    free(differences);
    return FLINCH_OK;
}

static int run(const void *settings, char **args, int n_args)
{
    (void)n_args;
    const char *const names[] = {"audit"};
    struct audit a = {.set = settings, .folder = args[0]};
    struct fl_error err = {0};
    int bad = 0;
    enum flinch_code code = fl_open_folder(&a.s, a.folder, &bad, &err);
    a.terminal = fl_terminal_new(names, 1, a.set->quiet);
    a.watch = fl_terminal_watch(a.terminal);
    fl_terminal_catch_signals();
    if (!code)
        code = a.set->answers ? weigh(&a, &err) : ask(&a, &err);
    fl_terminal_free(&a.terminal);
    fl_session_free(&a.s);
    if (code)
        fl_complain(err.text);
    return fl_finish_output(code ? fl_exit_status(code) : bad > 0);
}

const struct fl_command fl_command_audit = {
    "audit",
    "FOLDER",
    "Checks the measurement by eye: draws moments at random and writes a page on which a person "
    "says, without being told, whether synthesis was on. With --answers: how many agree.",
    1,
    1,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FOLDER,
};
