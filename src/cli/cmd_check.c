/* One recording after another, each measured as a take without a session, its findings printed
 * as they come. */
#include "cli/commands.h"
#include "cli/decoder_option.h"
#include "cli/stream_options.h"
#include "cli/terminal.h"
#include "cli/trace_option.h"
#include "run.h"
#include "show/screen/check_screen.h"
#include "show/screen/summary.h"
#include "show/store/json_value.h"
#include "study/input/session_file.h"

struct settings {
    const char *trace, *columns, *sound, *decoder;
    double first_s, fov, cpi;
    int threads;
    bool local, disabled, follow, json, quiet;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"first", 0, FL_OPTION_NUMBER, AT(first_s), 0, FL_FOOTAGE_MOST_S, "S",
     "check only the first S seconds; 0: all"},
    {"trace", 't', FL_OPTION_FILE, AT(trace), 0, 0, "FILE", "does this trace of input events fit?",
     "It belongs to one recording."},
    {"columns", 0, FL_OPTION_TEXT, AT(columns), 0, 0, "LIST", FL_COLUMNS_HELP, FL_COLUMNS_MORE},
    {"sound", 0, FL_OPTION_FILE, AT(sound), 0, 0, "FILE",
     "are the trace's clicks heard in it? Else in the footage's own sound"},
    {"cpi", 0, FL_OPTION_NUMBER, AT(cpi), FL_COUNTS_PER_INCH_RANGE, "N", "mouse counts per inch"},
    {"fov", 0, FL_OPTION_NUMBER, AT(fov), FL_FOV_RANGE, "D", "horizontal field of view in degrees",
     "Speeds are told in deg/s with it."},
    {"local", 0, FL_OPTION_FLAG, AT(local), 0, 0, NULL, "recorded on the machine under test"},
    {"disabled", 0, FL_OPTION_FLAG, AT(disabled), 0, 0, NULL, "a control: synthesis was disabled"},
    {"follow", 'f', FL_OPTION_FLAG, AT(follow), 0, 0, NULL, FL_FOLLOW_HELP, FL_FOLLOW_MORE},
    {"threads", 0, FL_OPTION_WHOLE, AT(threads), 0, 256, "N", "decoder threads; 0: one a core"},
    {"decoder", 0, FL_OPTION_TEXT, AT(decoder), 0, 0, "NAME", FL_DECODER_HELP, FL_DECODER_MORE},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print the findings as JSON"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

struct watch {
    struct fl_batch_watch terminal;
    size_t index;
};

static void report(void *ctx, const char *what, double done)
{
    const struct watch *w = ctx;
    w->terminal.moved(w->terminal.ctx, w->index, what, done);
}

static void note(void *ctx, const char *text)
{
    const struct watch *w = ctx;
    w->terminal.noted(w->terminal.ctx, w->index, text);
}

static enum flinch_code fill_spec(struct fl_take_spec *spec, const struct settings *set,
                                  const char *path, struct fl_trace_columns *columns,
                                  struct fl_error *err)
{
    const struct fl_take_number v[] = {{"counts_per_inch", set->cpi},
                                       {"horizontal_fov_deg", set->fov}};
    fl_take_spec_init(spec);
    spec->id = spec->game = "check";
    spec->footage = path;
    spec->trace = set->trace;
    spec->sound = set->sound;
    spec->synthesis_disabled = set->disabled;
    spec->capture_local = set->local;
    if (fl_trace_option_read(&spec->trace_columns, columns, set->columns, err))
        return FLINCH_ERR_USAGE;
    return fl_take_spec_fill(spec, v, sizeof v / sizeof *v, err);
}

/* One of n recordings. */
struct job {
    const struct settings *set;
    const char *path;
    bool alone;
    json_t *list; /* findings go here; NULL: to the terminal */
};

static int tell(const struct job *job, const struct fl_take *t)
{
    struct fl_usable u;
    fl_usable_judge(&u, t, job->set->first_s > 0);
    int status = fl_usable_verdict(&u) == FL_UNUSABLE;
    if (job->list) {
        fl_json_append(job->list, fl_check_json(job->path, t, &u));
    } else if (!job->set->quiet) {
        fl_check_print(stdout, job->path, t, &u, job->alone);
    } else if (status) {
        char text[600];
        snprintf(text, sizeof text, "%.200s: unusable: %s; %s", job->path, u.finding[0].found,
                 u.finding[0].change);
        fl_complain(text);
    }
    return status;
}

/* Exit status for one recording; -1: interrupted. */
static int check_one(const struct job *job, const struct fl_progress *progress,
                     struct fl_terminal *terminal)
{
    const struct fl_run_settings run = {job->set->threads, job->set->first_s, job->set->follow,
                                        job->set->decoder};
    struct fl_take_spec spec;
    struct fl_trace_columns columns;
    struct fl_take *t = NULL;
    struct fl_error err = {0};
    enum flinch_code code = fill_spec(&spec, job->set, job->path, &columns, &err);
    if (!code)
        code = fl_run_take(&t, &spec, &run, progress, &err);
    fl_terminal_erase(terminal);
    if (code) {
        fl_complain(err.text);
        if (job->list)
            fl_json_append(job->list, fl_check_failure_json(job->path, err.text));
        return code == FLINCH_ERR_INTERRUPTED ? -1 : 1;
    }
    int status = tell(job, t);
    fl_take_free(&t);
    return status;
}

static int run(const void *settings, char **args, int n_args)
{
    const struct settings *set = settings;
    fl_terminal_catch_signals();
    struct fl_error err = {0};
    if (fl_stream_options_check(args, n_args, set->trace, &err) ||
        fl_decoder_option_check(set->decoder, &err)) {
        fl_complain(err.text);
        return 2;
    }
    if ((set->trace || set->sound) && n_args > 1) {
        fl_complain(set->trace ? "--trace: belongs to one recording; check one at a time"
                               : "--sound: belongs to one recording; check one at a time");
        return 2;
    }
    struct job job = {.set = set, .alone = n_args == 1, .list = set->json ? json_array() : NULL};
    struct fl_terminal *t = fl_terminal_new((const char *const *)args, (size_t)n_args, set->quiet);
    struct watch watch = {fl_terminal_watch(t), 0};
    const struct fl_progress progress = {report, fl_terminal_stopped, &watch, note};
    int status = 0, one = 0;
    for (int i = 0; i < n_args && one >= 0; i++) {
        watch.index = (size_t)i;
        job.path = args[i];
        one = check_one(&job, &progress, t);
        status |= one != 0;
        watch.terminal.finished(watch.terminal.ctx, watch.index, FL_BATCH_MEASURED, NULL);
    }
    fl_terminal_free(&t);
    if (job.list)
        fl_print_json(stdout, fl_check_file_json(job.list));
    return fl_finish_output(status);
}

const struct fl_command fl_command_check = {
    "check",
    "FOOTAGE…",
    "Tells whether recordings can answer the question, and what to change: capture and output "
    "rates, tears, "
    "lost and repeated frames, compression, noise, motion, and whether a trace fits.",
    1,
    -1,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FILE,
};
