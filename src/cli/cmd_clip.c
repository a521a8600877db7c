/* From options to a plan of clips (show/clip), then one after another; a file that stands in the
 * way is found before the first is written. */
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "cli/commands.h"
#include "cli/option_echo.h"
#include "cli/terminal.h"
#include "show/clip/clip_plan.h"
#include "show/screen/clip_screen.h"
#include "show/screen/summary.h"
#include "show/store/json_value.h"
#include "study/input/take_spec.h"
#include "trace/parse_number.h"

struct settings {
    double to_s;
    const char *from, *lapses, *lead, *tail, *beside, *align, *from_beside, *footage,
        *footage_beside, *session, *place, *notice, *rate, *pixels;
    const char *out, *codec, *crf, *preset, *options;
    int slow, lapse_beside, height, kbit_s, threads;
    const char *bits;
    bool mute, again, json, quiet;
};

static const char *const aligns[] = {"start", "trip", NULL};
/* In the order of enum fl_clip_place. */
static const char *const places[] = {"inset", "over", "extend", NULL};

static const char *const depths[] = {"auto", "8", NULL};

/* Numbers that may be 0 and have another default are read as text. */
#define AT(member) offsetof(struct settings, member)
static const struct fl_option options[] = {
    {"lapses", 'l', FL_OPTION_TEXT, AT(lapses), 0, 0, "WHICH",
     "a clip of each of these lapses: all (the default), 3, or 1,4-6",
     "Lapses are numbered as in the report."},
    {"lead", 0, FL_OPTION_TEXT, AT(lead), 0, 0, "S",
     "seconds before a lapse; 1 if not given (0 to 600)"},
    {"tail", 0, FL_OPTION_TEXT, AT(tail), 0, 0, "S",
     "seconds after a lapse; 1 if not given (0 to 600)"},
    {"from", 0, FL_OPTION_TEXT, AT(from), 0, 0, "S",
     "in place of lapses, one clip from here, footage time (0 to 1000000)"},
    {"to", 0, FL_OPTION_NUMBER, AT(to_s), 0.001, FL_FOOTAGE_MOST_S, "S",
     "up to here; else to the end of the take"},
    {"slow", 0, FL_OPTION_WHOLE, AT(slow), 1, 100, "N",
     "show each captured frame N times; leaves the sound out", "The picture says so."},
    {"rate", 0, FL_OPTION_TEXT, AT(rate), 0, 0, "R",
     "frames a second of the clip, as 60, 29.97 or 30000/1001; else the footage's own",
     "Each frame shows what was on screen as it began: at half the rate every second picture goes, "
     "and the timeline tells of all. It lies between 1 and 1000."},
    {"beside", 0, FL_OPTION_TEXT, AT(beside), 0, 0, "ID",
     "a second take of the folder, on the right",
     "It is drawn at the rate of the first, its setting and lapse named as the first's are."},
    {"align", 0, FL_OPTION_CHOICE, AT(align), 0, 0, "HOW",
     "line both up on trip (default with lapses) or start (the same footage time, or "
     "--from-beside)",
     NULL, aligns},
    {"from-beside", 0, FL_OPTION_TEXT, AT(from_beside), 0, 0, "S",
     "footage time at which the second take begins"},
    {"lapse-beside", 0, FL_OPTION_WHOLE, AT(lapse_beside), 1, 100000, "N",
     "its lapse; else that of the same number"},
    {"footage", 0, FL_OPTION_FILE, AT(footage), 0, 0, "FILE",
     "the recording that was measured; else it is looked for in FOLDER, beside FOLDER and here",
     "Result folders hold file names only. Footage of another size, coding or length than the "
     "take's, or that moves otherwise, is refused."},
    {"footage-beside", 0, FL_OPTION_FILE, AT(footage_beside), 0, 0, "FILE",
     "that of the second take"},
    {"session", 0, FL_OPTION_FILE, AT(session), 0, 0, "FILE",
     "session file that says where the footage lies"},
    {"place", 0, FL_OPTION_CHOICE, AT(place), 0, 0, "HOW",
     "inset: the picture is made smaller, nothing of it hidden (default); over: the timeline lies "
     "over it; extend: the frame gets taller",
     "With inset the frame keeps the footage's size, with extend it is a third taller.", places},
    {"pixels", 0, FL_OPTION_TEXT, AT(pixels), 0, 0, "PLACE",
     "a window of the footage's own pixels, 1 to 1, about this place: 35,60 is 35 % of the "
     "picture's "
     "width and 60 % of its height",
     "Tears, and rows that stand still, can be seen in it; a frame in the picture says where it "
     "looks. It hides the picture's lower right corner, or the left one if the first number is "
     "over "
     "50."},
    {"height", 0, FL_OPTION_WHOLE, AT(height), 180, 4320, "PX",
     "rows of the frame; else those of the footage", "They are counted before --place extend."},
    {"notice", 0, FL_OPTION_TEXT, AT(notice), 0, 0, "S",
     "show the caution for so long; 3 if not given (0 to 600)",
     "It warns of fast motion and flicker, where the take's name stands later; 0 for none. It is "
     "in "
     "the file's metadata in any case."},
    {"mute", 0, FL_OPTION_FLAG, AT(mute), 0, 0, NULL, "leave the sound out",
     "Else it is encoded again, as AAC, or what the container asks for."},
    {"codec", 0, FL_OPTION_TEXT, AT(codec), 0, 0, "NAME",
     "video encoder, as FFmpeg names it; libx264 if not given",
     "Pictures are 4:2:0 with the footage's colour tags."},
    {"bits", 0, FL_OPTION_CHOICE, AT(bits), 0, 0, "N",
     "bits a sample: auto (the default), 10 where the footage has more than 8 and the encoder "
     "takes "
     "them; or 8",
     "Not every player shows H.264 with 10.", depths},
    {"crf", 0, FL_OPTION_TEXT, AT(crf), 0, 0, "Q",
     "its quality; 18 for libx264 if not given (0 to 100)"},
    {"preset", 0, FL_OPTION_TEXT, AT(preset), 0, 0, "NAME", "its preset"},
    {"bitrate", 0, FL_OPTION_WHOLE, AT(kbit_s), 1, 10000000, "N", "kbit/s, in place of a quality"},
    {"encoder-options", 0, FL_OPTION_TEXT, AT(options), 0, 0, "LIST",
     "more of its settings: key=value:key=value"},
    {"out", 'o', FL_OPTION_FILE, AT(out), 0, 0, "FILE",
     "write one clip here, its ending naming the container; else FOLDER/clips/*.mp4",
     "Names there are ID-lapse-NN.mp4, or have the span in them; a second take, --slow and --rate "
     "follow."},
    {"again", 0, FL_OPTION_FLAG, AT(again), 0, 0, NULL, "write over clips that are there"},
    {"threads", 0, FL_OPTION_WHOLE, AT(threads), 0, 256, "N", "decoder threads; 0: two"},
    {"json", 0, FL_OPTION_FLAG, AT(json), 0, 0, NULL, "print what was written as JSON"},
    {"quiet", 'q', FL_OPTION_FLAG, AT(quiet), 0, 0, NULL,
     "print errors and the caution about flashes only"},
    {NULL},
};

