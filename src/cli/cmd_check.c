#include "cli/advice.h"
#include "cli/commands.h"
#include "cli/summary.h"
#include "cli/terminal.h"
#include "cli/text.h"
#include "run.h"
#include "show/fields.h"
#include "study/spec.h"

struct settings {
    double first_s, fov;
    int threads;
    bool json, quiet;
};

#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"first", 0, FL_OPTION_NUMBER, AT(first_s), 0, 1e6, "S",
     "check only the first S seconds; 0: all"},
    {"fov", 0, FL_OPTION_NUMBER, AT(fov), 5, 175, "D", "horizontal field of view in degrees"},
    {"threads", 0, FL_OPTION_WHOLE, AT(threads), 0, 256, "N", "decoder threads; 0: one a core"},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print the findings as JSON"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL, "print errors only"},
    {NULL},
};

static void put_facts(FILE *out, const struct fl_take *t)
{
    const struct fl_exposure *e = &t->exposure;
    fprintf(out, "  picture    %dx%d, %s, %s, %s\n", t->width, t->height, t->codec ? t->codec : "?",
            t->pixel_format ? t->pixel_format : "?", t->transfer ? t->transfer : "?");
    fprintf(out, "  rate       %.3f frames/s, %s; %ld frames in %.2f s\n", t->capture_rate_hz,
            t->constant_rate ? "constant" : "varying", t->frames, t->duration_s);
    fprintf(out, "  dropped    %ld missing, %ld repeated\n", t->missing_frames, t->repeated_frames);
    fprintf(out, "  tears      %s\n  noise      ", t->torn ? "yes" : "no");
    fl_put_number(out, t->noise, 2, 0);
    fprintf(out, " levels\n  motion     %.1f s in motion; on %.1f s, off %.1f s, unseen %.1f s\n",
            fl_moving_s(t), e->on_s, e->off_s, e->unseen_s);
}

static void put_list(FILE *out, const struct fl_advice *a)
{
    for (int i = 0; i < a->n; i++) {
        fprintf(out, "  %-9s  ", fl_finding_name(a->item[i].kind));
        fl_put_wrapped(out, a->item[i].text, 13, 13);
    }
}

static json_t *as_json(const char *path, const struct fl_take *t, const struct fl_advice *a)
{
    json_t *found = json_object(), *footage = json_object(), *list = json_array();
    json_object_set_new(found, "path", fl_json_text(path));
    json_object_set_new(found, "usable", json_boolean(!fl_unusable(a)));
    fl_fields_write(footage, t, fl_footage_fields);
    json_object_set_new(found, "footage", footage);
    json_object_set_new(found, "moving_s", fl_json_time(fl_moving_s(t)));
    json_object_set_new(found, "on_s", fl_json_time(t->exposure.on_s));
    json_object_set_new(found, "off_s", fl_json_time(t->exposure.off_s));
    json_object_set_new(found, "unseen_s", fl_json_time(t->exposure.unseen_s));
    for (int i = 0; i < a->n; i++)
        json_array_append_new(list,
                              json_pack("{s:s,s:s,s:o}", "code", a->item[i].code, "kind",
                                              fl_finding_name(a->item[i].kind), "text",
                                              fl_json_text(a->item[i].text)));
    json_object_set_new(found, "findings", list);
    return found;
}

static json_t *failure_json(const char *path, const char *text)
{
    return json_pack("{s:o,s:b,s:o}", "path", fl_json_text(path), "usable", 0, "error",
                     fl_json_text(text));
}

struct watch {
    struct fl_batch_watch terminal;
    size_t index;
};

static void report(void *ctx, const char *what, double done)
{
    const struct watch *w = ctx;
    w->terminal.moved(w->terminal.ctx, w->index, what, done);
}

/* Exit status for one recording; its findings are added to list when that is not NULL. */
static int check_one(const struct settings *set, const char *path,
                     const struct fl_progress *progress, struct fl_terminal *terminal, json_t *list)
{
    const struct fl_run_settings run = {set->threads, set->first_s};
    struct fl_take_spec spec;
    struct fl_take *t = NULL;
    struct fl_advice advice;
    struct fl_error err = {0};
    fl_take_spec_init(&spec);
    spec.id = spec.game = "check";
    spec.footage = path;
    if (set->fov > 0)
        spec.horizontal_fov_deg = set->fov;
    enum flinch_code code = fl_run_take(&t, &spec, &run, progress, &err);
    fl_terminal_erase(terminal);
    if (code) {
        fl_complain(err.text);
        if (list)
            json_array_append_new(list, failure_json(path, err.text));
        return code == FLINCH_ERR_INTERRUPTED ? -1 : 1;
    }
    fl_advise(&advice, t);
    if (list) {
        json_array_append_new(list, as_json(path, t, &advice));
    } else if (!set->quiet) {
        printf("%s: %s\n", path, fl_unusable(&advice) ? "unusable" : "usable");
        put_facts(stdout, t);
        put_list(stdout, &advice);
    }
    int status = fl_unusable(&advice) ? 1 : 0;
    if (status && set->quiet)
        fprintf(stderr, "flinch: %s: unusable: %s\n", path, advice.item[0].text);
    fl_take_free(&t);
    return status;
}

static int run(const void *settings, char **args, int n_args)
{
    const struct settings *set = settings;
    json_t *list = set->json ? json_array() : NULL;
    struct fl_terminal *t = fl_terminal_new((const char *const *)args, (size_t)n_args, set->quiet);
    struct watch watch = {fl_terminal_watch(t), 0};
    const struct fl_progress progress = {report, fl_terminal_stopped, &watch};
    int status = 0, one = 0;
    fl_terminal_catch_signals();
    for (int i = 0; i < n_args && one >= 0; i++) {
        watch.index = (size_t)i;
        one = check_one(set, args[i], &progress, t, list);
        status |= one != 0;
        watch.terminal.finished(watch.terminal.ctx, watch.index, FL_BATCH_MEASURED, NULL);
    }
    fl_terminal_free(&t);
    if (list)
        fl_print_json(stdout, list);
    return fl_finish_output(status);
}

const struct fl_command fl_command_check = {
    "check",
    "FOOTAGE…",
    "Tells whether recordings are usable: rates, dropped and repeated frames, tears, noise, "
    "motion, "
    "and what to change.",
    1,
    -1,
    options,
    sizeof(struct settings),
    run,
};
