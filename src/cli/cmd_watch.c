/* `flinch watch`: a desk (desk.h) shown until its stream ends, then the take measured whole from
 * what was kept. */
#include <langinfo.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"
#include "batch.h"
#include "cli/commands.h"
#include "cli/nearest.h"
#include "cli/open_folder.h"
#include "cli/stream_options.h"
#include "cli/terminal.h"
#include "cli/trace_option.h"
#include "desk.h"
#include "show/screen/summary.h"
#include "show/store/json.h"

struct settings {
    const char *trace, *columns, *keep, *session, *setting;
    double width, cpi, degrees_per_count, fov;
    int threads;
    bool follow, every, local, variable, json, quiet;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"trace", 't', FL_OPTION_FILE, AT(trace), 0, 0, "FILE",
     "input events as they come: a CSV file that grows, or a pipe"},
    {"columns", 0, FL_OPTION_TEXT, AT(columns), 0, 0, "LIST", FL_COLUMNS_HELP, FL_COLUMNS_MORE},
    {"keep", 'k', FL_OPTION_FILE, AT(keep), 0, 0, "FILE",
     "copy the stream here as it comes, and measure it whole at the end",
     "The file must not be there yet. A trace that comes through a pipe is kept beside it, as "
     "FILE.csv. When the disk is full the copy ends, and the watching goes on."},
    {"follow", 'f', FL_OPTION_FLAG, AT(follow), 0, 0, NULL,
     "the footage is still being written: wait for more until Ctrl-C"},
    {"width", 'w', FL_OPTION_NUMBER, AT(width), 1, 100, "PERCENT",
     "a setting is finished when its V50 is known within this; else 10"},
    {"session", 0, FL_OPTION_FOLDER, AT(session), 0, 0, "FOLDER",
     "the take belongs to this session, measured by run: go by its earlier takes as well"},
    {"setting", 0, FL_OPTION_TEXT, AT(setting), 0, 0, "ID",
     "a measured take of the setting that is recorded now",
     "With *--session*. V50 and what is finished are those of the setting then, over all its takes "
     "and this one; with each flick it is said which setting the next minute tells most of. Field "
     "of "
     "view, counts per inch and degrees per count are that take's where they are not given."},
    {"fov", 0, FL_OPTION_NUMBER, AT(fov), FL_FOV_RANGE, "D", "horizontal field of view in degrees"},
    {"cpi", 0, FL_OPTION_NUMBER, AT(cpi), FL_COUNTS_PER_INCH_RANGE, "N", "mouse counts per inch"},
    {"degrees-per-count", 0, FL_OPTION_NUMBER, AT(degrees_per_count), FL_DEGREES_PER_COUNT_RANGE,
     "D", "camera degrees per mouse count"},
    {"local", 0, FL_OPTION_FLAG, AT(local), 0, 0, NULL, "recorded on the machine under test"},
    {"variable", 0, FL_OPTION_FLAG, AT(variable), 0, 0, NULL,
     "the display refreshed at a variable rate"},
    {"every", 0, FL_OPTION_FLAG, AT(every), 0, 0, NULL,
     "measure every picture, however late; else what cannot be kept up with is skipped",
     "For recordings that come faster than they were made."},
    {"threads", 0, FL_OPTION_WHOLE, AT(threads), 0, 256, "N", "decoder threads; 0: one a core"},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print events as JSON, an object a line"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

/* Ctrl-C ends the watching, not the program: what was kept is still to be measured. */
static atomic_bool ended;

static void on_signal(int number)
{
    (void)number;
    atomic_store(&ended, true);
}

static bool stopped(void *unused)
{
    (void)unused;
    return atomic_load(&ended);
}

static void catch_signals(void)
{
    struct sigaction action = {.sa_handler = on_signal, .sa_flags = (int)SA_RESETHAND};
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    signal(SIGPIPE, SIG_IGN);
}

