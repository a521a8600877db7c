/* Session file in, folder out; everything between is batch.c. */
#include <stdlib.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/decoder_option.h"
#include "cli/mark_options.h"
#include "cli/nearest.h"
#include "cli/option_echo.h"
#include "cli/terminal.h"
#include "show/screen/summary.h"
#include "show/store/json.h"
#include "show/store/json_value.h"

struct settings {
    const char *out, *only, *decoder;
    int jobs, threads;
    double first_s;
    bool list, again, no_strips, link_pictures, json, quiet;
    struct fl_mark_options marks;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"out", 'o', FL_OPTION_FOLDER, AT(out), 0, 0, "FOLDER",
     "write results here; created if missing", "It must be given, but with *--list*."},
    {"list", 0, FL_OPTION_FLAG, AT(list), 0, 0, NULL,
     "print the takes' ids, a line each, and measure nothing"},
    {"only", 0, FL_OPTION_TEXT, AT(only), 0, 0, "IDS",
     "measure these takes, ID,ID…, and store them without comparing",
     "For several runs, or machines, that share a session and a folder: each stores its own takes, "
     "and one *flinch run* without this option then finds them, compares and writes the report."},
    {"jobs", 'j', FL_OPTION_WHOLE, AT(jobs), 0, 256, "N",
     "measure N takes side by side; 0: as many as cores, at most 8"},
    {"threads", 0, FL_OPTION_WHOLE, AT(threads), 0, 256, "N",
     "decoder threads a take; 0: share out the cores"},
    {"decoder", 0, FL_OPTION_TEXT, AT(decoder), 0, 0, "NAME", FL_DECODER_HELP, FL_DECODER_MORE},
    {"first", 0, FL_OPTION_NUMBER, AT(first_s), 0, FL_FOOTAGE_MOST_S, "S",
     "measure only the first S seconds of each take; 0: all"},
    {"again", 0, FL_OPTION_FLAG, AT(again), 0, 0, NULL,
     "measure takes again even if nothing changed"},
    {"no-strips", 0, FL_OPTION_FLAG, AT(no_strips), 0, 0, NULL,
     "draw no filmstrips of lapses, which need a second look at the footage"},
    {"link-pictures", 0, FL_OPTION_FLAG, AT(link_pictures), 0, 0, NULL,
     "the report links its filmstrips in strips/, instead of holding them",
     "It is to be kept in its folder then. Above 8 MB of filmstrips it always links them."},
    {"marks", .type = FL_OPTION_GROUP, .offset = AT(marks), .rows = fl_mark_option_rows},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print the session as JSON, not the summary"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

static void print(const struct settings *set, const struct fl_session *s, int reused)
{
    if (set->json) {
        json_t *value = fl_session_json(s);
        fl_json_set(value, "settings", fl_options_echo(options, set));
        fl_print_json(stdout, value);
    } else if (!set->quiet) {
        fl_print_session(stdout, s, reused, set->out);
    }
}

static int measure(const struct settings *set, const struct fl_session_file *file,
                   const struct fl_show_settings *show)
{
    const struct fl_batch_settings batch = {
        {set->threads, set->first_s, set->decoder}, set->jobs, set->again, set->no_strips, *show};
    struct fl_session *s = NULL;
    struct fl_error err = {0};
    const char **names = FL_NEW(const char *, file->n_takes);
    for (size_t i = 0; i < file->n_takes; i++)
        names[i] = file->takes[i].id;
    struct fl_terminal *t = fl_terminal_new(names, file->n_takes, set->quiet);
    const struct fl_batch_watch watch = fl_terminal_watch(t);
    enum flinch_code code = fl_batch_run(&s, file, set->out, &batch, &watch, &err);
    int reused = fl_terminal_reused(t), status = fl_exit_status(code);
    fl_terminal_free(&t);
    free(names);
    if (code) {
        fl_complain(err.text);
        return status;
    }
    print(set, s, reused);
    status = s->n_failed ? 1 : 0;
    fl_session_free(&s);
    return fl_finish_output(status);
}

static int list(const struct fl_session_file *file)
{
    for (size_t i = 0; i < file->n_takes; i++)
        puts(file->takes[i].id);
    return fl_finish_output(0);
}

