/* Footage → clip: each frame is decoded, drawn over and encoded; nothing is kept of it. */
#include "show/clip/clip.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "base/timecode.h"
#include "media/encoder.h"
#include "media/sound.h"
#include "show/clip/clip_course.h"
#include "show/clip/clip_panel.h"
#include "show/clip/clip_layout.h"
#include "show/clip/footage_match.h"
#include "show/draw/fonts.h"
#include "show/clip/clip_reader.h"
#include "show/clip/clip_window.h"
#include "show/text/escape.h"

#define SAME_TIME_S 1e-6 /* times in files are rounded to this */
enum { VARIABLE_TICKS = 90000, CHANNELS = 2, FULL_DEPTH = 8 };

/* One take in the frame. */
struct side {
    const struct fl_clip_take *of;
    struct fl_span span;
    struct fl_clip_reader *reader;
    struct fl_clip_layout layout;
    struct fl_clip_panel *panel;
    struct fl_clip_window *window; /* NULL: none */
    struct fl_footage_match *match;
    long first, n; /* capture frames of the span */
    long shown;    /* the last that was; -1: none yet */
};

struct clip {
    const struct fl_clip_settings *s;
    struct side side[2];
    int sides, slow, width, height;
    struct fl_rate rate; /* den 0: times as given */
    double step_s;       /* of footage, from one step to the next where the rate is constant */
    int copies;          /* of each step's picture */
    long steps;          /* pictures that are drawn */
    struct fl_encoder *encoder;
    struct fl_coding coding;
    struct fl_sound *sound;
    long sounded; /* samples written */
    struct fl_flash *flash;
    struct fl_cell_light *light;
    int columns, rows;
    double length_s; /* of the clip so far */
};

void fl_clip_frames(const struct fl_take *t, double from_s, double to_s, long *first, long *n)
{
    long i = 0;
    while (i < t->frames && t->time_s[i] < from_s - SAME_TIME_S)
        i++;
    *first = i;
    while (i < t->frames && t->time_s[i] < to_s - SAME_TIME_S)
        i++;
    *n = i - *first;
}

/* The frame on screen at a footage time: the last that has begun, or begins within slack_s; -1
 * outside of the take. Looks from frame `from` on. */
static long frame_at(const struct fl_take *t, double time_s, double slack_s, long from)
{
    long i = from;
    if (t->frames < 1 || time_s < t->time_s[0] - slack_s || time_s >= t->duration_s)
        return -1;
    while (i + 1 < t->frames && t->time_s[i + 1] <= time_s + slack_s)
        i++;
    return i;
}

/* ---- plan ---- */

static enum flinch_code plan_side(struct clip *c, int i, struct fl_error *err)
{
    struct side *side = &c->side[i];
    side->of = i ? &c->s->b : &c->s->a;
    side->shown = -1;
    side->span = (struct fl_span){side->of->from_s, side->of->from_s + c->s->length_s};
    fl_clip_frames(side->of->take, side->span.start_s, side->span.end_s, &side->first, &side->n);
    if (side->n < 1)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "take %s: no frame lies between %.3f and %.3f s; it lasts %.3f s",
                       side->of->take->spec.id, side->span.start_s, side->span.end_s,
                       side->of->take->duration_s);
    return FLINCH_OK;
}

/* Constant takes step from slot to slot of the capture clock, others from frame to frame; with a
 * rate of its own the clip steps by that. */
static void plan_steps(struct clip *c)
{
    const struct fl_take *t = c->side[0].of->take;
    const long first = c->side[0].first, n = c->side[0].n;
    const double length_s = t->time_s[first + n - 1] - t->time_s[first],
                 period_s = 1 / t->capture_rate_hz;
    c->copies = c->slow = c->s->slow > 1 ? c->s->slow : 1;
    c->step_s = period_s;
    if (c->s->rate.den) {
        c->rate = c->s->rate;
        c->step_s = 1 / (fl_rate_hz(c->rate) * c->slow);
        c->copies = 1;
        c->steps = lrint(fmax(1, (length_s + period_s) / c->step_s));
        return;
    }
    if (t->constant_rate)
        c->rate = fl_rate_near(t->capture_rate_hz, (double)t->frames, NULL);
    c->steps = c->rate.den ? lrint(length_s / period_s) + 1 : n;
}

/* Capture frames of the span that the recorder lost. */
static long lost_in(const struct clip *c)
{
    const struct side *a = &c->side[0];
    const struct fl_take *t = a->of->take;
    const double length_s = t->time_s[a->first + a->n - 1] - t->time_s[a->first];
    return t->constant_rate ? lrint(length_s * t->capture_rate_hz) + 1 - a->n : 0;
}

