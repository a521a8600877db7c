/* When two folders, or one quantity of theirs, may not be compared. */
#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"
#include "study/compare/against.h"
#include "study/take/sensitivity_measure.h"

#define KERNEL_WITHIN 0.10
#define UNKNOWN_TRANSFER "unknown" /* as footage without a stated transfer says */

struct sides {
    const struct fl_setting *setting[2];
    struct fl_arena *arena;
};

static const char *const when[] = {"before", "now"};

/* ---- the takes ---- */

static const char *same_recording(const struct sides *s)
{
    for (size_t i = 0; i < s->setting[0]->n; i++)
        for (size_t k = 0; k < s->setting[1]->n; k++) {
            const struct fl_take *a = s->setting[0]->takes[i], *b = s->setting[1]->takes[k];
            if (a->key && b->key && !strcmp(a->key, b->key))
                return fl_arena_printf(
                    s->arena,
                    "take %s is in both folders%s%s; takes are compared with others, not "
                    "with themselves",
                    b->spec.id, strcmp(a->spec.id, b->spec.id) ? ", before as " : "",
                    strcmp(a->spec.id, b->spec.id) ? a->spec.id : "");
        }
    return NULL;
}

static const char *kinds(const struct fl_setting *c)
{
    size_t local = 0;
    for (size_t i = 0; i < c->n; i++)
        local += c->takes[i]->spec.capture_local;
    return !local ? "by card" : local == c->n ? "locally" : "partly by card and partly locally";
}

static const char *capture(const struct sides *s)
{
    const char *a = kinds(s->setting[0]), *b = kinds(s->setting[1]);
    if (!strcmp(a, b) && !strstr(a, "partly"))
        return NULL;
    return fl_arena_printf(s->arena, "captured %s before, %s now; capture both the same way", a, b);
}

const char *fl_against_refuse(const struct fl_setting *before, const struct fl_setting *now,
                              struct fl_arena *arena)
{
    const struct sides s = {{before, now}, arena};
    const char *why = same_recording(&s);
    return why ? why : capture(&s);
}

/* ---- one quantity ---- */

static const char *measured(const struct sides *s, enum fl_quantity q)
{
    for (int k = 0; k < 2; k++)
        if (!fl_setting_measured(s->setting[k], q))
            return fl_arena_printf(s->arena, "not measured %s", when[k]);
    return NULL;
}

static const char *transfer_of(const struct fl_take *t)
{
    return t->transfer && *t->transfer ? t->transfer : UNKNOWN_TRANSFER;
}

static const char *transfers(const struct sides *s)
{
    const char *first = transfer_of(s->setting[0]->takes[0]);
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < s->setting[k]->n; i++) {
            const struct fl_take *t = s->setting[k]->takes[i];
            if (!strcmp(transfer_of(t), UNKNOWN_TRANSFER))
                return fl_arena_printf(
                    s->arena,
                    "the footage of %s (%s) does not say its transfer, so brightness cannot be "
                    "compared",
                    t->spec.id, when[k]);
            if (strcmp(transfer_of(t), first))
                return fl_arena_printf(s->arena, "transfers differ: %s before, %s in %s %s", first,
                                       transfer_of(t), t->spec.id, when[k]);
        }
    return NULL;
}

static bool camera_from_picture(const struct fl_take *t)
{
    return !(t->spec.trace && t->clock.known && fl_take_degrees_per_count(t) > 0);
}

static const char *views(const struct sides *s)
{
    bool picture = false, differ = false;
    double first = s->setting[0]->takes[0]->spec.horizontal_fov_deg, other = first;
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < s->setting[k]->n; i++) {
            const struct fl_take *t = s->setting[k]->takes[i];
            picture = picture || camera_from_picture(t);
            if (!fl_same_number(t->spec.horizontal_fov_deg, first)) {
                differ = true;
                other = t->spec.horizontal_fov_deg;
            }
        }
    if (!picture || !differ)
        return NULL;
    if (!fl_known(first) || !fl_known(other))
        return "camera speed comes from the picture, and the field of view is not given for all "
               "takes";
    return fl_arena_printf(
        s->arena,
        "camera speed comes from the picture, and the field of view was given as %g and as %g "
        "degrees",
        first, other);
}

static const char *widths(const struct sides *s)
{
    int first = s->setting[0]->takes[0]->width;
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < s->setting[k]->n; i++)
            if (s->setting[k]->takes[i]->width != first)
                return fl_arena_printf(s->arena,
                                       "it is in pixels, and pictures are %d and %d pixels wide",
                                       first, s->setting[k]->takes[i]->width);
    return NULL;
}

const char *fl_against_refuse_quantity(const struct fl_setting *before,
                                       const struct fl_setting *now, enum fl_quantity q,
                                       struct fl_arena *arena)
{
    const struct sides s = {{before, now}, arena};
    const char *why = measured(&s, q);
    if (!why && q == FL_CAMERA_SPEED)
        why = views(&s);
    if (!why && q == FL_IMAGE_STEP)
        why = widths(&s);
    if (!why && q == FL_IMAGE_CHANGE)
        why = transfers(&s);
    return why;
}

/* ---- delays ---- */

static double kernel(const struct fl_setting *c)
{
    double *ms = FL_NEW(double, c->n + 1);
    for (size_t i = 0; i < c->n; i++)
        ms[i] = c->takes[i]->kernel_ms;
    double median = fl_median(ms, c->n);
    free(ms);
    return median;
}

static const char *kernels(const struct sides *s)
{
    double a = kernel(s->setting[0]), b = kernel(s->setting[1]);
    if (fabs(b / a - 1) <= KERNEL_WITHIN)
        return NULL;
    return fl_arena_printf(
        s->arena,
        "motion was averaged over %.1f ms before and %.1f ms now, one rendered frame each; "
        "more than 10 %% apart",
        a, b);
}

const char *fl_against_refuse_delay(const struct fl_setting *before, const struct fl_setting *now,
                                    enum fl_quantity q, struct fl_arena *arena)
{
    const struct sides s = {{before, now}, arena};
    const char *why = fl_against_refuse_quantity(before, now, q, arena);
    return why ? why : kernels(&s);
}