/* One line on stderr where the clip exceeds the rule for flashes; nothing else. */
static void complain_of_flashes(const char *path, const struct fl_clip_report *r)
{
    for (size_t i = 0; i < r->flash.n; i++) {
        const struct fl_flash_span *s = &r->flash.span[i];
        char *text =
            fl_format("%s: %sflashes from %.2f to %.2f s of the clip, up to %d in a second; the "
                      "usual limit is 3 (WCAG 2.3.1, "
                      "ITU-R BT.1702); shorten or slow it down, or warn viewers",
                      path, s->red ? "red " : "", s->start_s, s->end_s, s->most);
        fl_complain(text);
        free(text);
    }
}

/* text NULL: *out stays. */
static enum flinch_code number(double *out, const char *option, const char *text, double high,
                               struct fl_error *err)
{
    double v;
    if (!text)
        return FLINCH_OK;
    if (!fl_parse_number(text, strlen(text), &v) || v < 0 || v > high)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--%s: '%.40s' is no number from 0 to %.10g; correct it", option, text,
                       high);
    *out = v;
    return FLINCH_OK;
}

static enum flinch_code read_wish(struct fl_clip_wish *w, const struct settings *set, char **args,
                                  struct fl_error *err)
{
    *w = (struct fl_clip_wish){.folder = args[0],
                               .id = args[1],
                               .beside = set->beside,
                               .to_s = set->to_s,
                               .span = set->from || set->to_s > 0,
                               .lapses = set->lapses,
                               .lead_s = 1,
                               .tail_s = 1,
                               .align = set->align,
                               .from_beside_s = FL_UNKNOWN,
                               .lapse_beside = set->lapse_beside,
                               .footage = set->footage,
                               .footage_beside = set->footage_beside,
                               .session = set->session,
                               .out = set->out,
                               .slow = set->slow};
    if (set->rate && fl_rate_parse(&w->rate, set->rate, err))
        return fl_fail_in(err, "--rate");
    enum flinch_code code = number(&w->from_s, "from", set->from, FL_FOOTAGE_MOST_S, err);
    if (!code)
        code = number(&w->lead_s, "lead", set->lead, 600, err);
    if (!code)
        code = number(&w->tail_s, "tail", set->tail, 600, err);
    return code
               ? code
               : number(&w->from_beside_s, "from-beside", set->from_beside, FL_FOOTAGE_MOST_S, err);
}