/* Index of the take; n_takes: there is none, and err says which is meant. */
static size_t take_named(const struct fl_session_file *file, const char *id, size_t n,
                         struct fl_error *err)
{
    char *word = fl_format("%.*s", (int)(n < 80 ? n : 80), id);
    struct fl_nearest near = {.word = word};
    size_t i = 0;
    for (; i < file->n_takes && strcmp(file->takes[i].id, word) != 0; i++)
        fl_nearest_try(&near, file->takes[i].id);
    if (i == file->n_takes && near.best)
        fl_fail(err, FLINCH_ERR_USAGE, "no take '%s' in the session; did you mean '%s'?", word,
                near.best);
    else if (i == file->n_takes)
        fl_fail(err, FLINCH_ERR_USAGE,
                "no take '%s' in the session; flinch run --list prints them all", word);
    free(word);
    return i;
}

/* Leaves the takes that are named, in the order of the session. */
static enum flinch_code keep_only(struct fl_session_file *file, const char *ids,
                                  struct fl_error *err)
{
    bool *wanted = FL_NEW(bool, file->n_takes + 1);
    enum flinch_code code = FLINCH_OK;
    size_t n, kept = 0;
    for (const char *id = ids; !code; id += n + 1) {
        n = strcspn(id, ",");
        size_t i = take_named(file, id, n, err);
        wanted[i] = true;
        code = i < file->n_takes ? FLINCH_OK : FLINCH_ERR_USAGE;
        if (!id[n])
            break;
    }
    for (size_t i = 0; i < file->n_takes && !code; i++)
        if (wanted[i])
            file->takes[kept++] = file->takes[i];
    file->n_takes = code ? file->n_takes : kept;
    free(wanted);
    return code;
}

/* Some takes alone, for a later run to compare. */
static int store(const struct settings *set, const struct fl_session_file *file)
{
    const struct fl_batch_settings batch = {
        .run = {.threads = set->threads, .stop_after_s = set->first_s},
        .jobs = set->jobs,
        .again = set->again,
        .no_strips = set->no_strips};
    struct fl_error err = {0};
    size_t failed = 0;
    const char **names = FL_NEW(const char *, file->n_takes);
    for (size_t i = 0; i < file->n_takes; i++)
        names[i] = file->takes[i].id;
    struct fl_terminal *t = fl_terminal_new(names, file->n_takes, set->quiet);
    const struct fl_batch_watch watch = fl_terminal_watch(t);
    enum flinch_code code = fl_batch_store(file, set->out, &batch, &watch, &failed, &err);
    size_t reused = (size_t)fl_terminal_reused(t);
    fl_terminal_free(&t);
    free(names);
    if (code) {
        fl_complain(err.text);
        return fl_exit_status(code);
    }
    if (!set->quiet)
        printf("%zu of %zu stored in %s (%zu reused)\n", file->n_takes - failed, file->n_takes,
               set->out, reused);
    return fl_finish_output(failed ? 1 : 0);
}

static int run(const void *settings, char **args, int n_args)
{
    (void)n_args;
    const struct settings *set = settings;
    struct fl_session_file file;
    struct fl_show_settings show = {.linked_pictures = set->link_pictures};
    struct fl_error err = {0};
    fl_terminal_catch_signals();
    if (fl_decoder_option_check(set->decoder, &err) ||
        fl_mark_options_read(&show.marks, &set->marks, &err)) {
        fl_complain(err.text);
        return 2;
    }
    if (!set->out && !set->list) {
        fl_complain("no output folder; add -o FOLDER");
        return 2;
    }
    if (set->only && (set->json || set->list)) {
        fl_complain("run: --only prints no session and no list; leave out --json or --list");
        return 2;
    }
    if (fl_session_read(&file, args[0], &err) || (set->only && keep_only(&file, set->only, &err)) ||
        (!set->list && fl_batch_prepare(set->out, &err))) {
        fl_complain(err.text);
        fl_session_file_finish(&file);
        return 2;
    }
    int status = set->list   ? list(&file)
                 : set->only ? store(set, &file)
                             : measure(set, &file, &show);
    fl_session_file_finish(&file);
    return status;
}

const struct fl_command fl_command_run = {
    "run",
    "SESSION.yaml -o FOLDER",
    "Measures every take of a session, compares them and writes measurements, charts and a report. "
    "Takes already measured with the same inputs and settings are reused.",
    1,
    1,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FILE,
};
