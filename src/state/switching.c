/* Switching as a Markov chain over modes of gaps: the same whatever moves, or a curve of trips
 * against motion would find its own assumption. */
#include "state/switching.h"

#include <math.h>

/* Chances are per flip; those without a source are choices that a few flips of evidence outweigh (a
 * whole frame's rows give up to 18 nats, these ask for 3 to 6). */
static const struct {
    double trip;     /* of synthesis letting go, at a rendered frame: a lapse is rarer than one
                        base period in a hundred, 0.001 to 0.05 */
    double change;   /* of N falling or rising without reaching one: no rarer */
    double back;     /* of its return, at a flip in state off: lapses last for many periods */
    double rest;     /* of motion ending, at any flip */
    double rest_on;  /* a rest ends on, at any of the N frames, ... */
    double rest_off; /* ... and off: the state after a rest is open; the two sum to 1 */
    float start;     /* ln chance of each mode as a segment opens: about ln 0.3 */
} model = {.trip = 0.01,
           .change = 0.01,
           .back = 0.05,
           .rest = 0.003,
           .rest_on = 0.6,
           .rest_off = 0.4,
           .start = -1.2f};

/* The end of a base period with N = n: another follows, of as many frames or of others; or N falls
 * to one. */
static void period_ends(float t[FL_GAP_MODES][FL_GAP_MODES], enum fl_gap_mode a, int n,
                        const struct fl_rates *rates)
{
    double stays = 1 - model.trip - model.rest - rates->missed;
    for (int other = FL_FRAMES_LEAST; other <= FL_FRAMES_MOST; other++) {
        enum fl_gap_mode first = fl_gap_on(other, 0);
        if (other == n || !fl_gap_used(rates, first))
            continue;
        t[a][first] = (float)log(model.change);
        stays -= model.change;
    }
    t[a][fl_gap_on(n, 0)] = (float)log(stays);
    t[a][FL_GAP_OFF] = (float)log(model.trip);
    t[a][FL_GAP_REST] = (float)log(model.rest);
    t[a][FL_GAP_MISSED] = (float)log(rates->missed);
}

/* Ns that take part, or their modes. */
static int count_on(const struct fl_rates *rates, bool modes)
{
    int sum = 0;
    for (int n = FL_FRAMES_LEAST; n <= FL_FRAMES_MOST; n++)
        sum += fl_gap_used(rates, fl_gap_on(n, 0)) ? (modes ? n : 1) : 0;
    return sum;
}

/* From and to the modes of one N. */
static void transitions_of(float t[FL_GAP_MODES][FL_GAP_MODES], int n, const struct fl_rates *rates)
{
    for (int k = 0; k + 1 < n; k++) {
        enum fl_gap_mode a = fl_gap_on(n, k);
        t[a][fl_gap_on(n, k + 1)] = (float)log(1 - model.rest);
        t[a][FL_GAP_REST] = (float)log(model.rest);
    }
    period_ends(t, fl_gap_on(n, n - 1), n, rates);
    for (int k = 0; k < n; k++)
        t[FL_GAP_REST][fl_gap_on(n, k)] = (float)log(model.rest_on / count_on(rates, true));
    t[FL_GAP_OFF][fl_gap_on(n, 0)] =
        (float)log((rates->any_return ? 1 : model.back) / count_on(rates, false));
}

void fl_switching(float t[FL_GAP_MODES][FL_GAP_MODES], const struct fl_rates *rates)
{
    for (int a = 0; a < FL_GAP_MODES; a++)
        for (int b = 0; b < FL_GAP_MODES; b++)
            t[a][b] = FL_NEVER;
    for (int n = FL_FRAMES_LEAST; n <= FL_FRAMES_MOST; n++)
        if (fl_gap_used(rates, fl_gap_on(n, 0)))
            transitions_of(t, n, rates);
    period_ends(t, FL_GAP_MISSED, rates->frames, rates);
    t[FL_GAP_MISSED][FL_GAP_MISSED] =
        rates->missed_again > 0 ? (float)log(rates->missed_again) : FL_NEVER;
    t[FL_GAP_OFF][FL_GAP_OFF] = rates->any_return ? 0 : (float)log(1 - model.back - model.rest);
    t[FL_GAP_OFF][FL_GAP_REST] = (float)log(model.rest);
    t[FL_GAP_REST][FL_GAP_OFF] = (float)log(model.rest_off);
}

float fl_switching_opens(enum fl_gap_mode mode)
{
    return mode != FL_GAP_MISSED && mode != FL_GAP_REST ? model.start : FL_NEVER;
}
