/* The public push interface over live.h. */
#include "flinch/live.h"

#include <math.h>
#include <stdlib.h>

#include "api.h"
#include "live.h"

enum { LEAST_SIDE = 16, MOST_SIDE = 16384 };

struct flinch_live {
    struct fl_live *live;
    struct fl_take_spec spec;
    struct fl_arena *names;
    int width, threads;
};

_Static_assert((int)FLINCH_LIVE_STATE == FL_LIVE_STATE && (int)FLINCH_LIVE_TRIP == FL_LIVE_TRIP &&
                   (int)FLINCH_LIVE_RETURN == FL_LIVE_RETURN &&
                   (int)FLINCH_LIVE_FLIP == FL_LIVE_FLIP &&
                   (int)FLINCH_LIVE_FLICK == FL_LIVE_FLICK &&
                   (int)FLINCH_LIVE_RATES == FL_LIVE_RATES && (int)FLINCH_LIVE_JUMP == FL_LIVE_JUMP,
               "kinds");

static const char *wrong_format(const struct flinch_live_format *f)
{
    if (!f)
        return "no format given; say how large pictures are";
    if (f->width < LEAST_SIDE || f->width > MOST_SIDE || f->height < LEAST_SIDE ||
        f->height > MOST_SIDE)
        return "width and height are 16 to 16384; give the size of the pictures";
    if (!(f->rate_hz >= 0 && f->rate_hz <= FL_TIMELINE_FASTEST_HZ))
        return "rate_hz is 0 to 10000; give what the source declares, or 0";
    if (!(f->tick_s >= 0 && f->tick_s <= 1))
        return "tick_s is 0 to 1; give what times are rounded to, or 0";
    return NULL;
}

enum flinch_code flinch_live_open(flinch_live **out, const struct flinch_live_format *format,
                                  const struct flinch_take_settings *settings,
                                  struct flinch_message *why)
{
    static const struct flinch_take_settings defaults;
    struct fl_error err = {0};
    const char *wrong = wrong_format(format);
    if (out)
        *out = NULL;
    if (!out || wrong)
        return fl_api_misuse(why, out ? wrong : "no place for the result; pass a pointer");
    struct flinch_live *l = FL_NEW(struct flinch_live, 1);
    l->names = fl_arena_new();
    enum flinch_code code = fl_api_spec(&l->spec, settings ? settings : &defaults, l->names, &err);
    if (!code) {
        const struct fl_footage_info info = {.width = format->width,
                                             .height = format->height,
                                             .nominal_rate_hz = format->rate_hz,
                                             .tick_s = format->tick_s,
                                             .bit_depth = 8,
                                             .full_range = format->full_range,
                                             .aspect_num = 1,
                                             .aspect_den = 1,
                                             .codec = "none",
                                             .pixel_format = "gray",
                                             .transfer = "unknown"};
        l->width = format->width;
        l->threads = settings ? settings->threads : 0;
        l->live = fl_live_open(&info, &l->spec);
        fl_live_keep(l->live);
        *out = l;
    } else {
        flinch_live_free(&l);
    }
    return fl_api_tell(why, code, &err);
}

void flinch_live_free(flinch_live **live)
{
    if (!live || !*live)
        return;
    fl_live_free(&(*live)->live);
    fl_arena_free(&(*live)->names);
    free(*live);
    *live = NULL;
}

enum flinch_code flinch_live_push(flinch_live *live, const uint8_t *luma, ptrdiff_t stride,
                                  double time_s, bool key, struct flinch_message *why)
{
    if (!live || !luma || stride < live->width || isinf(time_s))
        return fl_api_misuse(why, "no picture; give rows of at least its width, and a time");
    fl_live_push(live->live, &(struct fl_frame){luma, stride, time_s, key});
    return fl_api_tell(why, FLINCH_OK, &(struct fl_error){0});
}

enum flinch_code flinch_live_input(flinch_live *live, const struct flinch_input *input, size_t n,
                                   struct flinch_message *why)
{
    if (!live || (!input && n))
        return fl_api_misuse(why, "no input given; pass reports");
    for (size_t i = 0; i < n; i++)
        if (!isfinite(input[i].time_s) || !isfinite(input[i].dx) || !isfinite(input[i].dy))
            return fl_api_misuse(why, "a report holds a number that is not finite; leave it out");
    for (size_t i = 0; i < n; i++) {
        const struct fl_event e = {.time_s = input[i].time_s,
                                   .dx = (float)input[i].dx,
                                   .dy = (float)input[i].dy,
                                   .button = input[i].button,
                                   .state = input[i].state,
                                   .stick_x = NAN,
                                   .stick_y = NAN};
        fl_live_trace(live->live, &e, 1);
    }
    return fl_api_tell(why, FLINCH_OK, &(struct fl_error){0});
}

bool flinch_live_poll(flinch_live *live, struct flinch_live_event *out)
{
    struct fl_live_event e;
    if (!live || !out || !fl_live_poll(live->live, &e))
        return false;
    *out = (struct flinch_live_event){.kind = (enum flinch_live_kind)e.kind,
                                      .time_s = e.time_s,
                                      .seen_at_s = e.seen_at_s,
                                      .state = (enum flinch_state)e.state,
                                      .on_hz = e.on_hz,
                                      .off_hz = e.off_hz,
                                      .row = e.row,
                                      .jump_s = e.jump_s};
    if (e.kind == FL_LIVE_FLICK)
        fl_api_flick(&out->flick, &e.flick);
    return true;
}

enum flinch_code flinch_live_finish(flinch_live **live, flinch_take **out,
                                    struct flinch_message *why)
{
    struct fl_error err = {0};
    struct fl_take *take = NULL;
    if (out)
        *out = NULL;
    if (!live || !*live || !out) {
        flinch_live_free(live);
        return fl_api_misuse(why, "no stream or no place for the take; pass both");
    }
    enum flinch_code code = fl_live_take((*live)->live, (*live)->threads, &take, &err);
    if (!code) {
        *out = fl_api_wrap(take, (*live)->names);
        (*live)->names = NULL;
    }
    flinch_live_free(live);
    return fl_api_tell(why, code, &err);
}
