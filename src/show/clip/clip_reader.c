/* Reads the frames of a span in order; where the recorder lost one, the frame before stands for
 * it. */
#include "show/clip/clip_reader.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct fl_clip_reader {
    const struct fl_take *t;
    const char *path;
    int threads;
    struct fl_footage *footage;
    struct fl_footage_info info;
    double start_s; /* presentation time of frame 0 */
    long at;        /* frame reached; -1 before the first; -2: unknown until the next is read */
    bool by_count;  /* from the first frame on: times do not tell which frame it is */
};

static enum flinch_code differs(const struct fl_clip_reader *r, struct fl_error *err,
                                const char *what)
{
    return fl_fail(err, FLINCH_ERR_USAGE,
                   "%s: is not the footage that take %s was measured from (%s); name the right "
                   "file with --footage",
                   r->path, r->t->spec.id, what);
}

static bool same_word(const char *a, const char *b)
{
    return !a || !b || !strcmp(a, b);
}

static enum flinch_code check_same(const struct fl_clip_reader *r, struct fl_error *err)
{
    const struct fl_take *t = r->t;
    const struct fl_footage_info *i = &r->info;
    const double declared_s = i->duration_hint_s, slack_s = fmax(0.5, 0.02 * t->duration_s);
    char what[120];
    if (i->width != t->width || i->height != t->height)
        snprintf(what, sizeof what, "%d x %d, not %d x %d", i->width, i->height, t->width,
                 t->height);
    else if (!same_word(t->codec, i->codec) || !same_word(t->pixel_format, i->pixel_format))
        snprintf(what, sizeof what, "%s %s, not %s %s", i->codec, i->pixel_format, t->codec,
                 t->pixel_format);
    else if (declared_s > 0 && declared_s < t->duration_s - slack_s)
        snprintf(what, sizeof what, "%.2f s long, not %.2f s", declared_s, t->duration_s);
    else if (declared_s > t->duration_s + slack_s)
        snprintf(what, sizeof what,
                 "%.2f s long, not %.2f s; a take measured in part, with --first, has to be "
                 "measured whole",
                 declared_s, t->duration_s);
    else
        return FLINCH_OK;
    return differs(r, err, what);
}

static enum flinch_code open_at(struct fl_clip_reader *r, double from_s, struct fl_error *err)
{
    const struct fl_footage_settings settings = {
        .threads = r->threads, .from_s = from_s, .colour = true};
    fl_footage_close(&r->footage);
    r->at = from_s > 0 ? -2 : -1;
    return fl_footage_open(&r->footage, r->path, &settings, err);
}

static double period_s(const struct fl_take *t)
{
    return t->capture_rate_hz > 0 ? 1 / t->capture_rate_hz : 1.0 / 60;
}

/* The frame that lies nearest to a footage time. */
static long nearest(const struct fl_take *t, double time_s)
{
    long lo = 0, hi = t->frames - 1;
    while (lo < hi) {
        const long mid = (lo + hi) / 2;
        if (t->time_s[mid] < time_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo > 0 && time_s - t->time_s[lo - 1] < t->time_s[lo] - time_s ? lo - 1 : lo;
}

static bool fits(const struct fl_clip_reader *r, long frame, double pts_s)
{
    return fabs(pts_s - r->start_s - r->t->time_s[frame]) < 0.45 * period_s(r->t);
}

/* *got false: the footage has ended. */
static enum flinch_code step(struct fl_clip_reader *r, bool *got, struct fl_error *err)
{
    struct fl_frame f;
    enum flinch_code code = fl_footage_next(r->footage, &f, got, err);
    if (code || !*got)
        return code;
    if (r->at == -1)
        r->start_s = f.pts_s;
    if (r->at == -2) {
        r->at = fl_known(f.pts_s) ? nearest(r->t, f.pts_s - r->start_s) : -1;
        r->by_count |= !fl_known(f.pts_s) || !fits(r, r->at, f.pts_s);
    } else {
        r->at++;
        r->by_count |= !fl_known(f.pts_s) || r->at >= r->t->frames || !fits(r, r->at, f.pts_s);
    }
    return FLINCH_OK;
}

/* Key frames may be far apart; starting this long before is about as quick as seeking. */
#define WORTH_SEEKING_S 2.0

enum flinch_code fl_clip_reader_open(struct fl_clip_reader **out, const struct fl_take *t,
                                     const char *path, long first, int threads,
                                     struct fl_error *err)
{
    struct fl_clip_reader *r = FL_NEW(struct fl_clip_reader, 1);
    *r = (struct fl_clip_reader){.t = t, .path = path, .threads = threads, .start_s = FL_UNKNOWN};
    bool got = false;
    enum flinch_code code = open_at(r, 0, err);
    if (!code) {
        r->info = *fl_footage_info(r->footage);
        code = check_same(r, err);
    }
    if (!code)
        code = step(r, &got, err);
    if (!code && !got)
        code = differs(r, err, "no frame can be read");
    if (!code && !r->by_count && t->time_s[first] > WORTH_SEEKING_S)
        code = open_at(r, r->start_s + t->time_s[first], err);
    if (code)
        fl_clip_reader_close(&r);
    *out = r;
    return code;
}

const struct fl_footage_info *fl_clip_reader_info(const struct fl_clip_reader *r)
{
    return &r->info;
}

double fl_clip_reader_start(const struct fl_clip_reader *r)
{
    return r->start_s;
}

static enum flinch_code read_on(struct fl_clip_reader *r, long frame, const struct fl_progress *p,
                                bool *sure, struct fl_error *err)
{
    bool got = true;
    *sure = true;
    while (r->at < frame) {
        if (fl_progress_stop(p))
            return fl_fail(err, FLINCH_ERR_INTERRUPTED, "%s: stopped; no clip was written",
                           r->path);
        const bool sought = r->at == -2, counted = r->by_count;
        enum flinch_code code = step(r, &got, err);
        if (code)
            return code;
        *sure = got && !(r->by_count && !counted) && !(sought && r->at > frame);
        if (!*sure || !got)
            return FLINCH_OK;
    }
    return FLINCH_OK;
}

enum flinch_code fl_clip_reader_reach(struct fl_clip_reader *r, long frame,
                                      const struct fl_progress *p, struct fl_error *err)
{
    bool sure;
    enum flinch_code code = read_on(r, frame, p, &sure, err);
    if (code || sure)
        return code;
    /* Times were mended or the container misleads: count every frame from the first on. */
    r->by_count = true;
    code = open_at(r, 0, err);
    if (!code)
        code = read_on(r, frame, p, &sure, err);
    return code || sure ? code : differs(r, err, "it ends before the span does");
}

enum flinch_code fl_clip_reader_paint(struct fl_clip_reader *r, struct fl_canvas *c, int x, int y,
                                      int w, int h, struct fl_error *err)
{
    return fl_footage_paint(r->footage, c, x, y, w, h, err);
}

void fl_clip_reader_close(struct fl_clip_reader **reader)
{
    struct fl_clip_reader *r = *reader;
    if (!r)
        return;
    fl_footage_close(&r->footage);
    free(r);
    *reader = NULL;
}
