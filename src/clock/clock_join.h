/* What the clicks that are heard say of the clock found from motion.
 *
 * Motion gives the better clock for what is on the screen, as it absorbs the delay from hand to
 * picture. Clicks keep it honest: from them follows about where it must lie, wide as delays and
 * recorders are. Where motion alone cannot tell lags apart, only those are left to choose from;
 * where it tells one that lies elsewhere, one of the two is wrong and there is no clock; where it
 * tells nothing, sound takes its place if the recorder's own offset was measured. With that offset
 * the difference of the two clocks is the delay from hand to picture itself. */
#ifndef FL_CLOCK_CLOCK_JOIN_H
#define FL_CLOCK_CLOCK_JOIN_H

#include "clock/clock.h"
#include "clock/lag.h"
#include "clock/sound_clock.h"

struct fl_sound_facts {
    double sound_offset_s; /* sound time - footage time, as measured; NaN: not */
    bool same_start;       /* the sound is the footage's own: its time 0 is the footage's, but for
                              the recorder's offset */
    double duration_s;     /* of the footage */
};

struct fl_clock_join {
    bool compared;    /* both clocks are known, and on one time line */
    double behind_ms; /* by which the picture as motion has it lies behind the sound: the delay
                         from hand to picture less the recorder's sound offset; mid-take */
    double drift_apart_ppm;
    /* L(on) and L(off), each with its 95 % interval: NaN unless the sound offset was measured and
       the clock from motion is settled (and L(off) - L(on) is known). */
    double on_ms, on_low_ms, on_high_ms;
    double off_ms, off_low_ms, off_high_ms;
    bool at_odds;   /* the clocks contradict each other */
    char code[24];  /* of the warning to give; "" where there is none */
    char says[240]; /* it, in one line with a full stop */
};

/* All of a take's sound. */
struct fl_heard {
    struct fl_sound_clock clock;
    struct fl_clock_join join;
};
/* No sound, for the reason given. */
void fl_heard_none(struct fl_heard *h, const char *why);

/* Where the clock from motion must lie; false if the sound does not say. */
bool fl_sound_band(struct fl_lag_band *out, const struct fl_sound_clock *sound,
                   const struct fl_sound_facts *facts);
/* Refuses a clock from motion that lies elsewhere; join->at_odds and its warning tell. */
void fl_clock_doubt(struct fl_clock *motion, struct fl_heard *h,
                    const struct fl_sound_facts *facts);
/* c: the settled clock from motion, known or refused. Fills h->join; where c is refused, not by
 * fl_clock_doubt, and the sound can stand in, c becomes the clock from sound (method "sound"). */
void fl_clock_join(struct fl_clock *c, struct fl_heard *h, const struct fl_sound_facts *facts);

#endif
