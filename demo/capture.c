#include "capture.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "desk.h"
#include "inset.h"
#include "rng.h"

static void copy_rows(struct st_picture *to, const struct st_picture *from, int first, int last)
{
    for (int i = 0; i < 3; i++) {
        int a = i ? (first + 1) / 2 : first, b = i ? (last + 1) / 2 : last,
            width = i ? to->width / 2 : to->width;
        for (int y = a; y < b; y++)
            memcpy(to->plane[i] + (ptrdiff_t)y * to->stride[i],
                   from->plane[i] + (ptrdiff_t)y * from->stride[i], (size_t)width);
    }
}

/* First row of frame n scanned at or after time t; height or more: in the blank or later. */
static int row_at(const struct st_scenario *s, long n, double t)
{
    double row = (t * s->fps - (double)n) / (1 - s->blank) * st_render_height(s);
    return (int)ceil(fmin(row, 2.0 * st_render_height(s)));
}

/* Frame n of the card; *output is the one on screen at its first row, and moves on. Its tears are
 * noted for its place in the file. */
static void scan_frame(struct st_capture *c, const struct st_scenario *s, const struct st_game *g,
                       struct st_film *film, long n, size_t *output, struct st_picture *to)
{
    int row = 0;
    while (*output + 1 < g->n_outputs &&
           row_at(s, n, g->outputs[*output + 1].time_s) < to->height) {
        int next = row_at(s, n, g->outputs[*output + 1].time_s);
        if (next >= 0 && g->outputs[*output + 1].time_s * s->fps >= (double)n) {
            struct st_tear tear = {s->renumbered ? c->frames : n, next, *output, *output + 1};
            FL_PUSH(c->tears, c->n_tears, c->cap_tears, tear);
        }
        if (next > row) {
            copy_rows(to, st_film_output(film, *output), row, next);
            row = next;
        }
        ++*output;
    }
    copy_rows(to, st_film_output(film, *output), row, to->height);
}

/* The newest output frame as frame n begins. */
static void take_whole(const struct st_scenario *s, const struct st_game *g, struct st_film *film,
                       long n, size_t *output, struct st_picture *to)
{
    while (*output + 1 < g->n_outputs && g->outputs[*output + 1].time_s * s->fps <= (double)n)
        ++*output;
    copy_rows(to, st_film_output(film, *output), 0, to->height);
}

static bool stopped(const struct fl_progress *p, const struct st_scenario *s, double done)
{
    fl_progress_report(p, s->name, done);
    return fl_progress_stop(p);
}

/* A card at work: what it sees, and what of that it keeps. */
struct card {
    struct st_capture *capture;
    const struct st_scenario *scenario;
    const struct st_game *game;
    struct st_film *film;
    struct st_encoder *encoder;
    struct st_inset *inset;
    struct st_picture kept; /* the frame before, for doubles */
    struct st_rng rng;
    size_t output;
    bool whole; /* the frame before went out as it was */
};

static struct card card_open(struct st_capture *c, const struct st_scenario *s,
                             const struct st_game *g, struct st_film *film,
                             struct st_encoder *encoder)
{
    struct card k = {.capture = c, .scenario = s, .game = g, .film = film, .encoder = encoder};
    k.rng = st_rng(s->seed, 8);
    if (s->inset)
        k.inset = st_inset_new(st_render_width(s), st_render_height(s), s->seed);
    st_picture_init(&k.kept, st_render_width(s), st_render_height(s));
    while (k.output + 1 < g->n_outputs && g->outputs[k.output + 1].time_s <= 0)
        k.output++;
    return k;
}

static void card_close(struct card *k)
{
    st_inset_free(&k->inset);
    st_picture_finish(&k->kept);
}

/* Sends a picture for frame n: its own, or the one before once more. */
static void card_send(struct card *k, long n, const struct st_picture *p)
{
    const struct st_scenario *s = k->scenario;
    struct st_capture *c = k->capture;
    copy_rows(st_encoder_begin(k->encoder), p, 0, p->height);
    if (s->renumbered)
        FL_PUSH(c->place, c->n_places, c->cap_places, n);
    st_encoder_send(k->encoder, s->renumbered ? c->frames : n);
    c->frames++;
}

