#include "align.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/motion_clock.h"
#include "clock/refine_delay.h"

/* Wider than half a capture frame at 120/s, delays from trace to picture say little. */
static const double wide_ms = 4;

/* The picture's side of the clock fit; owned arrays. */
struct series {
    double *time, *x, *y, *quality;
    struct fl_shift_series v;
};

/* From a picture's first row to its last. */
static double scan_s(const struct fl_take *t, const struct fl_align_settings *set)
{
    return set->at_flips ? 0 : (1 - set->blank) / t->capture_rate_hz;
}

static void series_open(struct series *s, const struct fl_take *t,
                        const struct fl_align_settings *set)
{
    size_t n = (size_t)t->frames;
    *s = (struct series){
        FL_NEW(double, n), FL_NEW(double, n), FL_NEW(double, n), FL_NEW(double, n), {0}};
    for (size_t i = 0; i < n; i++) {
        bool used = fl_take_spec_uses(&t->spec, t->time_s[i]);
        s->time[i] = t->time_s[i] + scan_s(t, set) / 2;
        s->x[i] = used ? t->shift_x_px[i] : FL_UNKNOWN;
        s->y[i] = used ? t->shift_y_px[i] : FL_UNKNOWN;
        s->quality[i] = t->shift_quality[i];
    }
    s->v = (struct fl_shift_series){n, s->time, s->x, s->y, s->quality, set->grain_px};
}

static void series_close(struct series *s)
{
    free(s->time);
    free(s->x);
    free(s->y);
    free(s->quality);
}

/* What is known of the screen; owned arrays. */
struct screen {
    struct fl_clock_phase *phase;
    struct fl_span *off;
    double *flip;
    struct fl_clock_screen v;
};

static double hold_s(const struct fl_states *s, bool off)
{
    double own = off ? s->base_rate_off_hz : s->base_rate_on_hz,
           other = off ? s->base_rate_on_hz : s->base_rate_off_hz;
    return 0.5 / ((fl_known(own) ? own : other) * (off ? 1 : 2));
}

/* Frames that stand at their flips have no hold, and need no flips. */
static void screen_open(struct screen *s, const struct fl_take *t,
                        const struct fl_align_settings *set)
{
    const struct fl_states *states = &t->states;
    *s = (struct screen){FL_NEW(struct fl_clock_phase, states->n_spans),
                         FL_NEW(struct fl_span, states->n_lapses),
                         FL_NEW(double, t->flips.n),
                         {.scan_s = scan_s(t, set)}};
    for (size_t i = 0; i < states->n_spans; i++) {
        const struct fl_state_span *p = &states->span[i];
        bool off = p->state == FL_STATE_OFF;
        double hold = set->at_flips ? 0 : hold_s(states, off);
        if (p->state != FL_STATE_UNSEEN && fl_known(hold))
            s->phase[s->v.n_phases++] = (struct fl_clock_phase){p->start_s, p->end_s, off, hold};
    }
    for (size_t i = 0; i < states->n_lapses; i++) {
        const struct fl_lapse *l = &states->lapse[i];
        s->off[s->v.n_off++] = (struct fl_span){l->has_trip ? l->start_s : -1,
                                                l->has_return ? l->end_s : t->duration_s + 1};
    }
    for (size_t i = 0; i < t->flips.n && !set->at_flips; i++)
        s->flip[s->v.n_flips++] = t->flips.v[i].time_s;
    s->v.phase = s->phase;
    s->v.off = s->off;
    s->v.flip_s = s->flip;
}

static void screen_close(struct screen *s)
{
    free(s->phase);
    free(s->off);
    free(s->flip);
}

static void settle(struct fl_take *t, const struct fl_shift_series *v,
                   const struct fl_motion *motion, const struct fl_align_settings *set)
{
    struct screen s;
    screen_open(&s, t, set);
    if (!fl_clock_refine(&t->clock, v, motion, &s.v))
        fl_take_warn(t, "clock_wide",
                     "Too little motion is seen in a known state to take out how long the screen "
                     "holds each picture: the trace may lie some 10 ms off.");
    else if (t->clock.error_ms > wide_ms)
        fl_take_warn(t, "clock_wide",
                     "The trace is lined up within %.0f ms only: too little motion is seen with "
                     "synthesis on.",
                     t->clock.error_ms);
    screen_close(&s);
}

void fl_align(struct fl_take *t, const struct fl_trace *trace, const struct fl_motion *motion,
              const struct fl_align_settings *set)
{
    struct fl_clock *c = &t->clock;
    struct series s;
    series_open(&s, t, set);
    fl_clock_from_motion(c, &s.v, motion, trace->start_s, trace->end_s);
    if (c->known)
        settle(t, &s.v, motion, set);
    else
        fl_take_warn(t, "clock_refused",
                     "The trace could not be lined up with the footage (%s); figures that need it "
                     "are left out.",
                     c->refused);
    series_close(&s);
}
