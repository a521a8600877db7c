/* Two lines between the same two clocks, compared in the middle of the take. The bounds are how far
 * apart delays and recorders can put them at all, not how far they usually lie. */
#include "clock/clock_join.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Common practice, no source: from hand to picture some 10 to 150 ms, a recorder's sound up to 200
 * ms before or behind its picture; with some room on either side. */
static const struct {
    double delay_least_s, delay_most_s; /* from hand to picture */
    double recorder_s;                  /* sound against picture, either way, where not measured */
    double usual_delay_ms;              /* what a clock from sound alone may be off */
    double drift_ppm; /* recorders resample sound to fit their picture; not by this much */
} bound = {.delay_least_s = -0.05,
           .delay_most_s = 0.25,
           .recorder_s = 0.2,
           .usual_delay_ms = 150,
           .drift_ppm = 150};

static bool placed(const struct fl_sound_facts *facts)
{
    return fl_known(facts->sound_offset_s) || facts->same_start;
}

/* Trace time of the sound that belongs to a footage time. */
static double heard_s(const struct fl_sound_clock *sound, const struct fl_sound_facts *facts,
                      double footage_s)
{
    const double offset_s = fl_known(facts->sound_offset_s) ? facts->sound_offset_s : 0;
    return sound->offset_s + (1 + 1e-6 * sound->drift_ppm) * (footage_s + offset_s);
}

static double behind_s(const struct fl_clock *motion, const struct fl_sound_clock *sound,
                       const struct fl_sound_facts *facts)
{
    const double middle_s = facts->duration_s / 2;
    return heard_s(sound, facts, middle_s) - fl_clock_trace_time(motion, middle_s);
}

static void limits(const struct fl_sound_clock *sound, const struct fl_sound_facts *facts,
                   double *least_s, double *most_s)
{
    const double room_s =
        1e-3 * sound->error_ms + (fl_known(facts->sound_offset_s) ? 0 : bound.recorder_s);
    *least_s = bound.delay_least_s - room_s;
    *most_s = bound.delay_most_s + room_s;
}

static void forget(struct fl_clock_join *j)
{
    *j = (struct fl_clock_join){.behind_ms = FL_UNKNOWN,
                                .drift_apart_ppm = FL_UNKNOWN,
                                .on_ms = FL_UNKNOWN,
                                .on_low_ms = FL_UNKNOWN,
                                .on_high_ms = FL_UNKNOWN,
                                .off_ms = FL_UNKNOWN,
                                .off_low_ms = FL_UNKNOWN,
                                .off_high_ms = FL_UNKNOWN};
}

void fl_heard_none(struct fl_heard *h, const char *why)
{
    fl_sound_clock_none(&h->clock, why);
    forget(&h->join);
}

bool fl_sound_band(struct fl_lag_band *out, const struct fl_sound_clock *sound,
                   const struct fl_sound_facts *facts)
{
    const double middle_s = facts->duration_s / 2;
    double least_s, most_s;
    if (!sound->known || !placed(facts))
        return false;
    limits(sound, facts, &least_s, &most_s);
    out->least_s = heard_s(sound, facts, middle_s) - middle_s - most_s;
    out->most_s = heard_s(sound, facts, middle_s) - middle_s - least_s;
    return true;
}

void fl_clock_doubt(struct fl_clock *motion, struct fl_heard *h, const struct fl_sound_facts *facts)
{
    double least_s, most_s;
    if (!motion->known || !h->clock.known || !placed(facts))
        return;
    limits(&h->clock, facts, &least_s, &most_s);
    const double behind = behind_s(motion, &h->clock, facts);
    h->join.at_odds = behind < least_s || behind > most_s;
    if (!h->join.at_odds)
        return;
    h->join.behind_ms = 1e3 * behind;
    fl_clock_refuse(motion, "");
    snprintf(motion->refused, sizeof motion->refused,
             "motion and the clicks that are heard put it %.2f s apart: is the sound this take's?",
             behind);
}

