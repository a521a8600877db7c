/* Which frames around an edge show it: a few before, and as many after as a base period or two
 * needs. */
#include "study/take/edge_frames.h"

#include <stdlib.h>

/* Frames about an edge: at least these, more where a base period is many frames long. */
enum { LEAST_BEFORE = 3, LEAST_AFTER = 5, MOST_BEFORE = 6, MOST_AFTER = 12, BESIDE = 2 };
/* Base periods that tell one rate from half of it by eye. */
static const double periods_before = 1.5, periods_after = 3;
/* Coded pictures are stored out of order by at most 16 (H.264 and HEVC: size of the decoded picture
 * buffer); a key frame this far before needs none that lies before it. */
enum { REORDER = 16 };
/* A band counts as changed or still from here. */
static const float sure = 0.5f;

/* Frames [first, end). */
struct window {
    long first, end;
};

static long frame_at(const struct fl_take *t, double time_s)
{
    long lo = 0, hi = t->frames;
    while (hi - lo > 1) {
        long middle = (lo + hi) / 2;
        if (t->time_s[middle] <= time_s)
            lo = middle;
        else
            hi = middle;
    }
    return lo;
}

static long frames_in(const struct fl_take *t, double periods, double base_hz, long least,
                      long most)
{
    double n = fl_known(base_hz) ? ceil(periods / base_hz * t->capture_rate_hz) : (double)least;
    return (long)fl_clamp(n, (double)least, (double)most);
}

static struct window about(const struct fl_take *t, double time_s, long before, long after)
{
    long at = frame_at(t, time_s), last = at + after + 1;
    return (struct window){at > before ? at - before : 0, last < t->frames ? last : t->frames};
}

/* The window about the edge, where the edge is an end of its bracket; and short ones about the ends
 * of the bracket that it leaves out: what is between them shows nothing. */
static size_t look_at(struct window *w, const struct fl_take *t, double edge_s,
                      const double range_s[2])
{
    double off = t->states.base_rate_off_hz, on = t->states.base_rate_on_hz;
    long before = frames_in(t, periods_before, fl_known(on) ? on : off, LEAST_BEFORE, MOST_BEFORE);
    long after = frames_in(t, periods_after, fl_known(off) ? off : on, LEAST_AFTER, MOST_AFTER);
    long at = frame_at(t, edge_s), low = frame_at(t, range_s[0]), high = frame_at(t, range_s[1]);
    bool whole = at == low || at == high || (low >= at - before && high <= at + after);
    size_t n = 0;
    if (whole)
        w[n++] = about(t, edge_s, before, after);
    if (!whole || low < at - before)
        w[n++] = about(t, range_s[0], BESIDE, BESIDE);
    if (!whole || high > at + after)
        w[n++] = about(t, range_s[1], BESIDE, BESIDE);
    return n;
}

static int by_first(const void *a, const void *b)
{
    long x = ((const struct window *)a)->first, y = ((const struct window *)b)->first;
    return (x > y) - (x < y);
}

/* In time order, those that touch made one. */
static size_t join(struct window *w, size_t n)
{
    size_t kept = 0;
    qsort(w, n, sizeof *w, by_first);
    for (size_t i = 0; i < n; i++) {
        struct window *last = kept ? &w[kept - 1] : NULL;
        if (last && w[i].first <= last->end)
            last->end = w[i].end > last->end ? w[i].end : last->end;
        else
            w[kept++] = w[i];
    }
    return kept;
}

static bool times_rise(const double *pts_s, long n)
{
    for (long i = 0; i < n; i++)
        if (!fl_known(pts_s[i]) || (i && pts_s[i] <= pts_s[i - 1]))
            return false;
    return true;
}

static void keep(struct fl_take *t, const struct fl_edge_source *s, size_t lapse, struct window w)
{
    struct fl_edge_frames *g = &t->edge_frames[t->n_edge_frames++];
    size_t n = (size_t)(w.end - w.first), bands = (size_t)s->bands;
    *g = (struct fl_edge_frames){.lapse = lapse,
                                 .first = w.first,
                                 .n = w.end - w.first,
                                 .key_pts_s = FL_UNKNOWN,
                                 .pts_s = FL_ARENA(t->arena, double, n + 1),
                                 .bands = FL_ARENA(t->arena, signed char, n *bands)};
    for (size_t i = 0; i <= n; i++) {
        long frame = w.first - 1 + (long)i;
        g->pts_s[i] = frame < 0 ? FL_UNKNOWN : s->pts_s[frame];
    }
    for (size_t k = 0; k < n * bands; k++) {
        float v = s->verdict[(size_t)w.first * bands + k];
        g->bands[k] = v >= sure ? 1 : v <= -sure ? -1 : 0;
    }
    for (g->key_frame = w.first - REORDER; g->key_frame > 0 && !s->key[g->key_frame];)
        g->key_frame--;
    if (g->key_frame < 0)
        g->key_frame = 0;
}

void fl_edge_frames_find(struct fl_take *t, const struct fl_edge_source *s)
{
    enum { MOST = 4 }; /* windows of a lapse */
    t->bands = s->bands;
    t->edge_frames = FL_ARENA(t->arena, struct fl_edge_frames, MOST * t->states.n_lapses + 1);
    t->n_edge_frames = 0;
    bool seekable = times_rise(s->pts_s, t->frames);
    for (size_t i = 0; i < t->states.n_lapses; i++) {
        const struct fl_lapse *l = &t->states.lapse[i];
        struct window w[MOST];
        size_t n = look_at(w, t, l->start_s, l->start_range_s);
        n += look_at(w + n, t, l->end_s, l->end_range_s);
        n = join(w, n);
        for (size_t k = 0; k < n; k++)
            keep(t, s, i, w[k]);
    }
    for (size_t i = 0; seekable && i < t->n_edge_frames; i++)
        t->edge_frames[i].key_pts_s = s->pts_s[t->edge_frames[i].key_frame];
}
