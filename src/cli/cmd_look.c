/* A session of one take, made of the options, and then what run does. */
#include <stdlib.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/decoder_option.h"
#include "cli/mark_options.h"
#include "cli/stream_options.h"
#include "cli/terminal.h"
#include "cli/trace_option.h"
#include "media/byte_source.h"
#include "show/screen/summary.h"
#include "show/store/json.h"

struct settings {
    const char *out, *trace, *columns, *sound, *id, *game, *condition, *decoder;
    double sound_offset_s, cpi, degrees_per_count, counts_per_turn, fov, base_rate, first_s;
    int threads;
    bool disabled, local, variable, follow, no_strips, link_pictures, json, quiet;
    struct fl_mark_options marks;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"out", 'o', FL_OPTION_FOLDER, AT(out), 0, 0, "FOLDER",
     "write the files of a one-take session here"},
    {"trace", 't', FL_OPTION_FILE, AT(trace), 0, 0, "FILE", "recorded input events"},
    {"columns", 0, FL_OPTION_TEXT, AT(columns), 0, 0, "LIST", FL_COLUMNS_HELP, FL_COLUMNS_MORE},
    {"sound", 0, FL_OPTION_FILE, AT(sound), 0, 0, "FILE",
     "a recording in which the trace's clicks are heard; else the footage's own sound"},
    {"sound-offset", 0, FL_OPTION_NUMBER, AT(sound_offset_s), FL_SOUND_OFFSET_RANGE, "S",
     "sound time less footage time, if measured",
     "With it the delay from hand to picture is told."},
    {"cpi", 0, FL_OPTION_NUMBER, AT(cpi), FL_COUNTS_PER_INCH_RANGE, "N", "mouse counts per inch"},
    {"degrees-per-count", 0, FL_OPTION_NUMBER, AT(degrees_per_count), FL_DEGREES_PER_COUNT_RANGE,
     "D", "camera degrees per mouse count"},
    {"counts-per-turn", 0, FL_OPTION_NUMBER, AT(counts_per_turn), FL_COUNTS_PER_TURN_RANGE, "N",
     "mouse counts per full turn, in place of the above"},
    {"fov", 0, FL_OPTION_NUMBER, AT(fov), FL_FOV_RANGE, "D", "horizontal field of view in degrees"},
    {"base-rate", 0, FL_OPTION_NUMBER, AT(base_rate), FL_BASE_RATE_RANGE, "R",
     "rendered frames per second, if known otherwise"},
    {"disabled", 0, FL_OPTION_FLAG, AT(disabled), 0, 0, NULL, "a control: synthesis was disabled"},
    {"local", 0, FL_OPTION_FLAG, AT(local), 0, 0, NULL, "recorded on the machine under test"},
    {"variable", 0, FL_OPTION_FLAG, AT(variable), 0, 0, NULL,
     "the display refreshed at a variable rate"},
    {"id", 0, FL_OPTION_TEXT, AT(id), 0, 0, "ID",
     "name of the output files; else from the footage"},
    {"game", 0, FL_OPTION_TEXT, AT(game), 0, 0, "NAME", "name of the game in the report"},
    {"condition", 0, FL_OPTION_TEXT, AT(condition), 0, 0, "NAME",
     "label of the setting in the report"},
    {"first", 0, FL_OPTION_NUMBER, AT(first_s), 0, FL_FOOTAGE_MOST_S, "S",
     "measure only the first S seconds; 0: all"},
    {"follow", 'f', FL_OPTION_FLAG, AT(follow), 0, 0, NULL, FL_FOLLOW_HELP, FL_FOLLOW_MORE},
    {"threads", 0, FL_OPTION_WHOLE, AT(threads), 0, 256, "N", "decoder threads; 0: one a core"},
    {"decoder", 0, FL_OPTION_TEXT, AT(decoder), 0, 0, "NAME", FL_DECODER_HELP, FL_DECODER_MORE},
    {"no-strips", 0, FL_OPTION_FLAG, AT(no_strips), 0, 0, NULL,
     "draw no filmstrips of lapses, which need a second look at the footage"},
    {"link-pictures", 0, FL_OPTION_FLAG, AT(link_pictures), 0, 0, NULL,
     "the report links its filmstrips in strips/, instead of holding them",
     "It is to be kept in its folder then. Above 8 MB of filmstrips it always links them."},
    {"marks", .type = FL_OPTION_GROUP, .offset = AT(marks), .rows = fl_mark_option_rows},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print the take as JSON, not the summary"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

/* File name without folder and extension, made of the characters that an id may hold. */
static char *id_from(const char *path)
{
    const char *slash = strrchr(path, '/');
    char *id = fl_strdup(slash ? slash + 1 : path);
    char *dot = strrchr(id, '.');
    if (dot && dot != id)
        *dot = 0;
    if (strlen(id) > FL_TAKE_ID_MOST)
        id[FL_TAKE_ID_MOST] = 0;
    for (char *c = id; *c; c++)
        if (!strchr(FL_TAKE_ID_LETTERS, *c))
            *c = '_';
    if (*id == '-')
        *id = '_';
    return id;
}

