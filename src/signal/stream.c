/* The stream of signals: pictures in, one row of figures a frame and kind out, a few frames later.
 */
#include "signal/stream.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "signal/kinds.h"

/* Working pictures at hand when a frame settles: those ahead of it, its own and the one before. */
enum { HELD = FL_SIGNAL_AHEAD + 2 };

struct fl_signal_stream {
    struct fl_signals out;
    uint8_t *picture[HELD];
    void **state; /* a kind; NULL without one */
};

struct fl_signal_stream *fl_signals_open_kinds(int width, int height,
                                               const struct fl_signal_kind *const *kinds)
{
    struct fl_signal_stream *s = FL_NEW(struct fl_signal_stream, 1);
    struct fl_grid g;
    fl_grid_init(&g, width, height);
    fl_signals_init(&s->out, &g, kinds);
    for (int i = 0; i < HELD; i++)
        s->picture[i] = fl_calloc((size_t)g.height, (size_t)g.stride);
    s->state = FL_NEW(void *, s->out.n_kinds);
    for (size_t k = 0; k < s->out.n_kinds; k++) {
        s->state[k] = kinds[k]->state_size ? fl_calloc(1, kinds[k]->state_size) : NULL;
        if (kinds[k]->open)
            kinds[k]->open(s->state[k], &g);
    }
    return s;
}

struct fl_signal_stream *fl_signals_open(int width, int height)
{
    return fl_signals_open_kinds(width, height, fl_signal_kinds);
}

static void *row_of(const struct fl_signal_stream *s, size_t kind, size_t frame)
{
    const struct fl_signal_rows *r = &s->out.of[kind];
    return r->size ? r->row + frame * r->size : NULL;
}

static struct fl_signal_view view_of(const struct fl_signal_stream *s, size_t frame)
{
    return (struct fl_signal_view){.s = &s->out,
                                   .frame = frame,
                                   .before = frame ? s->picture[(frame - 1) % HELD] : NULL,
                                   .now = s->picture[frame % HELD]};
}

/* Band by band, so that native rows pass through the cache once. */
static void read_luma(struct fl_signal_stream *s, const struct fl_signal_view *v)
{
    const struct fl_grid *g = &s->out.grid;
    for (int b = 0; b < g->bands; b++) {
        fl_picture_reduce_rows(g, v->luma, v->luma_stride, fl_band_row(g, b), fl_band_row(g, b + 1),
                               s->picture[v->frame % HELD]);
        for (size_t k = 0; k < s->out.n_kinds; k++)
            if (s->out.of[k].kind->band)
                s->out.of[k].kind->band(s->state[k], v, b, row_of(s, k, v->frame));
    }
}

static void settle(struct fl_signal_stream *s, size_t frame)
{
    const struct fl_signal_view v = view_of(s, frame);
    assert(s->out.n < frame + HELD); /* its pictures are not overwritten yet */
    for (size_t k = 0; k < s->out.n_kinds; k++)
        if (s->out.of[k].kind->settle)
            s->out.of[k].kind->settle(s->state[k], &v, row_of(s, k, frame));
}

void fl_signals_push(struct fl_signal_stream *s, const uint8_t *luma, ptrdiff_t stride, bool key)
{
    size_t i = s->out.n;
    fl_signals_add(&s->out);
    struct fl_signal_view v = view_of(s, i);
    v.key = key;
    v.luma = luma;
    v.luma_stride = stride;
    read_luma(s, &v);
    for (size_t k = 0; k < s->out.n_kinds; k++)
        if (s->out.of[k].kind->push)
            s->out.of[k].kind->push(s->state[k], &v, row_of(s, k, i));
    if (i >= FL_SIGNAL_AHEAD)
        settle(s, i - FL_SIGNAL_AHEAD);
}

const struct fl_signals *fl_signals_so_far(const struct fl_signal_stream *s)
{
    return &s->out;
}

/* Kinds, like this file, keep the last few pictures by a frame's number modulo how many: 5 or 8. */
_Static_assert(FL_SIGNALS_KEPT % HELD == 0 && FL_SIGNALS_KEPT % 8 == 0, "places stay");

size_t fl_signals_forget(struct fl_signal_stream *s, size_t n)
{
    const size_t parts = s->out.n / FL_SIGNALS_KEPT, most = parts ? parts - 1 : 0,
                 want = n / FL_SIGNALS_KEPT, gone = (want < most ? want : most) * FL_SIGNALS_KEPT;
    for (size_t k = 0; gone && k < s->out.n_kinds; k++) {
        struct fl_signal_rows *r = &s->out.of[k];
        if (r->size)
            memmove(r->row, r->row + gone * r->size, (s->out.n - gone) * r->size);
    }
    s->out.n -= gone;
    return gone;
}

void fl_signals_finish(struct fl_signal_stream **sp, struct fl_signals *out)
{
    struct fl_signal_stream *s = *sp;
    size_t n = s->out.n, first = n > FL_SIGNAL_AHEAD ? n - FL_SIGNAL_AHEAD : 0;
    for (size_t i = first; i < n; i++)
        settle(s, i);
    for (size_t k = 0; k < s->out.n_kinds; k++) {
        if (s->out.of[k].kind->close)
            s->out.of[k].kind->close(s->state[k]);
        free(s->state[k]);
    }
    *out = s->out;
    for (int i = 0; i < HELD; i++)
        free(s->picture[i]);
    free(s->state);
    free(s);
    *sp = NULL;
}
