/* Two questions to a measured folder, or to none: what to record next, and what the fitted rules
 * would do to a trace of one's own. */
#include "cli/commands.h"
#include "cli/open_folder.h"
#include "cli/terminal.h"
#include "cli/trace_option.h"
#include "show/screen/plan_screen.h"
#include "show/screen/summary.h"
#include "show/screen/what_if_screen.h"
#include "study/compare/session_study.h"
#include "study/input/take_spec.h"
#include "trace/read_trace.h"
#include "trace/trace.h"

struct settings {
    const char *what_if, *columns;
    double cpi, degrees_per_count, at_cpi, at_degrees, width;
    int settings;
    bool json, quiet;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"width", 0, FL_OPTION_NUMBER, AT(width), 1, 100, "PERCENT",
     "wanted half of each V50 interval; 20 if not given",
     "It is a ratio: 20 asks for V50 within ±20 %, at 95 % confidence."},
    {"settings", 0, FL_OPTION_WHOLE, AT(settings), 1, 8, "N",
     "before a first session: how many settings to compare; 2 if not given"},
    {"what-if", 0, FL_OPTION_FILE, AT(what_if), 0, 0, "TRACE",
     "predict what the fitted rules would do to the motion in an input trace of your own"},
    {"columns", 0, FL_OPTION_TEXT, AT(columns), 0, 0, "LIST", FL_COLUMNS_HELP, FL_COLUMNS_MORE},
    {"cpi", 0, FL_OPTION_NUMBER, AT(cpi), FL_COUNTS_PER_INCH_RANGE, "N",
     "counts per inch that trace was recorded at"},
    {"degrees-per-count", 0, FL_OPTION_NUMBER, AT(degrees_per_count), FL_DEGREES_PER_COUNT_RANGE,
     "D", "camera degrees per mouse count that it was recorded at"},
    {"at-cpi", 0, FL_OPTION_NUMBER, AT(at_cpi), FL_COUNTS_PER_INCH_RANGE, "N",
     "predict at this resolution only",
     "Without it and --at-degrees-per-count: 400 to 3200 counts per inch and those of the game's "
     "takes, with the turn per centimetre kept; and half and double the sensitivity, with the "
     "hand's motion and with the camera's turns kept."},
    {"at-degrees-per-count", 0, FL_OPTION_NUMBER, AT(at_degrees), FL_DEGREES_PER_COUNT_RANGE, "D",
     "predict at this sensitivity only"},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print JSON"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

static double given(double x)
{
    return x > 0 ? x : FL_UNKNOWN;
}

/* Whether any game of the session has a rule to predict by. */
static bool any_rule(const struct fl_session *s)
{
    for (const struct fl_rule *const *r = fl_what_if_rules(s); *r; r++)
        if (!(*r)->refused)
            return true;
    return false;
}

static void answer(const struct settings *set, const struct fl_session *s,
                   const struct fl_trace *trace)
{
    struct fl_motion *motion = fl_motion_new(trace, 0.02);
    const struct fl_what_if_question q = {
        set->what_if,
        {motion, trace->start_s, trace->end_s, {given(set->cpi), given(set->degrees_per_count)}},
        {given(set->at_cpi), given(set->at_degrees)}};
    if (set->json)
        fl_print_json(stdout, fl_what_if_json(s, &q));
    else if (!set->quiet)
        fl_print_what_if(stdout, s, &q);
    fl_motion_free(&motion);
}

static enum flinch_code read_moves(struct fl_trace *trace, const struct settings *set,
                                   struct fl_error *err)
{
    const char *path = set->what_if;
    const struct fl_trace_columns *columns;
    struct fl_trace_columns kept;
    enum flinch_code code = fl_trace_option_read(&columns, &kept, set->columns, err);
    if (!code)
        code = fl_trace_read_as(trace, path, columns, err);
    if (!code && !trace->has_motion) {
        fl_trace_finish(trace);
        code = fl_fail(err, FLINCH_ERR_FORMAT,
                       "%s: no mouse motion in it; give a trace with dx and dy", path);
    }
    return code;
}

static int what_if(const struct settings *set, const char *folder)
{
    struct fl_session *s = NULL;
    struct fl_trace trace;
    struct fl_error err = {0};
    int bad = 0;
    if (read_moves(&trace, set, &err)) {
        fl_complain(err.text);
        return 2;
    }
    if (fl_open_folder(&s, folder, &bad, &err)) {
        fl_complain(err.text);
        fl_trace_finish(&trace);
        return 2;
    }
    fl_session_study(s);
    answer(set, s, &trace);
    int status = bad || !any_rule(s);
    fl_trace_finish(&trace);
    fl_session_free(&s);
    return fl_finish_output(status);
}

/* ---- what to record next ---- */

static int plan_from(const struct settings *set, const struct fl_session *s)
{
    struct fl_plan plan;
    struct fl_schedule desk;
    struct fl_arena *arena = fl_arena_new();
    fl_plan_make(&plan, s, (set->width > 0 ? set->width : 20) / 100,
                 set->settings > 0 ? set->settings : 2, arena);
    fl_schedule_make(&desk, &plan, arena);
    const char *name = s ? s->name : NULL;
    bool nothing = !plan.n;
    if (!nothing && set->json)
        fl_print_json(stdout, fl_plan_json(name, &plan, &desk));
    else if (!nothing && !set->quiet)
        fl_print_plan(stdout, name, &plan, &desk);
    fl_arena_free(&arena);
    return nothing;
}

static int plan_next(const struct settings *set, const char *folder)
{
    struct fl_session *s = NULL;
    struct fl_error err = {0};
    int bad = 0;
    if (fl_open_folder(&s, folder, &bad, &err)) {
        fl_complain(err.text);
        return 2;
    }
    fl_plan_study(s);
    int nothing = plan_from(set, s);
    if (nothing) {
        fl_fail(&err, FLINCH_ERR_FORMAT,
                "%s: no flick of known speed and outcome in any take; "
                "flinch plan without a folder plans a first session",
                folder);
        fl_complain(err.text);
    }
    fl_session_free(&s);
    return fl_finish_output(bad || nothing);
}

static int run(const void *settings, char **args, int n_args)
{
    const struct settings *set = settings;
    struct fl_error err = {0};
    if (set->what_if && n_args)
        return what_if(set, args[0]);
    bool lonely = set->cpi > 0 || set->degrees_per_count > 0 || set->at_cpi > 0 ||
                  set->at_degrees > 0 || set->columns;
    if (set->what_if || lonely || (n_args && set->settings > 0)) {
        fl_fail(&err, FLINCH_ERR_USAGE, "plan: %s",
                set->what_if ? "--what-if needs the folder of a session; give one"
                : lonely     ? "mouse settings go with --what-if TRACE; give one"
                             : "--settings is for a first session; leave it out or give no folder");
        fl_complain(err.text);
        return 2;
    }
    return n_args ? plan_next(set, args[0]) : fl_finish_output(plan_from(set, NULL));
}

const struct fl_command fl_command_plan = {
    "plan",
    "[FOLDER]",
    "Says what to record next: how many more flicks, at which speeds, bring each V50 to a wanted "
    "width, "
    "as a list to follow at the desk. From a folder that run has written, or, without one, for a "
    "first "
    "session. With --what-if: predicts what the fitted cut-off rules would do to the motion in a "
    "trace "
    "of your own, at its own and at other mouse settings.",
    0,
    1,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FOLDER,
};