static enum flinch_code fill_spec(struct fl_take_spec *spec, const struct settings *set,
                                  const char *footage, struct fl_trace_columns *columns,
                                  struct fl_error *err)
{
    const struct fl_take_number v[] = {{"counts_per_inch", set->cpi},
                                       {"degrees_per_count", set->degrees_per_count},
                                       {"horizontal_fov_deg", set->fov}};
    fl_take_spec_init(spec);
    spec->id = "watch";
    spec->game = "footage";
    spec->footage = footage;
    spec->trace = set->trace;
    spec->capture_local = set->local;
    spec->output_variable = set->variable;
    if (fl_trace_option_read(&spec->trace_columns, columns, set->columns, err))
        return FLINCH_ERR_USAGE;
    return fl_take_spec_fill(spec, v, sizeof v / sizeof *v, err);
}

/* ---- the session that it belongs to ---- */

struct context {
    struct fl_session *session; /* NULL: none */
    struct fl_standing standing;
};

static const struct fl_take *take_named(const struct fl_session *s, const struct settings *set,
                                        struct fl_error *err)
{
    struct fl_nearest near = {.word = set->setting};
    for (size_t i = 0; i < s->n_takes; i++) {
        if (!strcmp(s->takes[i]->spec.id, set->setting))
            return s->takes[i];
        fl_nearest_try(&near, s->takes[i]->spec.id);
    }
    fl_fail(err, FLINCH_ERR_USAGE, "%.200s: no measured take '%.80s'; %s%.80s%s", set->session,
            set->setting, near.best ? "did you mean '" : "name one of the setting that you record",
            near.best ? near.best : "", near.best ? "'?" : "");
    return NULL;
}

static bool differs(double given, double takes)
{
    return fl_known(given) && fl_known(takes) && !fl_same_number(given, takes);
}

/* What holds for the setting's takes holds for this one. */
static enum flinch_code take_over(struct fl_take_spec *spec, const struct fl_take_spec *of,
                                  struct fl_error *err)
{
    const bool counts = differs(spec->counts_per_inch, of->counts_per_inch);
    if (counts || differs(spec->degrees_per_count, of->degrees_per_count))
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "%s: take '%.80s' was recorded at %.6g; leave it out, or name a take of the "
                       "setting that you record",
                       counts ? "--cpi" : "--degrees-per-count", of->id,
                       counts ? of->counts_per_inch : of->degrees_per_count);
    if (!fl_known(spec->counts_per_inch))
        spec->counts_per_inch = of->counts_per_inch;
    if (!fl_known(spec->degrees_per_count))
        spec->degrees_per_count = of->degrees_per_count;
    if (!fl_known(spec->horizontal_fov_deg))
        spec->horizontal_fov_deg = of->horizontal_fov_deg;
    spec->capture_local |= of->capture_local;
    spec->output_variable |= of->output_variable;
    return FLINCH_OK;
}

static enum flinch_code open_session(struct context *c, const struct settings *set, double wanted,
                                     struct fl_take_spec *spec, struct fl_error *err)
{
    int bad = 0;
    *c = (struct context){0};
    if (!set->session != !set->setting)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "watch: --session FOLDER and --setting ID go together; give both");
    if (!set->session)
        return FLINCH_OK;
    enum flinch_code code = fl_open_folder(&c->session, set->session, &bad, err);
    if (code)
        return code;
    const struct fl_take *t = take_named(c->session, set, err);
    if (!t || take_over(spec, &t->spec, err))
        return FLINCH_ERR_USAGE;
    fl_plan_study(c->session);
    return fl_standing_init(&c->standing, c->session, set->setting, wanted, err);
}

static void close_session(struct context *c)
{
    if (!c->session)
        return;
    fl_standing_finish(&c->standing);
    fl_session_free(&c->session);
}

/* ---- while it comes ---- */

static void draw(const struct fl_watch_view *v, bool utf8)
{
    fl_watch_draw(stdout, v, utf8);
}

static void show(struct fl_desk *d, bool screen)
{
    struct fl_watch_view v;
    const bool utf8 = !strcmp(nl_langinfo(CODESET), "UTF-8");
    if (screen)
        fputs("\033[?1049h\033[?25l\033[2J", stdout); /* another screen, no cursor */
    while (fl_desk_view(d, &v)) {
        if (screen)
            draw(&v, utf8);
        nanosleep(&(struct timespec){0, 200000000L}, NULL);
    }
    if (screen) {
        fputs("\033[?25h\033[?1049l", stdout);
        draw(&v, utf8); /* what it said last stays */
        fputs("\n", stdout);
    }
}