static double step_time(const struct clip *c, long k)
{
    const struct side *a = &c->side[0];
    const struct fl_take *t = a->of->take;
    if (c->rate.den)
        return t->time_s[a->first] + (double)k * c->step_s;
    return t->time_s[k < a->n ? a->first + k : a->first + a->n - 1];
}

static double step_length(const struct clip *c, long k)
{
    const struct fl_take *t = c->side[0].of->take;
    const long i = c->side[0].first + k;
    return !c->rate.den && i + 1 < t->frames ? t->time_s[i + 1] - t->time_s[i] : c->step_s;
}

/* ---- opening ---- */

static enum flinch_code open_side(struct clip *c, int i, struct fl_error *err)
{
    struct side *side = &c->side[i];
    const int threads = c->s->threads ? c->s->threads : 2;
    enum flinch_code code = fl_clip_reader_open(&side->reader, side->of->take, side->of->footage,
                                                side->first, threads, err);
    if (!code)
        side->match = fl_footage_match_new(side->of->take);
    return code;
}

static void encoder_settings(struct fl_encoder_settings *e, const struct clip *c, const char *name,
                             const char *title)
{
    const struct fl_footage_info *info = fl_clip_reader_info(c->side[0].reader);
    *e = (struct fl_encoder_settings){.name = name,
                                      .width = c->width,
                                      .height = c->height,
                                      .tick_num = 1,
                                      .tick_den = VARIABLE_TICKS,
                                      .coding = c->coding,
                                      .deep = info->bit_depth > FULL_DEPTH && !c->s->eight_bits,
                                      .aspect_num = info->aspect_num,
                                      .aspect_den = info->aspect_den,
                                      .codec = c->s->codec,
                                      .preset = c->s->preset,
                                      .crf = c->s->crf,
                                      .kbit_s = c->s->kbit_s,
                                      .options = c->s->options,
                                      .title = title,
                                      .comment = fl_clip_notice};
    if (c->rate.den) {
        e->tick_num = c->rate.den;
        e->tick_den = e->rate_num = c->rate.num;
        e->rate_den = c->rate.den;
    }
    e->sound_hz = c->sound ? fl_sound_rate(c->sound) : 0;
}

static enum flinch_code open_sound(struct clip *c, struct fl_error *err)
{
    const struct side *a = &c->side[0];
    const double start_s = fl_clip_reader_start(a->reader);
    if (c->slow > 1 || c->s->mute)
        return FLINCH_OK;
    return fl_sound_open(&c->sound, a->of->footage,
                         (fl_known(start_s) ? start_s : 0) + step_time(c, 0), err);
}

enum { LAPSE_SIZE = 32 };
static void say_lapse(char out[LAPSE_SIZE], size_t lapse)
{
    *out = 0;
    if (lapse)
        snprintf(out, LAPSE_SIZE, ", lapse %zu", lapse);
}

static char *title_of(const struct clip *c)
{
    const struct fl_take *a = c->side[0].of->take, *b = c->sides > 1 ? c->side[1].of->take : NULL;
    char what[2][LAPSE_SIZE];
    for (int i = 0; i < c->sides; i++)
        say_lapse(what[i], c->side[i].of->lapse);
    char *text =
        fl_format("%s · %s%s%s%s%s, from %.3f s", a->spec.game, a->spec.id, what[0],
                  b ? " beside " : "", b ? b->spec.id : "", b ? what[1] : "", step_time(c, 0));
    char *clean = fl_clean_text(text);
    free(text);
    return clean;
}

static enum flinch_code open_encoder(struct clip *c, const struct fl_file *file,
                                     struct fl_error *err)
{
    struct fl_encoder_settings e;
    char *title = title_of(c);
    c->coding = fl_clip_reader_info(c->side[0].reader)->coding;
    fl_clip_frame_size(c->s, &c->width, &c->height);
    enum flinch_code code = open_sound(c, err);
    if (!code) {
        encoder_settings(&e, c, file->path, title);
        code = fl_encoder_open(&c->encoder, file->temp, &e, err);
    }
    free(title);
    return code;
}

static void make_panels(struct clip *c)
{
    for (int i = 0; i < c->sides; i++) {
        struct side *side = &c->side[i];
        fl_clip_lay_out(&side->layout, c->s, c->width, c->height, i);
        side->panel = fl_clip_panel_new(side->of, &side->layout, &c->coding, side->span, c->slow,
                                        c->s->notice_s);
    }
    for (int i = 0; i < c->sides && c->s->window; i++)
        c->side[i].window =
            fl_clip_window_new(c->side[i].of->take, &c->side[i].layout, &c->coding, c->s->window_at,
                               fl_encoder_bits(c->encoder) > FULL_DEPTH);
    fl_flash_grid(c->width, c->height, &c->columns, &c->rows);
    c->light = FL_NEW(struct fl_cell_light, (size_t)(c->columns * c->rows));
    c->flash = fl_flash_new(c->columns * c->rows);
}

