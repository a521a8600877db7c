/* Reads a folder back, studies it anew and writes what run would: no footage is needed. */
#include "batch.h"
#include "cli/against.h"
#include "cli/chart_options.h"
#include "cli/commands.h"
#include "cli/mark_options.h"
#include "cli/open_folder.h"
#include "cli/terminal.h"
#include "show/screen/summary.h"
#include "show/store/json.h"
#include "study/compare/session_study.h"

struct settings {
    const char *against;
    bool link_pictures, json, quiet;
    struct fl_mark_options marks;
    struct fl_chart_options charts;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"against", 0, FL_OPTION_FOLDER, AT(against), 0, 0, "FOLDER",
     "compare with this earlier folder: what changed; prints, and writes nothing",
     "Exit status is 1 when nothing could be compared, 2 when the two are one folder or one is of "
     "another format version."},
    {"link-pictures", 0, FL_OPTION_FLAG, AT(link_pictures), 0, 0, NULL,
     "the report links its filmstrips in strips/, instead of holding them",
     "It is to be kept in its folder then. Above 8 MB of filmstrips it always links them."},
    {"marks", .type = FL_OPTION_GROUP, .offset = AT(marks), .rows = fl_mark_option_rows},
    {"charts", .type = FL_OPTION_GROUP, .offset = AT(charts), .rows = fl_chart_option_rows},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print the session as JSON, not the summary"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

static enum flinch_code write_all(const char *folder, struct fl_session *s,
                                  const struct fl_show_settings *show, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    fl_session_study(s);
    for (size_t i = 0; i < s->n_takes && !code; i++)
        code = fl_batch_write_take(folder, s->takes[i], show, err);
    return code ? code : fl_batch_write_session(folder, s, show, err);
}

/* Comparing writes nothing, so what says how to write is a mistake. */
static bool says_how_to_write(const struct settings *set)
{
    const struct fl_mark_options *m = &set->marks;
    const struct fl_chart_options *c = &set->charts;
    return set->link_pictures || m->flicks || m->rate || m->start || m->drop || c->kinds ||
           c->formats || c->themes || c->sizes || c->text_px || c->title;
}

static int compare(const struct settings *set, const char *folder)
{
    if (!says_how_to_write(set))
        return fl_show_against(folder, set->against, set->json, set->quiet);
    fl_complain("show: --against writes nothing; leave out --link-pictures and the options of "
                "marks and charts");
    return 2;
}

static int run(const void *settings, char **args, int n_args)
{
    (void)n_args;
    const struct settings *set = settings;
    struct fl_show_settings show = {.linked_pictures = set->link_pictures};
    struct fl_session *s = NULL;
    struct fl_error err = {0};
    int bad = 0;
    if (set->against)
        return compare(set, args[0]);
    if (fl_mark_options_read(&show.marks, &set->marks, &err) ||
        fl_chart_options_read(&show.charts, &set->charts, &err) ||
        fl_open_folder(&s, args[0], &bad, &err)) {
        fl_complain(err.text);
        return 2;
    }
    int status = bad ? 1 : 0;
    if (write_all(args[0], s, &show, &err)) {
        fl_complain(err.text);
        status = 1;
    } else if (set->json) {
        fl_print_json(stdout, fl_session_json(s));
    } else if (!set->quiet) {
        fl_print_session(stdout, s, 0, args[0]);
    }
    fl_session_free(&s);
    return fl_finish_output(status);
}

const struct fl_command fl_command_show = {
    "show",
    "FOLDER",
    "Rebuilds curves, charts, marks and report from the measurements in a folder that run has "
    "written. With --against: "
    "compares it with an earlier folder instead, and writes nothing.",
    1,
    1,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FOLDER,
};
