/* `flinch log`: options to the recorder's settings, its lines to the terminal. The same source
 * makes the command of the program for Windows, which has no JSON writer: it is to be small. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "cli/commands.h"
#include "cli/terminal.h"
#include "record/record.h"
#ifndef _WIN32
#include "show/screen/log_screen.h"
#include "show/screen/summary.h"
#endif

struct settings {
    const char *out, *devices, *stick;
    double until_s;
    int slate;
    bool json, quiet;
};

static const char *const sticks[] = {"right", "left", NULL};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"out", 'o', FL_OPTION_FILE, AT(out), 0, 0, "FILE",
     "the CSV file to write, which must not be there; required",
     "Plain text, a row a report. Rows are on the disk within half a second, so a power cut loses "
     "less than one."},
    {"devices", 'd', FL_OPTION_TEXT, AT(devices), 0, 0, "LIST",
     "record only these: paths or parts of names, parted by commas; else all mice and pads",
     "Devices that are plugged in later are recorded too."},
    {"until", 0, FL_OPTION_NUMBER, AT(until_s), 0.1, 1e6, "S",
     "stop after S seconds; else on Ctrl-C"},
    {"slate", 0, FL_OPTION_WHOLE, AT(slate), 2, 20, "N",
     "ask for a slate of N clicks and a shake, and say when it was seen",
     "A recording that begins with one lines up by itself."},
    {"stick", 0, FL_OPTION_CHOICE, AT(stick), 0, 0, "SIDE",
     "stick of a pad that turns the camera: right (default) or left", NULL, sticks},
#ifndef _WIN32
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print the counts as JSON at the end"},
#endif
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

static void tell(void *ctx, const struct fl_record_counts *counts, const char *text)
{
    const struct settings *set = ctx;
    char line[FL_RECORD_LINE];
    if (set->quiet)
        return;
    if (text) {
        fl_terminal_redraw("");
        fl_complain(text);
    } else {
        fl_record_line(line, sizeof line, counts);
        fl_terminal_redraw(line);
    }
}

/* Parts the list in place; *n parts. */
static const char **part_list(char *list, size_t *n)
{
    const char **part = FL_NEW(const char *, list ? strlen(list) / 2 + 1 : 1);
    *n = 0;
    for (char *at = list, *next; at; at = next) {
        next = strchr(at, ',');
        if (next)
            *next++ = 0;
        if (*at)
            part[(*n)++] = at;
    }
    return part;
}

static enum flinch_code record(const struct settings *set, struct fl_record_counts *counts,
                               struct fl_error *err)
{
    struct settings own = *set;
    char *list = fl_strdup(set->devices);
    size_t n;
    const char **wanted = part_list(list, &n);
    const struct fl_record_settings how = {
        .out = set->out,
        .choice = {wanted, n, .left_stick = fl_option_choice(sticks, set->stick) > 0},
        .until_s = set->until_s,
        .slate_clicks = set->slate,
        .tell = tell,
        .stop = fl_terminal_stopped,
        .ctx = &own};
    const enum flinch_code code = fl_record(&how, counts, err);
    if (!set->quiet)
        fl_terminal_redraw("");
    free(wanted);
    free(list);
    return code;
}

static void print_counts(const struct settings *set, const struct fl_record_counts *counts)
{
    char line[FL_RECORD_LINE];
    fl_record_line(line, sizeof line, counts);
#ifndef _WIN32
    if (set->json)
        fl_print_json(stdout, fl_log_json(set->out, counts));
#endif
    if (!set->json && !set->quiet)
        printf("%s: %s\n", set->out, line);
}

static int run(const void *settings, char **args, int n_args)
{
    const struct settings *set = settings;
    struct fl_record_counts counts;
    struct fl_error err = {0};
    (void)args, (void)n_args;
    if (!set->out) {
        fl_complain("log: missing argument; give the file to write, as in -o take.csv");
        return 2;
    }
    fl_terminal_catch_signals();
    const enum flinch_code code = record(set, &counts, &err);
    if (code) {
        fl_complain(err.text);
        return fl_exit_status(code);
    }
    print_counts(set, &counts);
    return fl_finish_output(0);
}

const struct fl_command fl_command_log = {
    "log",
    "-o FILE",
    "Records the hand on the machine under test: motion, wheel, buttons and sticks of mice and "
    "pads, never what is typed, into a CSV trace. Where software guards a game against cheating, "
    "record offline or not beside it: it may take any program that reads input for a cheat.",
    0,
    0,
    options,
    sizeof(struct settings),
    run,
};
