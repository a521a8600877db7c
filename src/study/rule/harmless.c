/* Levels from what was seen: no threshold is taken from elsewhere. */
#include "study/rule/harmless.h"

#include <stdlib.h>

#include "maths/robust.h"

#define LEAST_S 1.0 /* seen on at a level for this long, in so many stretches */
#define LEAST_STRETCHES 5
#define BEFORE_S 0.1     /* a trip's cause may lie this far before on was last seen */
#define AFTER_FRAMES 1.5 /* an edge is known to about a base period */

/* Nothing moves: the reach of an error whose tenth percentile is given (as of flicks), but no more
 * than would pass for rest in any game (common practice, no source). */
#define STILL_REACH 8.0
#define STILL_DEG_S 5.0
#define STILL_CHANGE_FACTOR 2.0
#define STILL_CHANGE 0.01 /* of nominal range: about two grey levels */

const enum fl_quantity fl_harmless_quantity[FL_HARMLESS_QUANTITIES] = {
    FL_HAND_SPEED, FL_CAMERA_SPEED, FL_IMAGE_CHANGE};
enum { HAND, CAMERA, CHANGE };

/* ---- how fast on was seen at ---- */

struct sample {
    float value;
    float seconds;
};

struct samples {
    struct sample *v;
    size_t n, cap;
    double *top; /* a stretch: the most in it */
    size_t n_top, cap_top;
};

static size_t frame_from(const struct fl_take *t, double time_s)
{
    size_t lo = 0, hi = (size_t)t->frames;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        if (t->time_s[mid] < time_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

static double frame_end(const struct fl_take *t, size_t i)
{
    return i + 1 < (size_t)t->frames ? t->time_s[i + 1] : fmax(t->duration_s, t->time_s[i]);
}

static void gather_stretch(struct samples *s, const struct fl_take *t, const float *q,
                           const struct fl_sighting *on)
{
    double top = -INFINITY;
    for (size_t i = frame_from(t, on->start_s); i < (size_t)t->frames && t->time_s[i] < on->end_s;
         i++) {
        if (isnan(q[i]))
            continue;
        struct sample v = {q[i], (float)(frame_end(t, i) - t->time_s[i])};
        FL_PUSH(s->v, s->n, s->cap, v);
        top = fmax(top, q[i]);
    }
    if (isfinite(top))
        FL_PUSH(s->top, s->n_top, s->cap_top, top);
}

static int faster_sample(const void *a, const void *b)
{
    float x = ((const struct sample *)a)->value, y = ((const struct sample *)b)->value;
    return (x < y) - (x > y);
}

static int larger(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x < y) - (x > y);
}

/* The most that on was seen at or above for long enough, often enough; 0 if there is no such. */
static double level_of(struct samples *s)
{
    double seconds = 0;
    if (s->n_top < LEAST_STRETCHES)
        return 0;
    qsort(s->v, s->n, sizeof *s->v, faster_sample);
    qsort(s->top, s->n_top, sizeof *s->top, larger);
    for (size_t i = 0; i < s->n; i++) {
        seconds += (double)s->v[i].seconds;
        if (seconds >= LEAST_S)
            return fmin((double)s->v[i].value, s->top[LEAST_STRETCHES - 1]);
    }
    return 0;
}

static double learn_level(struct fl_take *const *takes, const struct fl_sightings *seen, size_t n,
                          enum fl_quantity quantity)
{
    struct samples s = {0};
    bool measured = false;
    for (size_t k = 0; k < n; k++) {
        const float *q = takes[k]->quantity[quantity];
        measured = measured || q;
        for (size_t i = 0; q && i < seen[k].n; i++)
            if (seen[k].v[i].state == FL_STATE_ON)
                gather_stretch(&s, takes[k], q, &seen[k].v[i]);
    }
    double level = measured ? level_of(&s) : FL_UNKNOWN;
    free(s.v);
    free(s.top);
    return level;
}

/* ---- how far a frame is above the levels ---- */

struct stillness {
    double most[FL_HARMLESS_QUANTITIES];
};

static struct stillness stillness_of(const struct fl_take *t)
{
    const float *camera = t->quantity[FL_CAMERA_SPEED], *change = t->quantity[FL_IMAGE_CHANGE];
    size_t n = (size_t)t->frames;
    struct stillness s = {{0}};
    if (camera)
        s.most[CAMERA] = fmin(STILL_REACH * fl_quantile_f(camera, n, 0.1), STILL_DEG_S);
    if (change)
        s.most[CHANGE] = fmin(STILL_CHANGE_FACTOR * fl_quantile_f(change, n, 0.1), STILL_CHANGE);
    return s;
}

/* 0 at rest, up to 1 harmless, INFINITY where it cannot be known. */
static double above(const struct fl_harmless *h, const struct stillness *still,
                    const struct fl_take *t, size_t i)
{
    double most = 0;
    bool known[FL_HARMLESS_QUANTITIES] = {false}, asked[FL_HARMLESS_QUANTITIES] = {false};
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++) {
        const float *q = t->quantity[fl_harmless_quantity[k]];
        asked[k] = q != NULL;
        known[k] = q && !isnan(q[i]);
        if (known[k] && q[i] > still->most[k])
            most = fmax(most, h->level[k] > 0 ? q[i] / h->level[k] : INFINITY);
    }
    bool moved = known[HAND] || known[CAMERA] || !(asked[HAND] || asked[CAMERA]);
    bool changed = known[CHANGE] || !asked[CHANGE];
    return moved && changed && (known[HAND] || known[CAMERA] || known[CHANGE]) ? most : INFINITY;
}