/* ---- pictures ---- */

/* What the side shows at a step of the clip. The first take's frames lie at its steps but for
 * rounding, unless the clip has a rate of its own; the other's anywhere between. */
static struct fl_clip_moment moment_of(struct clip *c, int i, long k)
{
    struct side *side = &c->side[i];
    const struct fl_take *t = side->of->take;
    const bool between = i || c->s->rate.den;
    const double period_s = 1 / t->capture_rate_hz, slack_s = (between ? 0.05 : 0.4) * period_s;
    struct fl_clip_moment m = {.time_s = step_time(c, k), .clip_s = c->length_s};
    if (i)
        m.time_s += c->s->b.from_s - c->s->a.from_s;
    m.frame = frame_at(t, m.time_s, slack_s, side->shown > 0 ? side->shown : 0);
    if (m.frame < 0)
        return m;
    side->shown = m.frame;
    m.lost = t->constant_rate && m.time_s - t->time_s[m.frame] > (between ? 1.5 : 0.5) * period_s;
    if (!i && !m.lost)
        m.time_s = t->time_s[m.frame];
    return m;
}

static enum flinch_code draw_side(struct clip *c, int i, long k, struct fl_canvas *canvas,
                                  const struct fl_progress *p, struct fl_error *err)
{
    struct side *side = &c->side[i];
    const struct fl_clip_box *b = &side->layout.picture;
    const struct fl_clip_moment m = moment_of(c, i, k);
    enum flinch_code code = FLINCH_OK;
    if (m.frame >= 0) {
        code = fl_clip_reader_reach(side->reader, m.frame, p, err);
        if (!code)
            code = fl_clip_reader_paint(side->reader, canvas, b->x, b->y, b->w, b->h, err);
        if (code)
            return code;
        fl_footage_match_push(side->match, m.frame, canvas, b->x, b->y, b->w, b->h);
        if (side->window)
            code = fl_clip_window_draw(side->window, side->reader, canvas, err);
        if (code)
            return code;
    }
    fl_clip_panel_draw(side->panel, canvas, &m);
    return code;
}

static enum flinch_code put_sound(struct clip *c, double until_s, struct fl_error *err)
{
    float samples[CHANNELS * 1024];
    enum flinch_code code = FLINCH_OK;
    const long want = c->sound ? lrint(until_s * fl_sound_rate(c->sound)) : 0;
    while (!code && c->sounded < want) {
        const int n = (int)fmin(1024, (double)(want - c->sounded));
        fl_sound_read(c->sound, samples, n);
        c->sounded += n;
        code = fl_encoder_sound(c->encoder, samples, n, err);
    }
    return code;
}

/* Ticks from the start of the clip to copy j of step k. */
static long ticks_of(const struct clip *c, long k, int j)
{
    if (c->rate.den)
        return k * c->copies + j;
    const double start_s = (step_time(c, k) - step_time(c, 0)) * c->copies;
    return lrint((start_s + j * step_length(c, k)) * VARIABLE_TICKS);
}

static enum flinch_code send(struct clip *c, long k, struct fl_clip_report *r, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    const double shown_s = step_length(c, k),
                 tick_s =
                     c->rate.den ? (double)c->rate.den / (double)c->rate.num : 1.0 / VARIABLE_TICKS;
    for (int j = 0; j < c->copies && !code; j++) {
        const long at = ticks_of(c, k, j),
                   lasts = c->rate.den ? 1 : lrint(shown_s * VARIABLE_TICKS);
        code = j ? fl_encoder_repeat(c->encoder, at, lasts, err)
                 : fl_encoder_send(c->encoder, at, lasts, err);
        c->length_s = (double)(at + lasts) * tick_s;
        r->frames++;
    }
    return code ? code : put_sound(c, c->length_s, err);
}

static enum flinch_code draw_step(struct clip *c, long k, struct fl_clip_report *r,
                                  const struct fl_progress *p, struct fl_error *err)
{
    const double at_s = c->length_s;
    struct fl_canvas *canvas = fl_encoder_canvas(c->encoder);
    if (!canvas)
        return fl_fail(err, FLINCH_ERR_WRITE,
                       "no memory for a picture of %d x %d; make it smaller with --height",
                       c->width, c->height);
    fl_canvas_fill(canvas, &c->coding, 0, 0, c->width, c->height, FL_CLIP_GROUND);
    for (int i = 0; i < c->sides; i++) {
        enum flinch_code code = draw_side(c, i, k, canvas, p, err);
        if (code)
            return code;
    }
    fl_flash_cells(c->light, canvas, &c->coding, c->columns, c->rows);
    fl_flash_push(c->flash, c->light, at_s);
    return send(c, k, r, err);
}