/* A clock that is not settled still holds how long the screen shows each picture. */
static void tell_delays(struct fl_clock_join *out, const struct fl_clock *c,
                        const struct fl_sound_clock *sound)
{
    const double error_ms = hypot(c->error_ms, sound->error_ms);
    if (!fl_known(c->error_ms))
        return;
    out->on_ms = out->behind_ms;
    out->on_low_ms = out->on_ms - error_ms;
    out->on_high_ms = out->on_ms + error_ms;
    if (!fl_known(c->off_minus_on_ms))
        return;
    out->off_ms = out->on_ms + c->off_minus_on_ms;
    out->off_low_ms = out->off_ms - hypot(error_ms, c->off_minus_on_ms - c->off_minus_on_low_ms);
    out->off_high_ms = out->off_ms + hypot(error_ms, c->off_minus_on_high_ms - c->off_minus_on_ms);
}

/* Drifts are told apart only as far as the clicks tell theirs: by what their worse end may be off.
 */
static void compare(struct fl_clock_join *out, const struct fl_clock *c,
                    const struct fl_sound_clock *sound, const struct fl_sound_facts *facts)
{
    const double told_ppm = 1e3 * sound->error_ms / fmax(facts->duration_s / 2, 1);
    out->drift_apart_ppm = sound->drift_ppm - c->drift_ppm;
    out->at_odds = fabs(out->drift_apart_ppm) > bound.drift_ppm + told_ppm;
    if (placed(facts)) {
        out->compared = true;
        out->behind_ms = 1e3 * behind_s(c, sound, facts);
    }
    if (fl_known(facts->sound_offset_s) && !out->at_odds)
        tell_delays(out, c, sound);
    if (!out->at_odds)
        return;
    snprintf(out->code, sizeof out->code, "sound_drift");
    snprintf(out->says, sizeof out->says,
             "The clicks that are heard drift against the motion that is seen by %.0f ppm: the "
             "sound is not this take's, or lost some of its samples.",
             out->drift_apart_ppm);
}

static void stand_in(struct fl_clock *c, struct fl_clock_join *out,
                     const struct fl_sound_clock *sound, const struct fl_sound_facts *facts)
{
    if (!fl_known(facts->sound_offset_s)) {
        snprintf(out->code, sizeof out->code, "sound_unplaced");
        snprintf(out->says, sizeof out->says,
                 "The clicks are heard (%ld of %ld), but where the sound lies beside the picture "
                 "is not known: measure sound_offset_s, and they line up the trace.",
                 sound->heard, sound->presses);
        return;
    }
    *c = (struct fl_clock){.known = true,
                           .offset_s = heard_s(sound, facts, 0),
                           .drift_ppm = sound->drift_ppm,
                           .confidence = sound->confidence,
                           .residual_ms = sound->residual_ms,
                           .error_ms = hypot(sound->error_ms, bound.usual_delay_ms),
                           .off_minus_on_ms = FL_UNKNOWN,
                           .off_minus_on_low_ms = FL_UNKNOWN,
                           .off_minus_on_high_ms = FL_UNKNOWN,
                           .gain_x = FL_UNKNOWN,
                           .gain_y = FL_UNKNOWN,
                           .method = "sound"};
    snprintf(out->code, sizeof out->code, "clock_by_sound");
    snprintf(out->says, sizeof out->says,
             "The trace is lined up by the clicks alone (%ld of %ld heard): the delay from hand to "
             "picture, some 10 to 150 ms, is not taken out.",
             sound->heard, sound->presses);
}

void fl_clock_join(struct fl_clock *c, struct fl_heard *h, const struct fl_sound_facts *facts)
{
    if (!h->clock.known || h->join.at_odds)
        return;
    if (c->known)
        compare(&h->join, c, &h->clock, facts);
    else
        stand_in(c, &h->join, &h->clock, facts);
}
