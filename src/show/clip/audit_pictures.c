/* Moments are visited in the order of the footage; those whose frames overlap share one reading. */
#include "show/clip/audit_pictures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "media/png.h"
#include "show/clip/footage_match.h"
#include "show/clip/clip_reader.h"
#include "show/clip/strip_levels.h"
#include "show/draw/fonts.h"

enum { CELL_WIDTH = 200, MOST_HEIGHT = 400 };
/* Differences are taken of pictures FINER times as wide as a cell: grain averages out, edges stay.
 */
enum { FINER = 3 };
/* Frames on either side of the one asked about: base periods that tell a rate from half of it by
 * eye, within what a page can hold. */
static const double periods_beside = 2;
enum { LEAST_BESIDE = 4, MOST_BESIDE = 10 };
/* Read before the first frame shown: a few frames alone would not tell this footage from another.
 */
static const double lead_in_s = 0.5;

/* One moment while its frames come. */
struct shot {
    const struct fl_audit_moment *moment;
    struct fl_audit_picture *out;
    uint8_t **picture, **difference; /* out->n each */
};

struct shoot {
    const struct fl_take *t;
    struct shot *shot; /* of the take, by their first frame */
    size_t n;
    struct fl_clip_reader *reader;
    struct fl_footage_match *match;
    struct fl_canvas canvas; /* FINER times a cell */
    uint8_t *now, *before;   /* its levels, rows without gaps */
    int width, height;       /* of a cell */
    bool full_range;
    long reached; /* the last frame taken */
};

/* ---- which frames ---- */

static void choose_frames(struct fl_audit_picture *out, const struct fl_take *t, long frame)
{
    const struct fl_states *s = &t->states;
    const double slow_hz = fmin(s->base_rate_on_hz, s->base_rate_off_hz);
    const double beside = slow_hz > 0 ? ceil(periods_beside * t->capture_rate_hz / slow_hz) : 0;
    const long k = (long)fl_clamp(beside, LEAST_BESIDE, MOST_BESIDE);
    const long end = frame + k + 1 < t->frames ? frame + k + 1 : t->frames;
    out->first = frame - k > 1 ? frame - k : 1; /* frame 0 has none before it to differ from */
    out->n = (int)(end - out->first);
    out->at = (int)(frame - out->first);
}

static int by_first(const void *a, const void *b)
{
    const struct shot *x = a, *y = b;
    if (x->moment->take != y->moment->take)
        return x->moment->take < y->moment->take ? -1 : 1;
    return (x->out->first > y->out->first) - (x->out->first < y->out->first);
}

/* ---- pictures ---- */

static void size_cells(struct shoot *s)
{
    s->width = CELL_WIDTH;
    s->height = (int)fl_clamp(lrint((double)CELL_WIDTH * s->t->height / s->t->width / 2), 4,
                              MOST_HEIGHT / 2.0) *
                2; /* planes of chroma are halved */
    const int w = FINER * s->width, h = FINER * s->height;
    s->canvas = (struct fl_canvas){.width = w, .height = h};
    for (int p = 0; p < 3; p++) {
        s->canvas.stride[p] = p ? w / 2 : w;
        s->canvas.plane[p] = FL_NEW(uint8_t, (size_t)(w / (p ? 2 : 1)) * (size_t)(h / (p ? 2 : 1)));
    }
    s->now = FL_NEW(uint8_t, (size_t)w * (size_t)h);
    s->before = FL_NEW(uint8_t, (size_t)w * (size_t)h);
}

/* Sum over the FINER × FINER pixels of a cell's pixel. */
static unsigned cell_sum(const struct shoot *s, int x, int y, bool difference)
{
    unsigned sum = 0;
    for (int v = FINER * y; v < FINER * (y + 1); v++)
        for (int u = FINER * x; u < FINER * (x + 1); u++) {
            const size_t k = (size_t)v * (size_t)s->canvas.width + (size_t)u;
            sum += difference ? (unsigned)abs(s->now[k] - s->before[k]) : s->now[k];
        }
    return sum;
}

/* Limited range codes black as 16 and white as 235 (ITU-R BT.601 and BT.709). */
static uint8_t full_grey(const struct shoot *s, unsigned sum)
{
    const double grey = (double)sum / (FINER * FINER);
    return (uint8_t)lrint(fl_clamp(s->full_range ? grey : (grey - 16) * 255 / 219, 0, 255));
}