static enum flinch_code draw_all(struct clip *c, struct fl_clip_report *r,
                                 const struct fl_progress *p, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    for (long k = 0; k < c->steps && !code; k++) {
        if (fl_progress_stop(p))
            return fl_fail(err, FLINCH_ERR_INTERRUPTED, "stopped; no clip was written");
        fl_progress_report(p, "drawing", (double)k / (double)c->steps);
        code = draw_step(c, k, r, p, err);
    }
    return code;
}

/* ---- checks and the whole ---- */

static enum flinch_code check_match(const struct clip *c, struct fl_error *err)
{
    for (int i = 0; i < c->sides; i++) {
        const struct side *side = &c->side[i];
        double r;
        if (fl_footage_match_tell(side->match, &r) == FL_MATCH_OTHER)
            return fl_fail(err, FLINCH_ERR_USAGE,
                           "%s: does not move as take %s was measured to (correlation %.2f); name "
                           "the footage it was measured from with %s",
                           side->of->footage, side->of->take->spec.id, r,
                           i ? "--footage-beside" : "--footage");
    }
    return FLINCH_OK;
}

static void report(struct fl_clip_report *r, const struct clip *c)
{
    const struct fl_footage_info *info = fl_clip_reader_info(c->side[0].reader);
    r->lost = lost_in(c);
    r->width = c->width;
    r->height = c->height;
    r->rate_hz = c->rate.den ? fl_rate_hz(c->rate) : (double)r->frames / c->length_s;
    r->duration_s = c->length_s;
    r->sound = c->sound != NULL;
    r->codec = fl_encoder_codec(c->encoder);
    r->light = c->coding.light;
    r->bits = fl_encoder_bits(c->encoder);
    r->reduced = info->bit_depth > FULL_DEPTH && r->bits <= FULL_DEPTH;
}

static enum flinch_code make(struct clip *c, const struct fl_file *file, struct fl_clip_report *r,
                             const struct fl_progress *p, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    for (int i = 0; i < c->sides && !code; i++)
        code = plan_side(c, i, err);
    if (code)
        return code;
    plan_steps(c);
    for (int i = 0; i < c->sides && !code; i++)
        code = open_side(c, i, err);
    if (!code)
        code = open_encoder(c, file, err);
    if (code)
        return code;
    make_panels(c);
    code = draw_all(c, r, p, err);
    if (!code)
        code = check_match(c, err);
    if (!code)
        report(r, c);
    return code ? code : fl_encoder_close(&c->encoder, err);
}

static void finish(struct clip *c, struct fl_clip_report *r)
{
    fl_encoder_abandon(&c->encoder);
    fl_sound_close(&c->sound);
    fl_flash_finish(&c->flash, &r->flash);
    free(c->light);
    for (int i = 0; i < c->sides; i++) {
        fl_clip_reader_close(&c->side[i].reader);
        fl_clip_panel_free(&c->side[i].panel);
        fl_clip_window_free(&c->side[i].window);
        fl_footage_match_free(&c->side[i].match);
    }
}

enum flinch_code fl_clip_check(const char *path, const char *codec, bool replace,
                               struct fl_error *err)
{
    enum flinch_code code = fl_encoder_check(path, codec, err);
    if (!code)
        code = fl_fonts_check(err);
    if (!code && !replace && !access(path, F_OK))
        code = fl_fail(
            err, FLINCH_ERR_USAGE,
            "%s: is there already; add --again to write it anew, or choose another name with -o",
            path);
    return code;
}

/* A clip may not take the place of what it is made from, by whatever name. */
static enum flinch_code spare_source(const char *path, const struct fl_clip_settings *s,
                                     struct fl_error *err)
{
    if (!fl_same_file(path, s->a.footage) && !(s->b.take && fl_same_file(path, s->b.footage)))
        return FLINCH_OK;
    return fl_fail(err, FLINCH_ERR_USAGE,
                   "%s: is the recording that the clip is made from; choose another name with -o",
                   path);
}

enum flinch_code fl_clip_write(const char *path, const struct fl_clip_settings *s,
                               struct fl_clip_report *r, const struct fl_progress *progress,
                               struct fl_error *err)
{
    struct clip c = {.s = s, .sides = s->b.take ? 2 : 1};
    struct fl_file file;
    *r = (struct fl_clip_report){0};
    enum flinch_code code = spare_source(path, s, err);
    if (!code)
        code = fl_clip_check(path, s->codec, s->replace, err);
    if (!code)
        code = fl_file_begin_named(&file, path, err);
    if (code)
        return code;
    code = make(&c, &file, r, progress, err);
    finish(&c, r);
    if (!code)
        code = fl_file_commit(&file, err);
    else
        fl_file_abandon(&file);
    if (code)
        fl_clip_report_finish(r);
    return code;
}

void fl_clip_report_finish(struct fl_clip_report *r)
{
    free(r->flash.span);
    *r = (struct fl_clip_report){0};
}
