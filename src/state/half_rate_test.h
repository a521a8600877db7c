/* Off, or on at half the base rate? Both show flips at one rate, but a synthesised picture lies
 * half way between its neighbours and is softer than they are. So with synthesis on
 *   - the scene's steps come in equal pairs (to the synthesised picture and on from it), while the
 *     steps of rendered pictures change from one to the next as the camera speeds up and slows
 * down;
 *   - detail alternates from flip to flip (alternation.h);
 *   - gaps alternate too, if rendered pictures have more or less than half of the time.
 * Steady motion of clean pictures shows neither: then the ratio is near 1. */
#ifndef FL_STATE_HALF_RATE_TEST_H
#define FL_STATE_HALF_RATE_TEST_H

#include "state/alternation.h"
#include "state/flips.h"

struct fl_half_rate {
    bool halved;       /* on at half the rate is likelier than off, after priors */
    double log_ratio;  /* ln likelihood of on at half the rate : off, of the stretch about this gap;
                          NaN where a gap is not off */
    size_t gaps;       /* of that stretch */
    enum fl_kind kind; /* what the gap shows if on */
};

/* How a scene's step grows from one flip to the next, working px along its direction. */
struct fl_step_change {
    double px, error; /* of its median over the rows that show both; NaN where too few do */
};
/* out[i]: from the step at the start of gap i to that at its end; n. */
void fl_steps_compare(struct fl_step_change *out, const struct fl_evidence *e,
                      const struct fl_rows *r, const struct fl_gap *gap, size_t n);

struct fl_half_rate_input {
    const struct fl_gap *gap;
    size_t n;
    double slot_s;
    struct fl_rates rates;
    const struct fl_step_change *change; /* n */
    /* n: detail below less above the tear that starts each gap; NaN unknown */
    const double *contrast;
};
/* Longest cycle of flips that is tried: three pictures synthesised for each rendered one. */
enum { FL_CYCLE_MOST = FL_FRAMES_MOST };
/* ln likelihood that the steps of the take's gaps on with this N (off with 0) are equal within each
 * cycle of flips (2: one picture synthesised for each rendered one, 3: two) : all rendered. A rate
 * of flips may be on at half of it or off: this tells. Stretches count alike, however clear. NaN
 * for a cycle that is not 2 to FL_CYCLE_MOST. */
double fl_cycle_ratio(const struct fl_half_rate_input *in, int frames, int cycle);

/* ln likelihood that the gaps [first, end), fewer than a stretch at half the rate has, are a base
 * period on that lasts longer (a hitch) : off. The step out of the last gap counts, too. */
double fl_hitch_ratio(const struct fl_half_rate_input *in, size_t first, size_t end,
                      const struct fl_softness *softness);

/* out: n. */
void fl_half_rate_test(struct fl_half_rate *out, const struct fl_half_rate_input *in,
                       const struct fl_softness *softness);

#endif
