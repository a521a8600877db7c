/* Repeats and key frames, from what whole frames differ by.
 *
 * A frame that no row of which changed while the scene moves on both sides is a repeat: of the
 * output, if its rhythm leaves room for one, else of the recorder. */
#include "signal/device.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/robust.h"
#include "signal/bands.h"
#include "signal/change.h"
#include "signal/key_frames.h"
#include "signal/scene_shift.h"

/* Choices, but for the second. */
static const struct {
    double reach_s; /* the scene moves on both sides of a repeat within this time, s: longer than
                       the slowest base period of interest (40/s) and a device that stalls for a
                       few frames */
    float fast;     /* of the width a frame: the motion at which on and off can be told apart
                       (DESIGN: targets) */
    float quality;  /* of a shift, 0..1: chance peaks agree less */
    float same;     /* of what the frames beside change by: a repeat costs a P frame nothing, a
                       key frame a level or so, and a band that moved changes by several times
                       that */
    float telling;  /* noises that a band must change by in motion to tell */
    float least_levels;  /* of the noise, grey levels */
    float of_motion;     /* of the usual change in motion, at most, is noise */
    double spare;        /* longer than any usual interval, by this ratio */
    float onward, alike; /* the scene goes on as before: cosine, ratio of speeds */
    float rest_px;       /* working px a frame up to which a scene rests */
} model = {.reach_s = 0.05,
           .fast = 1.5f / 512,
           .quality = 0.3f,
           .same = 0.25f,
           .telling = 4,
           .least_levels = 0.25f,
           .of_motion = 0.125f,
           .spare = 1.05,
           .onward = 0.8f,
           .alike = 2,
           .rest_px = 0.3f};
/* A frame tells if a third of its bands do, and changed if a twentieth of those did. A run of up to
 * two frames is a repeat; frames about one that must rest; frames that make a median. */
enum { TELLING_PART = 3, CHANGED_PART = 20, LONGEST_RUN = 2, AROUND = 4, FEW = 10, FEW_KEYS = 2 };

struct work {
    const struct fl_signals *s;
    const struct fl_scan *scan;
    double longest_s;
    size_t reach;
    const float *band; /* frames × bands: mean |ΔY| */
    float noise;       /* of the stillest frames */
    bool *stood;       /* a frame: identical to the one before, whether or not the scene moves */
};

static float band_at(const struct work *w, size_t frame, int band)
{
    return w->band[frame * (size_t)w->s->grid.bands + (size_t)band];
}

static bool in_motion(const struct work *w, size_t i)
{
    const struct fl_scene_shift *shift = fl_scene_shifts(w->s, i);
    return shift->quality >= model.quality &&
           hypotf(shift->x, shift->y) >= model.fast * (float)w->s->grid.width;
}

float *fl_band_changes(const struct fl_signals *s)
{
    const struct fl_grid *g = &s->grid;
    float *change = fl_calloc(s->n, (size_t)g->bands * sizeof *change);
    for (size_t i = 1; i < s->n; i++)
        for (int b = 0; b < g->bands; b++) {
            float sum = 0;
            for (int t = 0; t < g->tiles; t++)
                sum += fl_cost(fl_tile_at(s, i, b, t)->still);
            change[i * (size_t)g->bands + (size_t)b] = sum / (float)g->tiles;
        }
    return change;
}

/* The stillest tenth of the footage, unless that moves too. */
static void learn_noise(struct work *w)
{
    const float *change = fl_changes(w->s);
    float *motion = FL_NEW(float, w->s->n);
    size_t n = 0;
    for (size_t i = 1; i < w->s->n; i++)
        if (in_motion(w, i))
            motion[n++] = change[i];
    float low = (float)fl_quantile_f(change, w->s->n, 0.1),
          cap = (float)fl_quantile_f(motion, n, 0.5) * model.of_motion;
    w->noise = fmaxf(model.least_levels, fminf(low, cap)); /* fminf passes a NaN by */
    free(motion);
}