/* "35,60". */
static enum flinch_code read_place(struct fl_clip_settings *c, const char *text,
                                   struct fl_error *err)
{
    const size_t comma = strcspn(text, ",");
    double x, y;
    if (!text[comma] || !fl_parse_number(text, comma, &x) ||
        !fl_parse_number(text + comma + 1, strlen(text + comma + 1), &y) || x < 0 || x > 100 ||
        y < 0 || y > 100)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--pixels: '%.40s' is no place; write two numbers from 0 to 100, as 35,60",
                       text);
    c->window = true;
    c->window_at[0] = x / 100;
    c->window_at[1] = y / 100;
    return FLINCH_OK;
}

static enum flinch_code read_clip(struct fl_clip_settings *c, const struct settings *set,
                                  struct fl_error *err)
{
    const int place = fl_option_choice(places, set->place);
    *c = (struct fl_clip_settings){.slow = set->slow,
                                   .place = (enum fl_clip_place)place,
                                   .height = set->height,
                                   .notice_s = 3,
                                   .mute = set->mute,
                                   .eight_bits = fl_option_choice(depths, set->bits) == 1,
                                   .replace = set->again,
                                   .threads = set->threads,
                                   .codec = set->codec,
                                   .preset = set->preset,
                                   .options = set->options,
                                   .crf = FL_UNKNOWN,
                                   .kbit_s = set->kbit_s};
    enum flinch_code code = number(&c->notice_s, "notice", set->notice, 600, err);
    if (!code && set->pixels)
        code = read_place(c, set->pixels, err);
    return code ? code : number(&c->crf, "crf", set->crf, 100, err);
}

/* ---- doing it ---- */

struct job {
    const struct fl_batch_watch *watch;
    size_t index;
};

static void moved(void *ctx, const char *what, double done)
{
    const struct job *j = ctx;
    j->watch->moved(j->watch->ctx, j->index, what, done);
}