static uint8_t *reduced(const struct shoot *s, bool difference)
{
    enum { QUARTERS = 4 };
    uint8_t *out = FL_NEW(uint8_t, (size_t)s->width * (size_t)s->height);
    for (int y = 0; y < s->height; y++)
        for (int x = 0; x < s->width; x++) {
            const unsigned sum = cell_sum(s, x, y, difference);
            const unsigned v = (sum * QUARTERS + FINER * FINER / 2) / (FINER * FINER);
            out[y * s->width + x] = difference ? (uint8_t)(v > 255 ? 255 : v) : full_grey(s, sum);
        }
    return out;
}

static enum flinch_code take_picture(struct shoot *s, long frame,
                                     const struct fl_progress *progress, struct fl_error *err)
{
    uint8_t *swap = s->before;
    enum flinch_code code = fl_clip_reader_reach(s->reader, frame, progress, err);
    if (!code)
        code = fl_clip_reader_paint(s->reader, &s->canvas, 0, 0, s->canvas.width, s->canvas.height,
                                    err);
    if (code)
        return code;
    fl_footage_match_push(s->match, frame, &s->canvas, 0, 0, s->canvas.width, s->canvas.height);
    s->reached = frame;
    s->before = s->now;
    s->now = swap;
    memcpy(s->now, s->canvas.plane[0], (size_t)s->canvas.width * (size_t)s->canvas.height);
    return FLINCH_OK;
}

/* ---- one strip ---- */

static void drop_frames(struct shot *k)
{
    for (int i = 0; k->picture && i < k->out->n; i++) {
        free(k->picture[i]);
        free(k->difference[i]);
    }
    free(k->picture);
    free(k->difference);
    k->picture = k->difference = NULL;
}

static void lay_out(uint8_t *sheet, const struct shoot *s, const struct shot *k,
                    const struct fl_strip_levels *levels)
{
    const size_t w = (size_t)s->width, h = (size_t)s->height, n = (size_t)k->out->n;
    for (size_t i = 0; i < n; i++)
        for (size_t y = 0; y < h; y++)
            for (size_t x = 0; x < w; x++) {
                uint8_t *above = &sheet[y * n * w + i * w + x];
                *above = fl_strip_picture_grey(levels, k->picture[i][y * w + x]);
                above[h * n * w] = fl_strip_difference_grey(levels, k->difference[i][y * w + x]);
            }
}

static enum flinch_code finish_strip(const struct shoot *s, struct shot *k, struct fl_error *err)
{
    struct fl_audit_picture *out = k->out;
    const size_t pixels = (size_t)s->width * (size_t)s->height;
    struct fl_strip_grey *grey = FL_NEW(struct fl_strip_grey, (size_t)out->n);
    uint32_t palette[256];
    for (int i = 0; i < out->n; i++)
        grey[i] = (struct fl_strip_grey){k->picture[i], k->difference[i]};
    for (uint32_t i = 0; i < 256; i++)
        palette[i] = i << 16 | i << 8 | i;
    const struct fl_strip_levels levels = fl_strip_levels_of(grey, (size_t)out->n, pixels);
    uint8_t *sheet = FL_NEW(uint8_t, 2 * pixels * (size_t)out->n);
    lay_out(sheet, s, k, &levels);
    out->width = s->width;
    out->height = s->height;
    enum flinch_code code =
        fl_png_encode(sheet, out->n * s->width, 2 * s->height, palette, &out->png, &out->size, err);
    free(sheet);
    free(grey);
    drop_frames(k);
    return code;
}

/* Gives the frame taken to every moment that shows it. */
static enum flinch_code hand_out(struct shoot *s, size_t from, size_t to, long frame,
                                 struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    for (size_t i = from; i < to && !code; i++) {
        struct shot *k = &s->shot[i];
        const long at = frame - k->out->first;
        if (at < 0 || at >= k->out->n)
            continue;
        if (!k->picture) {
            k->picture = FL_NEW(uint8_t *, (size_t)k->out->n);
            k->difference = FL_NEW(uint8_t *, (size_t)k->out->n);
        }
        k->picture[at] = reduced(s, false);
        k->difference[at] = reduced(s, true);
        if (at == k->out->n - 1)
            code = finish_strip(s, k, err);
    }
    return code;
}

/* ---- one take ---- */

static long end_of(const struct shot *k)
{
    return k->out->first + k->out->n;
}

