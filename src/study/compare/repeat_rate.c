/* The takes' rates beside those of controls, in which the game renders without the feature. */
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "maths/interval.h"
#include "maths/robust.h"
#include "study/compare/repeat.h"
#include "study/curve/octaves.h"
#include "study/curve/setting.h"

struct rates {
    double *log;
    size_t n;
};

static void add(struct rates *r, double hz)
{
    if (hz > 0)
        r->log[r->n++] = log2(hz);
}

/* A control has one rate; whichever state it was called. */
static double control_rate(const struct fl_take *t)
{
    return fl_known(t->states.base_rate_off_hz) ? t->states.base_rate_off_hz
                                                : t->states.base_rate_on_hz;
}

/* Two sample means on the octave scale, one variance (Student's t). */
static void ratio(const struct rates *a, const struct rates *b, double *at, double *low,
                  double *high)
{
    *at = *low = *high = FL_UNKNOWN;
    if (!a->n || !b->n)
        return;
    double d = fl_mean(a->log, a->n) - fl_mean(b->log, b->n), df = (double)(a->n + b->n) - 2;
    *at = fl_from_octaves(d);
    if (!(df > 0))
        return;
    double sa = a->n > 1 ? fl_sd(a->log, a->n) : 0, sb = b->n > 1 ? fl_sd(b->log, b->n) : 0;
    double variance = ((double)(a->n - 1) * sa * sa + (double)(b->n - 1) * sb * sb) / df;
    double half = fl_t_quantile(0.975, df) * sqrt(variance * (1 / (double)a->n + 1 / (double)b->n));
    *low = fl_from_octaves(d - half);
    *high = fl_from_octaves(d + half);
}

/* A control of the same condition; else one of the game under the same cap, since a control's
 * condition is often called by what makes it one. */
static bool serves(const struct fl_setting *control, const struct fl_setting *own,
                   const struct fl_take *t, bool same_condition)
{
    if (!control->control || strcmp(control->game, own->game) || !(control_rate(t) > 0))
        return false;
    return same_condition ? !strcmp(control->condition, own->condition)
                          : fl_same_number(t->spec.cap_hz, own->takes[0]->spec.cap_hz);
}

static void find_controls(struct fl_repeat_rate *r, const struct fl_setting *settings, size_t n,
                          const struct fl_setting *own, struct fl_arena *arena)
{
    size_t most = 0;
    for (size_t i = 0; i < n; i++)
        most += settings[i].n;
    r->control = FL_ARENA(arena, const struct fl_take *, most + 1);
    for (int loose = 0; loose < 2 && !r->controls; loose++)
        for (size_t i = 0; i < n; i++)
            for (size_t k = 0; k < settings[i].n; k++)
                if (serves(&settings[i], own, settings[i].takes[k], !loose))
                    r->control[r->controls++] = settings[i].takes[k];
}

static const char *ratio_text(struct fl_arena *arena, double hz, double at, double low, double high,
                              const char *state)
{
    if (!fl_known(at))
        return fl_arena_printf(arena, "at an unknown rate %s", state);
    struct fl_interval_text t;
    fl_ratio_text(&t, at, low, high);
    const char *limits = fl_known(low) && fl_known(high)
                             ? fl_arena_printf(arena, ", 95 %% interval %s to %s", t.low, t.high)
                             : "";
    return fl_arena_printf(arena, "%.1f/s %s, %s times that%s", hz, state, t.at, limits);
}

static const char *text_of(const struct fl_repeat_rate *r, size_t takes, struct fl_arena *arena)
{
    if (!r->controls)
        return NULL;
    const char *who = r->controls == 1
                          ? fl_arena_printf(arena, "the control %s renders",
                                            r->control[0]->spec.id ? r->control[0]->spec.id : "?")
                          : fl_arena_printf(arena, "%zu controls render", r->controls);
    return fl_arena_printf(
        arena, "%s %.1f frames/s; %s %s, and %s", who, r->control_hz,
        takes == 1 ? "this take renders" : "these takes render",
        ratio_text(arena, r->off_hz, r->off_ratio, r->off_low, r->off_high, "with synthesis off"),
        ratio_text(arena, r->on_hz, r->on_ratio, r->on_low, r->on_high, "with it on"));
}

void fl_repeat_rates(struct fl_repeat *out, const struct fl_setting *settings, size_t n,
                     const struct fl_setting *own, struct fl_arena *arena)
{
    struct fl_repeat_rate *r = &out->rate;
    find_controls(r, settings, n, own, arena);
    struct rates control = {FL_NEW(double, r->controls + 1), 0},
                 off = {FL_NEW(double, own->n + 1), 0}, on = {FL_NEW(double, own->n + 1), 0};
    for (size_t i = 0; i < r->controls; i++)
        add(&control, control_rate(r->control[i]));
    for (size_t i = 0; i < own->n; i++) {
        add(&off, own->takes[i]->states.base_rate_off_hz);
        add(&on, own->takes[i]->states.base_rate_on_hz);
    }
    r->control_hz = fl_from_octaves(fl_mean(control.log, control.n));
    r->off_hz = fl_from_octaves(fl_mean(off.log, off.n));
    r->on_hz = fl_from_octaves(fl_mean(on.log, on.n));
    ratio(&off, &control, &r->off_ratio, &r->off_low, &r->off_high);
    ratio(&on, &control, &r->on_ratio, &r->on_low, &r->on_high);
    r->text = text_of(r, own->n, arena);
    free(control.log);
    free(off.log);
    free(on.log);
}