/* ---- trips ---- */

static double trip_above(const struct fl_harmless *h, const struct stillness *still,
                         const struct fl_take *t, const struct fl_sighting *on,
                         const struct fl_sighting *off)
{
    double frame = fl_known(t->kernel_ms) ? t->kernel_ms / 1000 : 0, most = 0;
    size_t from = frame_from(t, on->end_s - BEFORE_S);
    double to = off->start_s + AFTER_FRAMES * frame;
    for (size_t i = from; i < (size_t)t->frames && t->time_s[i] <= to; i++)
        most = fmax(most, above(h, still, t, i));
    return most;
}

static size_t trips_of(const struct fl_harmless *h, struct fl_take *const *takes,
                       const struct fl_sightings *seen, size_t n, double *out)
{
    size_t trips = 0;
    for (size_t k = 0; k < n; k++) {
        struct stillness still = stillness_of(takes[k]);
        for (size_t p = 0; p < seen[k].n_parts; p++)
            for (size_t i = 1; i < seen[k].part[p].n; i++) {
                const struct fl_sighting *v = &seen[k].v[seen[k].part[p].first + i];
                if (v->state == FL_STATE_OFF && v[-1].state == FL_STATE_ON)
                    out[trips++] = trip_above(h, &still, takes[k], &v[-1], v);
            }
    }
    return trips;
}

/* Lowers the levels below all trips but those few that may be slips. */
static void heed_trips(struct fl_harmless *h, double *above_s, size_t n)
{
    size_t spared = (size_t)(FL_HARMLESS_TRIPS * (double)n);
    qsort(above_s, n, sizeof *above_s, larger);
    double lowest = n ? above_s[n - 1 - spared] : INFINITY, by = 1;
    if (lowest <= 1 && lowest > 0)
        by = lowest * (1 - 1e-6);
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        h->level[k] *= by;
    h->trips = n;
    h->harmless_trips = 0;
    for (size_t i = 0; i < n; i++)
        h->harmless_trips += above_s[i] <= by;
}

void fl_harmless_learn(struct fl_harmless *h, struct fl_take *const *takes,
                       const struct fl_sightings *seen, size_t n)
{
    size_t most = 0;
    *h = (struct fl_harmless){{0}, 0, 0};
    for (size_t k = 0; k < n; k++)
        most += seen[k].n;
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        h->level[k] = learn_level(takes, seen, n, fl_harmless_quantity[k]);
    double *trip = FL_NEW(double, most + 1);
    heed_trips(h, trip, trips_of(h, takes, seen, n, trip));
    free(trip);
}

/* ---- spans ---- */

void fl_harmless_spans(const struct fl_harmless *h, const struct fl_take *t,
                       struct fl_span_list *out)
{
    struct stillness still = stillness_of(t);
    size_t first = out->n;
    for (size_t i = 0; i < (size_t)t->frames; i++) {
        double from = i ? t->time_s[i] : 0, to = frame_end(t, i);
        if (above(h, &still, t, i) > 1)
            continue;
        if (out->n > first && out->v[out->n - 1].end_s == from)
            out->v[out->n - 1].end_s = to;
        else
            FL_PUSH(out->v, out->n, out->cap, ((struct fl_span){from, to}));
    }
}