/* ---- what was kept ---- */

static int measure_whole(const struct settings *set, struct fl_take_spec *spec,
                         const char *kept_trace)
{
    static const struct fl_option_name names[] = {{"horizontal_fov_deg", "--fov"},
                                                  {"degrees_per_count", "--degrees-per-count"},
                                                  {"counts_per_inch", "--cpi"},
                                                  {NULL, NULL}};
    const struct fl_session_file file = {.name = spec->id, .takes = spec, .n_takes = 1};
    const struct fl_batch_settings batch = {.run = {.threads = set->threads}, .jobs = 1};
    struct fl_session *s = NULL;
    struct fl_error err = {0};
    fl_terminal_catch_signals();
    spec->footage = set->keep;
    spec->trace = kept_trace ? kept_trace : set->trace;
    struct fl_terminal *t = fl_terminal_new(&spec->id, 1, set->quiet || set->json);
    const struct fl_batch_watch progress = fl_terminal_watch(t);
    const enum flinch_code code = fl_batch_run(&s, &file, NULL, &batch, &progress, &err);
    fl_terminal_free(&t);
    if (code) {
        fl_complain(err.text);
        return fl_exit_status(code);
    }
    if (s->n_takes && set->json) {
        fl_print_json(stdout, fl_take_json(s->takes[0]));
    } else if (s->n_takes && !set->quiet) {
        puts("");
        fl_print_take(stdout, s->takes[0], NULL, names);
    }
    const int status = s->n_failed ? 1 : 0;
    fl_session_free(&s);
    return status;
}

static double wanted(const struct settings *set)
{
    return (set->width > 0 ? set->width : 10) / 100;
}

static int watch(const struct settings *set, struct fl_take_spec *spec, struct context *context)
{
    const bool screen = !set->json && !set->quiet && isatty(STDOUT_FILENO),
               piped_trace = set->trace && fl_byte_source_is_stream(set->trace);
    char *kept_trace = set->keep && piped_trace ? fl_format("%s.csv", set->keep) : NULL;
    const struct fl_desk_settings how = {.spec = spec,
                                         .follow = set->follow,
                                         .every = set->every,
                                         .keep = set->keep,
                                         .keep_trace = kept_trace,
                                         .wanted = wanted(set),
                                         .threads = set->threads,
                                         .standing = context->session ? &context->standing : NULL,
                                         .lines = screen || set->quiet ? NULL : stdout,
                                         .json = set->json};
    struct fl_desk *d;
    struct fl_error err = {0};
    bool kept = false;
    enum flinch_code code = fl_desk_open(&d, &how, stopped, NULL, &err);
    if (code) {
        fl_complain(err.text);
        free(kept_trace);
        return fl_exit_status(code);
    }
    show(d, screen);
    fl_desk_finish(d, &kept);
    fl_desk_free(&d);
    const int status = kept ? measure_whole(set, spec, kept_trace) : 0;
    free(kept_trace);
    return status;
}

static int run(const void *settings, char **args, int n_args)
{
    const struct settings *set = settings;
    char *standard[] = {"-"};
    struct fl_take_spec spec;
    struct fl_trace_columns columns;
    struct context context = {0};
    struct fl_error err = {0};
    char *const *footage = n_args ? args : standard;
    catch_signals();
    int status = 2;
    if (fl_stream_options_check(footage, 1, set->trace, &err) ||
        fill_spec(&spec, set, footage[0], &columns, &err) ||
        open_session(&context, set, wanted(set), &spec, &err))
        fl_complain(err.text);
    else
        status = fl_finish_output(watch(set, &spec, &context));
    close_session(&context);
    return status;
}

const struct fl_command fl_command_watch = {
    "watch",
    "[FOOTAGE]",
    "Stands beside a capture and says what it sees while it happens: the state, each flick and "
    "whether it tripped, V50 so far, and the speed to try next. Reads standard input, a pipe, or a "
    "file that is still being written.",
    0,
    1,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FILE,
};