static enum flinch_code write_one(struct fl_clip_report *r, const struct fl_clip_plan *p, size_t i,
                                  struct fl_clip_settings c, const struct fl_batch_watch *watch,
                                  struct fl_error *err)
{
    const struct fl_planned_clip *k = &p->clip[i];
    struct job job = {watch, i};
    const struct fl_progress progress = {moved, fl_terminal_stopped, &job};
    c.a = (struct fl_clip_take){p->a, p->footage_a, k->from_s, k->lapse};
    c.b = (struct fl_clip_take){p->b, p->footage_b, k->from_beside_s, k->lapse_beside};
    c.length_s = k->length_s;
    char *folder = fl_path_folder(k->path);
    enum flinch_code code = fl_make_folder(folder, err);
    free(folder);
    if (!code)
        code = fl_clip_write(k->path, &c, r, &progress, err);
    if (!code)
        watch->finished(watch->ctx, i, FL_BATCH_MEASURED, NULL);
    return code;
}

/* Files that are in the way are found before anything is written. */
static enum flinch_code check_targets(const struct fl_clip_plan *p, const struct settings *set,
                                      struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    for (size_t i = 0; i < p->n && !code; i++)
        code = fl_clip_check(p->clip[i].path, set->codec, set->again, err);
    return code;
}

static enum flinch_code write_all(struct fl_clip_report *reports, size_t *done,
                                  const struct fl_clip_plan *p, const struct settings *set,
                                  const struct fl_clip_settings *clip, struct fl_error *err)
{
    const char **names = FL_NEW(const char *, p->n + 1);
    for (size_t i = 0; i < p->n; i++)
        names[i] = p->clip[i].path;
    enum flinch_code code = check_targets(p, set, err);
    struct fl_terminal *t = fl_terminal_new(names, p->n, set->quiet);
    const struct fl_batch_watch watch = fl_terminal_watch(t);
    for (*done = 0; *done < p->n && !code; *done += !code)
        code = write_one(&reports[*done], p, *done, *clip, &watch, err);
    fl_terminal_free(&t);
    free(names);
    return code;
}

static void print(const struct settings *set, const struct fl_clip_plan *p,
                  const struct fl_clip_report *reports, size_t n)
{
    if (set->json) {
        fl_print_json(stdout, fl_clips_json(p, reports, n, fl_options_echo(options, set)));
    } else if (!set->quiet) {
        fl_print_clips(stdout, p, reports, n);
    }
    for (size_t i = 0; i < n; i++)
        complain_of_flashes(p->clip[i].path, &reports[i]);
}

static int run(const void *settings, char **args, int n_args)
{
    (void)n_args;
    const struct settings *set = settings;
    struct fl_clip_wish wish;
    struct fl_clip_settings clip;
    struct fl_clip_plan plan = {0};
    struct fl_error err = {0};
    size_t done = 0;
    fl_terminal_catch_signals();
    enum flinch_code code = read_wish(&wish, set, args, &err);
    if (!code)
        code = read_clip(&clip, set, &err);
    if (!code) {
        clip.rate = wish.rate;
        code = fl_clip_plan(&plan, &wish, &err);
    }
    struct fl_clip_report *reports = FL_NEW(struct fl_clip_report, plan.n + 1);
    if (!code)
        code = write_all(reports, &done, &plan, set, &clip, &err);
    if (done || !code)
        print(set, &plan, reports, done);
    if (code)
        fl_complain(err.text);
    for (size_t i = 0; i < done; i++)
        fl_clip_report_finish(&reports[i]);
    free(reports);
    fl_clip_plan_finish(&plan);
    return fl_finish_output(fl_exit_status(code));
}

const struct fl_command fl_command_clip = {
    "clip",
    "FOLDER ID",
    "Writes footage of a measured take with its timeline drawn in, for publication: each lapse, or "
    "a span.",
    2,
    2,
    options,
    sizeof(struct settings),
    run,
    FL_OPTION_FOLDER,
};
