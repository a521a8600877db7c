/* Frames are the grain: what a person looks at is one of them. */
#include "study/compare/audit_ground.h"

#include <math.h>
#include <stdlib.h>

#include "study/take/exposure.h"

/* Where neither base rate is known: longer than any that games run at. */
static const double unknown_period_s = 1.0 / 20;

static const struct {
    const char *name, *label;
} words[] = {[FL_STRATUM_ON] = {"on_turning", "on while turning"},
             [FL_STRATUM_OFF] = {"off", "off"},
             [FL_STRATUM_EDGE] = {"near_edge", "near edges"}};

const char *fl_stratum_name(enum fl_stratum s)
{
    return words[s].name;
}

const char *fl_stratum_label(enum fl_stratum s)
{
    return words[s].label;
}

/* ---- edges ---- */

struct edges {
    struct fl_span *v; /* from the last sight of one state to the first of the other */
    size_t n, cap;
};

/* In time order and apart, as spans are. */
static struct edges find_edges(const struct fl_states *s)
{
    const struct fl_state_span *before = NULL;
    struct edges e = {0};
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *now = &s->span[i];
        if (now->state == FL_STATE_UNSEEN)
            continue;
        if (before && before->state != now->state)
            FL_PUSH(e.v, e.n, e.cap, ((struct fl_span){before->end_s, now->start_s}));
        before = now;
    }
    return e;
}

/* From a frame's time to the nearest edge, s; 0 where they overlap. *next: the first edge that does
 * not end before the frame, moved on. */
static double distance(const struct edges *e, size_t *next, double from_s, double to_s)
{
    double least = INFINITY;
    while (*next < e->n && e->v[*next].end_s < from_s)
        ++*next;
    if (*next < e->n)
        least = fmax(0, e->v[*next].start_s - to_s);
    if (*next > 0)
        least = fmin(least, from_s - e->v[*next - 1].end_s);
    return least;
}

/* ---- frames ---- */

static double frame_end(const struct fl_take *t, long frame)
{
    return frame + 1 < t->frames ? t->time_s[frame + 1] : t->duration_s;
}

static double longest_period(const struct fl_states *s)
{
    const double rate =
        fmin(s->base_rate_on_hz, s->base_rate_off_hz); /* the known one, if one is */
    return rate > 0 ? 1 / rate : unknown_period_s;
}

/* FL_STRATA: none. */
static enum fl_stratum stratum_of(const struct fl_take *t, long frame, enum fl_state state,
                                  double periods)
{
    const float *speed = t->quantity[FL_CAMERA_SPEED];
    if (periods < FL_AUDIT_CLEAR)
        return FL_STRATA;
    if (periods <= FL_AUDIT_NEAR)
        return FL_STRATUM_EDGE;
    if (state == FL_STATE_OFF)
        return FL_STRATUM_OFF;
    return !speed || speed[frame] > FL_MOTION_DEG_S ? FL_STRATUM_ON : FL_STRATA;
}

static void add_frame(struct fl_audit_ground *g, struct fl_audit_run frame, double lasts_s)
{
    struct fl_audit_run *last = g->n ? &g->run[g->n - 1] : NULL;
    g->stratum_s[frame.stratum] += lasts_s;
    if (last && last->take == frame.take && last->stretch == frame.stretch &&
        last->stratum == frame.stratum && last->first + last->n == frame.first)
        last->n++;
    else
        FL_PUSH(g->run, g->n, g->cap, frame);
}

static void add_take(struct fl_audit_ground *g, const struct fl_take *t, size_t take)
{
    const struct fl_states *s = &t->states;
    const double period_s = longest_period(s);
    struct edges edges = find_edges(s);
    size_t span = 0, next = 0;
    for (size_t i = 0; i < s->n_spans; i++)
        g->seen_s +=
            s->span[i].state == FL_STATE_UNSEEN ? 0 : s->span[i].end_s - s->span[i].start_s;
    for (long f = 1; f < t->frames; f++) { /* nothing comes before frame 0 to compare it with */
        const double from_s = t->time_s[f], to_s = frame_end(t, f);
        while (span < s->n_spans && s->span[span].end_s <= from_s)
            span++;
        const struct fl_state_span *in = span < s->n_spans ? &s->span[span] : NULL;
        if (!in || in->state == FL_STATE_UNSEEN || in->start_s > from_s || in->end_s < to_s)
            continue;
        const double periods = distance(&edges, &next, from_s, to_s) / period_s;
        const enum fl_stratum stratum = stratum_of(t, f, in->state, periods);
        if (stratum < FL_STRATA)
            add_frame(g, (struct fl_audit_run){take, span, f, 1, stratum}, to_s - from_s);
    }
    free(edges.v);
}

void fl_audit_ground_find(struct fl_audit_ground *out, const struct fl_session *s)
{
    *out = (struct fl_audit_ground){0};
    for (size_t i = 0; i < s->n_takes; i++)
        if (!s->takes[i]->spec.synthesis_disabled)
            add_take(out, s->takes[i], i);
}

const struct fl_audit_run *fl_audit_ground_at(const struct fl_audit_ground *g, size_t take,
                                              long frame)
{
    for (size_t i = 0; i < g->n; i++)
        if (g->run[i].take == take && frame >= g->run[i].first &&
            frame < g->run[i].first + g->run[i].n)
            return &g->run[i];
    return NULL;
}

void fl_audit_ground_finish(struct fl_audit_ground *g)
{
    free(g->run);
    *g = (struct fl_audit_ground){0};
}
