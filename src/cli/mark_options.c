/* How lapses and flicks are marked for an editing program; timecode as SMPTE ST 12-1 counts it. */
#include "cli/mark_options.h"

#include <string.h>

static const char *const which_flicks[] = {"tripped", "held", "all", "none", NULL};

#define AT(member) offsetof(struct fl_mark_options, member)
const struct fl_option fl_mark_option_rows[] = {
    {"mark-flicks", 0, FL_OPTION_CHOICE, AT(flicks), 0, 0, "WHICH",
     "flicks to mark for editing, beside lapses: tripped (the default), held, all or none",
     "Marks are written as edit decision list, WebVTT, FFmpeg chapters and OpenTimelineIO; show "
     "writes them anew.",
     which_flicks},
    {"mark-rate", 0, FL_OPTION_TEXT, AT(rate), 0, 0, "R",
     "frame rate of the edit, as 29.97 or 30000/1001; else the footage's own",
     "It lies between 1 and 1000."},
    {"mark-start", 0, FL_OPTION_TEXT, AT(start), 0, 0, "TC",
     "timecode of the footage's first frame in the edit; else 00:00:00:00",
     "A ; before the frames asks for drop-frame. With frames other than 00 it needs --mark-rate."},
    {"mark-drop", 0, FL_OPTION_FLAG, AT(drop), 0, 0, NULL,
     "count marks in drop-frame timecode, at 29.97, 59.94 or 119.88"},
    {NULL},
};

static enum flinch_code read_rate(struct fl_mark_settings *out, const char *text,
                                  struct fl_error *err)
{
    char shown[FL_RATE_SIZE];
    if (fl_rate_parse(&out->rate, text, err))
        return fl_fail_in(err, "--mark-rate");
    if (out->drop && !fl_rate_can_drop(out->rate))
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--mark-drop: there is no drop-frame timecode at %s frames per second, only "
                       "at 29.97, 59.94 and "
                       "119.88; leave it out",
                       fl_rate_text(shown, out->rate));
    return FLINCH_OK;
}

/* Each take may have a rate of its own: then the label must be one that every rate has. */
static enum flinch_code check_start(const struct fl_mark_settings *s, struct fl_error *err)
{
    const bool given = s->rate.den > 0;
    const struct fl_rate any = {s->drop ? 30000 : 1000, s->drop ? 1001 : 1};
    const struct fl_timecode tc = {given ? s->rate : any, s->drop};
    long frame;
    if (fl_timecode_parse(&frame, &tc, s->start, err))
        return fl_fail_in(err, "--mark-start");
    const char *frames = s->start + strlen("00:00:00:");
    if (!given && frames[strspn(frames, "0")])
        return fl_fail(
            err, FLINCH_ERR_USAGE,
            "--mark-start: '%s' counts frames, and takes may differ in their rate; add --mark-rate",
            s->start);
    return FLINCH_OK;
}

enum flinch_code fl_mark_options_read(struct fl_mark_settings *out, const struct fl_mark_options *o,
                                      struct fl_error *err)
{
    *out = (struct fl_mark_settings){.start = o->start,
                                     .drop = o->drop || (o->start && strchr(o->start, ';'))};
    out->flicks = (enum fl_mark_flicks)fl_option_choice(which_flicks, o->flicks);
    enum flinch_code code = FLINCH_OK;
    if (o->rate)
        code = read_rate(out, o->rate, err);
    if (!code && o->start)
        code = check_start(out, err);
    return code;
}
