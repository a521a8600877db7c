#include "cli/mark_options.h"

#include <string.h>

static enum flinch_code read_flicks(enum fl_mark_flicks *out, const char *text,
                                    struct fl_error *err)
{
    static const char *const names[] = {"tripped", "held", "all", "none"};
    for (int i = 0; i < 4; i++)
        if (!strcmp(text, names[i])) {
            *out = (enum fl_mark_flicks)i;
            return FLINCH_OK;
        }
    return fl_fail(err, FLINCH_ERR_USAGE,
                   "--mark-flicks: '%.40s' is no choice; write tripped, held, all or none", text);
}

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
    enum flinch_code code = o->flicks ? read_flicks(&out->flicks, o->flicks, err) : FLINCH_OK;
    if (!code && o->rate)
        code = read_rate(out, o->rate, err);
    if (!code && o->start)
        code = check_start(out, err);
    return code;
}