/* Largest change of a band within reach on one side. */
static float most_beside(const struct work *w, size_t frame, int band, int step)
{
    float most = 0;
    for (size_t k = 1; k <= w->reach; k++) {
        size_t at = step < 0 ? frame - k : frame + k;
        if (at == 0 || at >= w->s->n) /* wraps round below 0 */
            break;
        most = fmaxf(most, band_at(w, at, band));
    }
    return most;
}

enum verdict { NOTHING_MOVES, CHANGED, IDENTICAL, EXCLUDED };

/* Rows scanned one after another all stood still since the frame before: no flip fell in a period
 * and the time of their scan. Longer than any usual interval? */
static enum verdict name_still(const struct work *w, int first, int last)
{
    const double visible = 1 - w->scan->blank; /* of a period */
    double rows = (double)(last - first + 1) / w->s->grid.bands;
    return w->scan->period_s * (1 + visible * rows) > model.spare * w->longest_s ? EXCLUDED
                                                                                 : IDENTICAL;
}

static enum verdict compare(const struct work *w, size_t frame)
{
    int bands = w->s->grid.bands, tell = 0, differ = 0, first = bands, last = 0;
    for (int b = 0; b < bands; b++) {
        float beside = fminf(most_beside(w, frame, b, -1), most_beside(w, frame, b, 1));
        if (beside < model.telling * w->noise)
            continue;
        tell++;
        if (band_at(w, frame, b) > model.same * beside) {
            differ++;
            continue;
        }
        first = b < first ? b : first;
        last = b;
    }
    return TELLING_PART * tell < bands    ? NOTHING_MOVES
           : CHANGED_PART * differ > tell ? CHANGED
                                          : name_still(w, first, last);
}

/* Frames one after another that stood still, between two that did not. */
struct run {
    size_t first, last;       /* one past the end */
    long identical, excluded; /* while the scene moves */
};

/* A game stands still too, where the hand turns round or pauses: a repeat of the recorder is short,
 * and the scene goes on after it as before. */
static bool goes_on(const struct work *w, const struct run *r)
{
    if (r->last - r->first > LONGEST_RUN || r->first < 2 || r->last + 1 >= w->s->n)
        return false;
    size_t a = r->first - 2, b = r->last + 1;
    const struct fl_scene_shift *p = fl_scene_shifts(w->s, a), *q = fl_scene_shifts(w->s, b);
    float along = p->x * q->x + p->y * q->y;
    float before = hypotf(p->x, p->y), after = hypotf(q->x, q->y);
    return in_motion(w, a) && in_motion(w, b) && along > model.onward * before * after &&
           before < model.alike * after && after < model.alike * before;
}

/* The next run from frame `at` on; false at the end. A scene that comes to rest leaves none: there
 * is no leap at both of its ends. */
static bool next_run(struct run *r, const struct work *w, const signed char *verdict, size_t at)
{
    size_t n = w->s->n;
    const float *change = fl_changes(w->s);
    for (size_t i = at > 1 ? at : 1; i < n; i++) {
        float most = 0;
        *r = (struct run){i, i, 0, 0};
        for (; r->last < n && w->stood[r->last]; r->last++) {
            most = fmaxf(most, change[r->last]);
            r->identical += verdict[r->last] >= IDENTICAL && in_motion(w, r->last);
            r->excluded += verdict[r->last] == EXCLUDED && in_motion(w, r->last);
        }
        if (r->last == i)
            continue;
        float edge = i > 1 && r->last < n ? fminf(change[i - 1], change[r->last]) : 0;
        if (edge > w->noise && edge * model.same > most)
            return true;
        i = r->last;
    }
    return false;
}

