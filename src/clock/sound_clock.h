/* A clock from sound: the clicks heard against the buttons logged.
 *
 * Presses decide; releases, which many mice report late to keep a contact from bouncing, help to
 * tell true lags from false ones, and their delay is found. A press is logged at the first report
 * after it; half a report interval is taken out, so the clock is that of the contact. What is heard
 * need not be in the trace, nor what is in the trace be heard; speech, music and other sudden
 * sounds are scattered and do not line up. Weak evidence is refused. */
#ifndef FL_CLOCK_SOUND_CLOCK_H
#define FL_CLOCK_SOUND_CLOCK_H

#include "clock/click_energy.h"
#include "trace/trace.h"

struct fl_sound_clock {
    bool known;                 /* false: refused, `refused` says why in one line */
    double offset_s, drift_ppm; /* trace time = offset + (1 + drift)·sound time */
    double confidence;          /* 0..1: (1 - best rival / best) · share of the presses heard ·
                                   (1 - their spread / that of sounds by chance) */
    double residual_ms;         /* robust spread of the clicks about the line */
    double error_ms;   /* half of the 95 % interval of trace time, at the worse end of the clicks */
    double release_ms; /* how much later than heard a release is logged, beyond presses; NaN */
    long presses, heard; /* in the trace, within the sound; those of them that were heard */
    char refused[160];
};

/* Refused for a reason found elsewhere. */
void fl_sound_clock_none(struct fl_sound_clock *out, const char *why);
/* Never fails: refuses. */
void fl_clock_from_sound(struct fl_sound_clock *out, const struct fl_click_energy *sound,
                         const struct fl_trace *trace);
/* Sound time that belongs to a trace time. */
double fl_sound_clock_sound_time(const struct fl_sound_clock *c, double trace_s);

#endif
