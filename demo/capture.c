#include "capture.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

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
    double row = (t * s->fps - (double)n) / (1 - s->blank) * s->height;
    return (int)ceil(fmin(row, 2.0 * s->height));
}

/* One capture frame; *output is the one on screen at its first row, and moves on. */
static void scan_frame(struct st_capture *c, const struct st_scenario *s, const struct st_game *g,
                       struct st_film *film, size_t *output, struct st_picture *to)
{
    int row = 0;
    while (*output + 1 < g->n_outputs &&
           row_at(s, c->frames, g->outputs[*output + 1].time_s) < s->height) {
        int next = row_at(s, c->frames, g->outputs[*output + 1].time_s);
        if (next >= 0 && g->outputs[*output + 1].time_s * s->fps >= (double)c->frames) {
            struct st_tear tear = {c->frames, next, *output, *output + 1};
            FL_PUSH(c->tears, c->n_tears, c->cap_tears, tear);
        }
        if (next > row) {
            copy_rows(to, st_film_output(film, *output), row, next);
            row = next;
        }
        ++*output;
    }
    copy_rows(to, st_film_output(film, *output), row, s->height);
}

static bool stopped(const struct fl_progress *p, const struct st_scenario *s, double done)
{
    fl_progress_report(p, s->name, done);
    return fl_progress_stop(p);
}

static enum flinch_code run_card(struct st_capture *c, const struct st_scenario *s,
                                 const struct st_game *g, struct st_film *film,
                                 struct st_encoder *encoder, const struct fl_progress *p,
                                 struct fl_error *err)
{
    long frames = lround(s->seconds * s->fps);
    size_t output = 0;
    while (output + 1 < g->n_outputs && g->outputs[output + 1].time_s <= 0)
        output++;
    for (; c->frames < frames; c->frames++) {
        if (stopped(p, s, (double)c->frames / (double)frames))
            return fl_fail(err, FLINCH_ERR_INTERRUPTED, "interrupted");
        scan_frame(c, s, g, film, &output, st_encoder_begin(encoder));
        st_encoder_send(encoder, c->frames);
    }
    c->duration_s = (double)frames / s->fps;
    return FLINCH_OK;
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
        copy_rows(st_encoder_begin(encoder), st_film_output(film, i), 0, s->height);
        st_encoder_send(encoder, llround(g->outputs[i].time_s * 1000));
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
    *c = (struct st_capture){0};
    if (s->capture == ST_LOCAL)
        return run_local(c, s, game, film, encoder, progress, err);
    return run_card(c, s, game, film, encoder, progress, err);
}

void st_capture_finish(struct st_capture *c)
{
    free(c->tears);
    *c = (struct st_capture){0};
}