static void card_film(struct card *k, long n, struct st_picture *to)
{
    const struct st_scenario *s = k->scenario;
    if (s->capture == ST_WHOLE)
        take_whole(s, k->game, k->film, n, &k->output, to);
    else
        scan_frame(k->capture, s, k->game, k->film, n, &k->output, to);
    if (k->inset)
        st_inset_draw(k->inset, (double)n / s->fps, to);
    if (s->desk)
        st_desk_draw((double)n / s->fps, to);
    if (s->pillars > 0)
        st_pillars(to, s->pillars);
}

static void card_frame(struct card *k, long n)
{
    const struct st_scenario *s = k->scenario;
    struct st_capture *c = k->capture;
    if (s->drop_share <= 0 && s->repeat_share <= 0) { /* straight in, spared a copy */
        card_film(k, n, st_encoder_begin(k->encoder));
        st_encoder_send(k->encoder, n);
        c->frames++;
        return;
    }
    bool lost = n > 0 && st_uniform(&k->rng, 0, 1) < s->drop_share;
    bool doubled = k->whole && !lost && st_uniform(&k->rng, 0, 1) < s->repeat_share;
    if (doubled)
        card_send(k, n, &k->kept); /* late: the one before stands in */
    size_t tears = c->n_tears;
    k->whole = !lost && (!doubled || s->renumbered);
    card_film(k, n, &k->kept);
    if (k->whole)
        card_send(k, n, &k->kept);
    else
        c->n_tears = tears; /* nobody saw them */
}

static enum flinch_code run_card(struct st_capture *c, const struct st_scenario *s,
                                 const struct st_game *g, struct st_film *film,
                                 struct st_encoder *encoder, const struct fl_progress *p,
                                 struct fl_error *err)
{
    long frames = lround(s->seconds * s->fps);
    enum flinch_code code = FLINCH_OK;
    struct card k = card_open(c, s, g, film, encoder);
    for (long n = 0; n < frames && !code; n++) {
        if (stopped(p, s, (double)n / (double)frames))
            code = fl_fail(err, FLINCH_ERR_INTERRUPTED, "interrupted");
        else
            card_frame(&k, n);
    }
    card_close(&k);
    c->duration_s = (double)(s->renumbered ? c->frames : frames) / s->fps;
    return code;
}

static enum flinch_code run_local(struct st_capture *c, const struct st_scenario *s,
                                  const struct st_game *g, struct st_film *film,
                                  struct st_encoder *encoder, const struct fl_progress *p,
                                  struct fl_error *err)
{
    for (size_t i = 0; i < g->n_outputs && g->outputs[i].time_s < s->seconds; i++) {
        if (g->outputs[i].missing)
            continue;
        if (stopped(p, s, g->outputs[i].time_s / s->seconds))
            return fl_fail(err, FLINCH_ERR_INTERRUPTED, "interrupted");
        copy_rows(st_encoder_begin(encoder), st_film_output(film, i), 0, st_render_height(s));
        st_encoder_send(encoder, llround(g->outputs[i].time_s * s->ticks_hz));
        c->frames++;
        c->duration_s = g->outputs[i].time_s + 0.5 / s->base_hz;
    }
    return FLINCH_OK;
}

enum flinch_code st_capture_run(struct st_capture *c, const struct st_scenario *s,
                                const struct st_game *game, struct st_film *film,
                                struct st_encoder *encoder, const struct fl_progress *progress,
                                struct fl_error *err)
{
    *c = (struct st_capture){.fps = s->fps};
    if (s->capture == ST_LOCAL)
        return run_local(c, s, game, film, encoder, progress, err);
    return run_card(c, s, game, film, encoder, progress, err);
}

double st_footage_of(const struct st_capture *c, double card_s)
{
    if (!c->n_places)
        return card_s;
    double at = card_s * c->fps;
    if (at < 0)
        return card_s;
    size_t k = 0; /* the last place whose frame had begun by then */
    while (k + 1 < c->n_places && (double)c->place[k + 1] <= at)
        k++;
    bool last = k + 1 == c->n_places, next = !last && c->place[k + 1] == c->place[k] + 1;
    double into = at - (double)c->place[k];
    /* what happened during a lost frame shows as the next one begins */
    return ((double)k + (last || next ? into : fmin(into, 1))) / c->fps;
}

void st_capture_finish(struct st_capture *c)
{
    free(c->tears);
    free(c->place);
    *c = (struct st_capture){0};
}
