/* Games turn by a power of the deflection past a dead zone: from its plain size to its cube (common
 * practice, no source). With a straight response a stick held out a little, to follow something,
 * would weigh as much as a flick, though the picture hardly moves for it.
 *
 * Clocks found by a few such responses are told apart by their confidence; the game's own curve is
 * then learned by the best of them. */
#include "clock/stick_try.h"

#include <math.h>

#include "clock/motion_clock.h"

/* Choices: wide enough apart that one more between them would change little. */
static const double powers[] = {1, 2, 3}, dead_zones[] = {0.15, 0.25};
enum { POWERS = 3, DEAD_ZONES = 2, POINTS = 12 };
static const double full = 1000; /* counts/s, as in trace/motion.h */

static struct fl_stick_response response_of(double dead, double power)
{
    struct fl_stick_response r = {.n = POINTS};
    for (int k = 0; k < POINTS; k++) {
        const double past = (double)k / (POINTS - 1);
        r.deflection[k] = dead + (1 - dead) * past;
        r.rate[k] = full * pow(past, power);
    }
    return r;
}

bool fl_stick_try_responses(struct fl_motion *m, const struct fl_shift_series *picture,
                            double trace_start_s, double trace_end_s,
                            const struct fl_lag_band *band)
{
    const double rest = fl_motion_stick_rest(m);
    struct fl_stick_response best = response_of(rest, 1);
    double most = 0;
    for (int zone = 0; zone <= DEAD_ZONES; zone++)
        for (int k = 0; k < POWERS; k++) {
            const double dead = zone ? dead_zones[zone - 1] : rest;
            const struct fl_stick_response r = response_of(dead, powers[k]);
            struct fl_clock c;
            if (zone && dead <= rest)
                continue;
            fl_motion_respond(m, &r);
            if (band)
                fl_clock_from_motion_near(&c, picture, m, trace_start_s, trace_end_s, band);
            else
                fl_clock_from_motion(&c, picture, m, trace_start_s, trace_end_s);
            if (c.known && c.confidence > most) {
                most = c.confidence;
                best = r;
            }
        }
    fl_motion_respond(m, &best);
    return most > 0;
}