static enum flinch_code check(const struct settings *set, struct fl_error *err)
{
    if (set->degrees_per_count > 0 && set->counts_per_turn > 0)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--degrees-per-count and --counts-per-turn say the same thing; give one");
    if (set->id && !fl_take_id_valid(set->id))
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--id: '%s' cannot name a file; use letters, digits, '-' and '_'", set->id);
    return fl_decoder_option_check(set->decoder, err);
}

static enum flinch_code fill_spec(struct fl_take_spec *spec, const struct settings *set,
                                  const char *footage, const char *id,
                                  struct fl_trace_columns *columns, struct fl_error *err)
{
    const struct fl_take_number v[] = {{"counts_per_inch", set->cpi},
                                       {"degrees_per_count", set->degrees_per_count},
                                       {"counts_per_turn", set->counts_per_turn},
                                       {"horizontal_fov_deg", set->fov},
                                       {"base_rate_hz", set->base_rate},
                                       {"sound_offset_s", set->sound_offset_s}};
    fl_take_spec_init(spec);
    spec->id = id;
    spec->game = set->game ? set->game : "footage";
    if (set->condition)
        spec->condition = set->condition;
    spec->footage = footage;
    spec->trace = set->trace;
    spec->sound = set->sound;
    spec->synthesis_disabled = set->disabled;
    spec->capture_local = set->local;
    spec->output_variable = set->variable;
    if (fl_trace_option_read(&spec->trace_columns, columns, set->columns, err))
        return FLINCH_ERR_USAGE;
    return fl_take_spec_fill(spec, v, sizeof v / sizeof *v, err);
}

/* Warnings speak of keys, as a session file has them; here there are options. */
static const struct fl_option_name names[] = {{"counts_per_inch", "--cpi"},
                                              {"degrees_per_count", "--degrees-per-count"},
                                              {"counts_per_turn", "--counts-per-turn"},
                                              {"horizontal_fov_deg", "--fov"},
                                              {"base_rate_hz", "--base-rate"},
                                              {"sound_offset_s", "--sound-offset"},
                                              {"trace_columns", "--columns"},
                                              {"capture: local", "--local"},
                                              {"output: variable", "--variable"},
                                              {"synthesis: disabled", "--disabled"},
                                              {NULL, NULL}};

static void print(const struct settings *set, const struct fl_take *take)
{
    if (set->json)
        fl_print_json(stdout, fl_take_json(take));
    else if (!set->quiet)
        fl_print_take(stdout, take, set->out, names);
}

static int measure(const struct settings *set, const struct fl_session_file *file,
                   const struct fl_show_settings *show)
{
    /* A stream is another each time, and cannot be gone through again for pictures. */
    const bool stream = fl_byte_source_is_stream(file->takes[0].footage);
    const struct fl_batch_settings batch = {{set->threads, set->first_s, set->follow, set->decoder},
                                            1,
                                            stream,
                                            set->no_strips || stream,
                                            *show};
    struct fl_session *s = NULL;
    struct fl_error err = {0};
    struct fl_terminal *t = fl_terminal_new(&file->takes[0].id, 1, set->quiet);
    const struct fl_batch_watch watch = fl_terminal_watch(t);
    enum flinch_code code = fl_batch_run(&s, file, set->out, &batch, &watch, &err);
    fl_terminal_free(&t);
    if (code) {
        fl_complain(err.text);
        return fl_exit_status(code);
    }
    if (s->n_takes)
        print(set, s->takes[0]);
    int status = s->n_failed ? 1 : 0;
    fl_session_free(&s);
    return fl_finish_output(status);
}

static int run(const void *settings, char **args, int n_args)
{
    const struct settings *set = settings;
    struct fl_show_settings show = {.linked_pictures = set->link_pictures};
    struct fl_error err = {0};
    fl_terminal_catch_signals();
    struct fl_take_spec spec;
    struct fl_trace_columns columns;
    char *id = set->id ? fl_strdup(set->id) : id_from(args[0]);
    int status = 2;
    if (check(set, &err) || fl_stream_options_check(args, n_args, set->trace, &err) ||
        fill_spec(&spec, set, args[0], id, &columns, &err) ||
        fl_mark_options_read(&show.marks, &set->marks, &err) ||
        (set->out && fl_batch_prepare(set->out, &err))) {
        fl_complain(err.text);
    } else {
        const struct fl_session_file file = {.name = id, .takes = &spec, .n_takes = 1};
        status = measure(set, &file, &show);
    }
    free(id);
    return status;
}

const struct fl_command fl_command_look = {
    "look",
    "FOOTAGE",
    "Measures one recording without a session file, prints a summary, and writes the same files as "
    "run when a folder is given.",
    1,
    1,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FILE,
};
