/* A take's shifts, states and flips → the clock fits of src/clock.
 *
 * Motion alone finds the lag and the drift; the states and flips of a look then take out how long
 * the screen holds each picture, and tell the delays of the two states apart. */
#include "align.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/motion_clock.h"
#include "clock/refine_delay.h"
#include "clock/stick_try.h"
#include "signal/kinds.h"
#include "signal/shift.h"

/* Rows follow the scene to an eighth of its shift, their mean to about this much: working px. */
static const double grain_shift = 0.15;

/* The picture's side of the clock fit; owned arrays. */
struct series {
    double *time, *x, *y, *quality;
    struct fl_shift_series v;
};

double fl_align_scan_s(const struct fl_recording *rec)
{
    return rec->at_flips ? 0 : (1 - rec->scan.blank) / rec->timeline.rate_hz;
}

static void series_open(struct series *s, const struct fl_recording *rec,
                        const struct fl_seen *seen)
{
    size_t n = rec->signals.n;
    const double *time_s = rec->timeline.time_s;
    const float *x = fl_signal_values(seen->columns, &fl_shift_signal, FL_SHIFT_X_PX),
                *y = fl_signal_values(seen->columns, &fl_shift_signal, FL_SHIFT_Y_PX),
                *quality = fl_signal_values(seen->columns, &fl_shift_signal, FL_SHIFT_QUALITY);
    *s = (struct series){
        FL_NEW(double, n), FL_NEW(double, n), FL_NEW(double, n), FL_NEW(double, n), {0}};
    for (size_t i = 0; i < n; i++) {
        bool used = fl_take_spec_uses(rec->spec, time_s[i]);
        s->time[i] = time_s[i] + fl_align_scan_s(rec) / 2;
        s->x[i] = used ? x[i] : FL_UNKNOWN;
        s->y[i] = used ? y[i] : FL_UNKNOWN;
        s->quality[i] = quality[i];
    }
    s->v = (struct fl_shift_series){n,    s->time,    s->x,
                                    s->y, s->quality, grain_shift * rec->signals.grid.factor};
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

/* Half of what a picture shows for, as pictures are shown. */
static double hold_s(const struct fl_rates *r, bool off)
{
    return 0.5 * (off ? r->off_period_s : r->on_period_s / r->frames);
}

/* Frames that stand at their flips have no hold, and need no flips. */
static void screen_open(struct screen *s, const struct fl_recording *rec,
                        const struct fl_look *look)
{
    const struct fl_states *states = &look->states;
    *s = (struct screen){FL_NEW(struct fl_clock_phase, states->n_spans),
                         FL_NEW(struct fl_span, states->n_lapses),
                         FL_NEW(double, look->flips.n),
                         {.scan_s = fl_align_scan_s(rec)}};
    for (size_t i = 0; i < states->n_spans; i++) {
        const struct fl_state_span *p = &states->span[i];
        bool off = p->state == FL_STATE_OFF;
        double hold = rec->at_flips ? 0 : hold_s(&look->found.rates, off);
        if (p->state != FL_STATE_UNSEEN && fl_known(hold))
            s->phase[s->v.n_phases++] = (struct fl_clock_phase){p->start_s, p->end_s, off, hold};
    }
    for (size_t i = 0; i < states->n_lapses; i++) {
        const struct fl_lapse *l = &states->lapse[i];
        bool from_before = i == 0 && !l->has_trip,
             past = i + 1 == states->n_lapses && !l->has_return;
        s->off[s->v.n_off++] =
            (struct fl_span){from_before ? -1 : l->start_s, past ? rec->duration_s + 1 : l->end_s};
    }
    for (size_t i = 0; i < look->flips.n && !rec->at_flips; i++)
        s->flip[s->v.n_flips++] = look->flips.v[i].time_s;
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

static struct fl_sound_facts sound_facts(const struct fl_recording *rec)
{
    return (struct fl_sound_facts){rec->spec->sound_offset_s, !rec->spec->sound, rec->duration_s};
}

void fl_align_sound(struct fl_heard *out, const struct fl_recording *rec)
{
    fl_heard_none(out, !rec->motion              ? "no trace"
                       : !rec->trace.has_buttons ? "no button is pressed in the trace"
                                                 : "no sound");
    if (rec->sound.n > 0)
        fl_clock_from_sound(&out->clock, &rec->sound, &rec->trace);
}

void fl_align_join(struct fl_clock *c, struct fl_heard *heard, const struct fl_recording *rec)
{
    const struct fl_sound_facts facts = sound_facts(rec);
    fl_clock_join(c, heard, &facts);
}

/* What motion alone cannot tell it may tell near where the clicks put it. */
static void by_motion(struct fl_clock *c, const struct fl_heard *heard,
                      const struct fl_recording *rec, const struct fl_shift_series *picture)
{
    const struct fl_sound_facts facts = sound_facts(rec);
    struct fl_lag_band band;
    struct fl_clock near;
    fl_clock_from_motion(c, picture, rec->motion, rec->trace.start_s, rec->trace.end_s);
    if (c->known || !fl_sound_band(&band, &heard->clock, &facts))
        return;
    fl_clock_from_motion_near(&near, picture, rec->motion, rec->trace.start_s, rec->trace.end_s,
                              &band);
    if (near.known)
        *c = near;
}

void fl_align_response(const struct fl_recording *rec, const struct fl_heard *heard,
                       const struct fl_seen *seen)
{
    const struct fl_sound_facts facts = sound_facts(rec);
    struct fl_lag_band band;
    struct series s;
    if (!rec->motion || !fl_motion_of_stick(rec->motion))
        return;
    series_open(&s, rec, seen);
    if (!fl_stick_try_responses(rec->motion, &s.v, rec->trace.start_s, rec->trace.end_s, NULL) &&
        fl_sound_band(&band, &heard->clock, &facts))
        fl_stick_try_responses(rec->motion, &s.v, rec->trace.start_s, rec->trace.end_s, &band);
    series_close(&s);
}

void fl_align_motion(struct fl_clock *c, struct fl_heard *heard, const struct fl_recording *rec,
                     const struct fl_seen *seen)
{
    *c = (struct fl_clock){.off_minus_on_ms = FL_UNKNOWN,
                           .off_minus_on_low_ms = FL_UNKNOWN,
                           .off_minus_on_high_ms = FL_UNKNOWN,
                           .error_ms = FL_UNKNOWN};
    if (!rec->motion) {
        snprintf(c->refused, sizeof c->refused, "no trace");
        return;
    }
    struct series s;
    series_open(&s, rec, seen);
    by_motion(c, heard, rec, &s.v);
    series_close(&s);
    const struct fl_sound_facts facts = sound_facts(rec);
    fl_clock_doubt(c, heard, &facts);
}

void fl_align_flips(struct fl_clock *c, const struct fl_clock *by_motion,
                    const struct fl_recording *rec, const struct fl_seen *seen,
                    const struct fl_look *look)
{
    struct series s;
    struct screen screen;
    *c = *by_motion;
    if (!c->known)
        return;
    series_open(&s, rec, seen);
    screen_open(&screen, rec, look);
    fl_clock_refine(c, &s.v, rec->motion, &screen.v);
    screen_close(&screen);
    series_close(&s);
}

void fl_align_turn_curve(struct fl_turn_curve *out, struct fl_turn_rate *rate,
                         const struct fl_clock *c, const struct fl_recording *rec,
                         const struct fl_seen *seen)
{
    struct series s;
    *out = (struct fl_turn_curve){rate, 0, FL_UNKNOWN, FL_UNKNOWN};
    if (!rec->motion || !fl_motion_of_stick(rec->motion) || !c->known)
        return;
    series_open(&s, rec, seen);
    fl_turn_curve_find(out, rate, c, &s.v, rec->motion);
    series_close(&s);
}
