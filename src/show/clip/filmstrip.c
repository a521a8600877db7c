/* Strips are shot in one more pass over the footage, from key frame to key frame: no picture is
 * kept longer than its strip. */
#include "show/clip/filmstrip.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/clip/frame_fetcher.h"

/* As wide as a captured frame must be for things in it to be known again. */
enum { FRAME_WIDTH = 220 };

char *fl_filmstrip_name(const char *id, size_t run)
{
    return fl_format("strips/%s-%02zu.png", id, run + 1);
}

static char *path_of(const char *folder, const char *id, size_t run)
{
    char *name = fl_filmstrip_name(id, run), *path = fl_path_join(folder, name);
    free(name);
    return path;
}

bool fl_filmstrip_there(const char *folder, const char *id, size_t run)
{
    char *path = path_of(folder, id, run);
    bool there = !access(path, R_OK);
    free(path);
    return there;
}

bool fl_filmstrips_there(const char *folder, const struct fl_take *t)
{
    for (size_t i = 0; i < t->states.n_lapses; i++) {
        const struct fl_lapse *l = &t->states.lapse[i];
        for (size_t run = l->run; run < l->run + l->runs; run++)
            if (!fl_filmstrip_there(folder, t->spec.id, run))
                return false;
    }
    return true;
}

void fl_filmstrips_remove(const char *folder, const char *id, size_t from)
{
    for (bool there = true; there; from++) {
        char *path = path_of(folder, id, from);
        there = !unlink(path);
        free(path);
    }
}

/* The strips of a take while its footage is read: one a lapse, frames filled in as their frames
 * come.
 */
struct shoot {
    const struct fl_take *t;
    const char *folder;
    struct fl_frame_fetcher *fetcher;
    struct fl_strip *strip; /* n_lapses */
    size_t *missing;        /* n_lapses: frames still to come */
    long at;                /* last frame reached; -1: none */
};

static void plan(struct shoot *s)
{
    const struct fl_take *t = s->t;
    s->strip = FL_NEW(struct fl_strip, t->states.n_lapses + 1);
    s->missing = FL_NEW(size_t, t->states.n_lapses + 1);
    for (size_t i = 0; i < t->n_edge_frames; i++) {
        const struct fl_edge_frames *g = &t->edge_frames[i];
        struct fl_strip *strip = &s->strip[g->lapse];
        size_t n = strip->n + (size_t)g->n;
        strip->frame = fl_realloc(strip->frame, n, sizeof *strip->frame);
        for (long k = 0; k < g->n; k++)
            strip->frame[strip->n++] =
                (struct fl_strip_frame){g->first + k, g->bands + k * t->bands, NULL, NULL};
        s->missing[g->lapse] = n;
    }
}

static void drop_frames(struct fl_strip *strip)
{
    for (size_t i = 0; i < strip->n; i++) {
        free(strip->frame[i].picture);
        free(strip->frame[i].difference);
    }
    free(strip->frame);
    *strip = (struct fl_strip){0};
}

/* The first frame past the one reached that some edge needs (its own, or the one before its
 * first), and that edge; -1 when all are done. */
static long next_wanted(const struct shoot *s, const struct fl_edge_frames **of)
{
    long best = -1;
    for (size_t i = 0; i < s->t->n_edge_frames; i++) {
        const struct fl_edge_frames *g = &s->t->edge_frames[i];
        long from = g->first > 0 ? g->first - 1 : 0;
        long next = from > s->at ? from : s->at + 1;
        if (next < g->first + g->n && (best < 0 || next < best)) {
            best = next;
            *of = g;
        }
    }
    return best;
}

static enum flinch_code finish_strip(struct shoot *s, size_t lapse, struct fl_error *err)
{
    struct fl_strip *strip = &s->strip[lapse];
    strip->take = s->t;
    strip->lapse = lapse;
    strip->width = FRAME_WIDTH;
    strip->height = fl_frame_fetcher_height(s->fetcher);
    char *path = path_of(s->folder, s->t->spec.id, s->t->states.lapse[lapse].run);
    enum flinch_code code = fl_strip_write(strip, path, err);
    free(path);
    drop_frames(strip);
    return code;
}

/* Gives the frame reached to every strip that shows it. */
static enum flinch_code hand_out(struct shoot *s, struct fl_error *err)
{
    enum flinch_code code = FLINCH_OK;
    for (size_t i = 0; i < s->t->n_edge_frames && !code; i++) {
        const struct fl_edge_frames *g = &s->t->edge_frames[i];
        if (s->at < g->first || s->at >= g->first + g->n)
            continue;
        struct fl_strip *strip = &s->strip[g->lapse];
        for (size_t k = 0; k < strip->n; k++)
            if (strip->frame[k].number == s->at) {
                strip->frame[k].picture = fl_frame_fetcher_picture(s->fetcher);
                strip->frame[k].difference = fl_frame_fetcher_difference(s->fetcher);
                s->missing[g->lapse]--;
            }
        if (!s->missing[g->lapse])
            code = finish_strip(s, g->lapse, err);
    }
    return code;
}

static enum flinch_code shoot_all(struct shoot *s, const struct fl_progress *progress,
                                  struct fl_error *err)
{
    const struct fl_edge_frames *g = NULL;
    enum flinch_code code = FLINCH_OK;
    for (long next; !code && (next = next_wanted(s, &g)) >= 0;) {
        code = fl_frame_fetcher_reach(s->fetcher, g, next, err);
        s->at = next;
        if (!code)
            code = hand_out(s, err);
        fl_progress_report(progress, "filmstrips", (double)next / (double)s->t->frames);
        if (!code && fl_progress_stop(progress))
            code = fl_fail(err, FLINCH_ERR_INTERRUPTED, "%s: stopped", s->t->spec.footage);
    }
    return code;
}

enum flinch_code fl_filmstrips_write(const char *folder, const struct fl_take *t, int threads,
                                     const struct fl_progress *progress, struct fl_error *err)
{
    struct shoot s = {.t = t, .folder = folder, .at = -1};
    size_t n = t->states.n_lapses;
    fl_filmstrips_remove(folder, t->spec.id,
                         n ? t->states.lapse[n - 1].run + t->states.lapse[n - 1].runs : 0);
    if (!t->n_edge_frames)
        return FLINCH_OK;
    char *strips = fl_path_join(folder, "strips");
    enum flinch_code code = fl_make_folder(strips, err);
    free(strips);
    if (!code)
        code = fl_frame_fetcher_open(&s.fetcher, t, FRAME_WIDTH, threads, err);
    if (!code) {
        plan(&s);
        code = shoot_all(&s, progress, err);
        for (size_t i = 0; i < t->states.n_lapses; i++)
            drop_frames(&s.strip[i]);
        free(s.strip);
        free(s.missing);
    }
    fl_frame_fetcher_close(&s.fetcher);
    return code;
}