/* Runs within the rhythm's reach of one another are one group. */
static void group_runs(struct fl_device *out, const struct work *w, const signed char *verdict)
{
    const double *time_s = w->scan->time_s;
    struct run r;
    long in_group = 0, excluded = 0;
    double end_s = -1;
    for (bool more = next_run(&r, w, verdict, 1);; more = next_run(&r, w, verdict, r.last)) {
        if (!more || time_s[r.first] - end_s > FL_DEVICE_RHYTHM_S) {
            out->alone += in_group == 1 ? excluded : 0;
            out->paired += in_group == 2 ? excluded : 0;
            in_group = excluded = 0;
        }
        if (!more)
            return;
        in_group++;
        excluded += goes_on(w, &r) ? r.excluded : 0;
        out->identical += r.identical;
        end_s = time_s[r.last - 1];
    }
}

static void find_repeats(struct fl_device *out, struct work *w)
{
    size_t n = w->s->n;
    signed char *verdict = FL_NEW(signed char, n);
    const float *change = fl_changes(w->s);
    w->stood = FL_NEW(bool, n);
    for (size_t i = 1; i < n; i++) {
        verdict[i] = (signed char)compare(w, i);
        w->stood[i] = verdict[i] >= IDENTICAL || change[i] < w->noise;
        out->compared += verdict[i] != NOTHING_MOVES && in_motion(w, i);
    }
    group_runs(out, w, verdict);
    free(verdict);
}

/* Neither the frames around nor this one belong to motion of the scene. */
static bool at_rest(const struct fl_signals *s, size_t i)
{
    for (size_t k = i > AROUND ? i - AROUND : 1; k <= i + AROUND && k < s->n; k++) {
        const struct fl_scene_shift *shift = fl_scene_shifts(s, k);
        if (shift->quality > 0 && hypotf(shift->x, shift->y) > model.rest_px)
            return false;
    }
    return true;
}

static double middle(const float *x, size_t n, size_t enough)
{
    return n >= enough ? fl_quantile_f(x, n, 0.5) : FL_UNKNOWN;
}

static void find_changes(struct fl_device *out, const struct work *w)
{
    const struct fl_signals *s = w->s;
    const float *change = fl_changes(s);
    const bool *coded_whole = fl_key_frames(s);
    float *v = FL_NEW(float, 3 * s->n), *rest = v, *key = v + s->n, *motion = v + 2 * s->n;
    size_t n_rest = 0, n_key = 0, n_motion = 0;
    for (size_t i = 1; i < s->n; i++) {
        if (in_motion(w, i) && !w->stood[i])
            motion[n_motion++] = change[i];
        else if (coded_whole[i] && at_rest(s, i))
            key[n_key++] = change[i];
        else if (at_rest(s, i))
            rest[n_rest++] = change[i];
    }
    out->rest_change = middle(rest, n_rest, FEW);
    out->key_change = middle(key, n_key, FEW_KEYS);
    out->motion_change = middle(motion, n_motion, FEW);
    free(v);
}

static double key_interval(const struct fl_signals *s, const double *time_s)
{
    double *gap = FL_NEW(double, s->n), before = FL_UNKNOWN;
    const bool *key = fl_key_frames(s);
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!key[i])
            continue;
        if (fl_known(before))
            gap[n++] = time_s[i] - before;
        before = time_s[i];
    }
    double median = fl_median(gap, n);
    free(gap);
    return median;
}

void fl_device_find(struct fl_device *out, const struct fl_signals *s, const float *changes,
                    const struct fl_scan *scan, double longest_s)
{
    struct work w = {.s = s,
                     .band = changes,
                     .scan = scan,
                     .longest_s = longest_s,
                     .reach = (size_t)fmax(1, ceil(model.reach_s / scan->period_s))};
    *out = (struct fl_device){.key_interval_s = FL_UNKNOWN,
                              .rest_change = FL_UNKNOWN,
                              .key_change = FL_UNKNOWN,
                              .motion_change = FL_UNKNOWN};
    if (!s->n)
        return;
    assert(scan->n == s->n);
    out->key_interval_s = key_interval(s, scan->time_s);
    learn_noise(&w);
    find_repeats(out, &w);
    find_changes(out, &w);
    free(w.stood);
}