/* Moments from i on whose frames follow on each other; *end is set past their last frame. */
static size_t together(const struct shoot *s, size_t i, long *end)
{
    size_t to = i;
    *end = end_of(&s->shot[i]);
    while (to < s->n && s->shot[to].out->first <= *end) {
        *end = end_of(&s->shot[to]) > *end ? end_of(&s->shot[to]) : *end;
        to++;
    }
    return to;
}

static enum flinch_code shoot_group(struct shoot *s, const char *path, size_t from, size_t to,
                                    long end, int threads, const struct fl_progress *progress,
                                    struct fl_error *err)
{
    const long shown = s->shot[from].out->first,
               lead = shown - lrint(fmax(1, lead_in_s * s->t->capture_rate_hz)),
               first = lead > s->reached ? lead : s->reached + 1; /* before it in any case */
    fl_clip_reader_close(&s->reader);
    enum flinch_code code = fl_clip_reader_open(&s->reader, s->t, path, first, threads, err);
    if (!code)
        s->full_range = fl_clip_reader_info(s->reader)->coding.full_range;
    for (long frame = first; frame < end && !code; frame++) {
        code = take_picture(s, frame, progress, err);
        if (!code && frame >= shown)
            code = hand_out(s, from, to, frame, err);
    }
    return code;
}

static enum flinch_code check_match(const struct shoot *s, const char *path, struct fl_error *err)
{
    double r;
    if (fl_footage_match_tell(s->match, &r) != FL_MATCH_OTHER)
        return FLINCH_OK;
    return fl_fail(err, FLINCH_ERR_USAGE,
                   "%s: does not move as take %s was measured to (correlation %.2f); name the "
                   "footage it was measured from",
                   path, s->t->spec.id, r);
}

static void finish(struct shoot *s)
{
    for (size_t i = 0; i < s->n; i++)
        drop_frames(&s->shot[i]);
    fl_clip_reader_close(&s->reader);
    fl_footage_match_free(&s->match);
    for (int p = 0; p < 3; p++)
        free(s->canvas.plane[p]);
    free(s->now);
    free(s->before);
}

/* What all takes share; done: moments of the takes before. */
struct job {
    const struct fl_footage_wish *where;
    int threads;
    const struct fl_progress *progress;
    size_t done, all;
};

static enum flinch_code shoot_take(struct shoot *s, const struct job *job, struct fl_error *err)
{
    char *path = NULL;
    enum flinch_code code = fl_find_footage(&path, job->where, s->t, err);
    s->match = fl_footage_match_new(s->t);
    size_cells(s);
    for (size_t i = 0, to; i < s->n && !code; i = to) {
        long end;
        to = together(s, i, &end);
        fl_progress_report(job->progress, "pictures", (double)(job->done + i) / (double)job->all);
        code = shoot_group(s, path, i, to, end, job->threads, job->progress, err);
    }
    if (!code)
        code = check_match(s, path, err);
    finish(s);
    free(path);
    return code;
}

enum flinch_code fl_audit_pictures(struct fl_audit_picture *out, const struct fl_session *s,
                                   const struct fl_audit_moment *moment, size_t n,
                                   const struct fl_footage_wish *where, int threads,
                                   const struct fl_progress *progress, struct fl_error *err)
{
    struct shot *shot = FL_NEW(struct shot, n + 1);
    struct job job = {where, threads, progress, 0, n};
    enum flinch_code code = fl_fonts_check(err);
    for (size_t i = 0; i < n; i++) {
        out[i] = (struct fl_audit_picture){0};
        choose_frames(&out[i], s->takes[moment[i].take], moment[i].frame);
        shot[i] = (struct shot){.moment = &moment[i], .out = &out[i]};
    }
    qsort(shot, n, sizeof *shot, by_first);
    for (size_t i = 0, to; i < n && !code; i = to) {
        for (to = i; to < n && shot[to].moment->take == shot[i].moment->take;)
            to++;
        struct shoot take = {
            .t = s->takes[shot[i].moment->take], .shot = &shot[i], .n = to - i, .reached = -1};
        job.done = i;
        code = shoot_take(&take, &job, err);
    }
    free(shot);
    return code;
}

void fl_audit_pictures_finish(struct fl_audit_picture *v, size_t n)
{
    for (size_t i = 0; i < n; i++)
        free(v[i].png);
}
