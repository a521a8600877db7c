/* Normalised correlation of one window at each fine lag, with a parabola through its peak.
 *
 * A lag is told only where the peak stands out: a steady pan correlates at every lag alike. */
#include "clock/window.h"

#include <assert.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/transform.h"

enum {
    LENGTH = 64, /* picture samples */
    REACH = 75,  /* fine steps */
    FLANK = 20,  /* fine steps: the peak must stand out against 40 ms beside it */
    LAGS = 2 * REACH + 1
};
/* Choices. */
static const struct {
    double sharpness;  /* by which a peak must exceed its flanks, of a correlation */
    double own_motion; /* of a middling window's motion, that a window must hold */
    double hand;       /* of the window's energy, that the hand must have at the coarse lag */
    double perfect;    /* over 1, so that a perfect correlation keeps a finite weight */
} least = {.sharpness = 0.1, .own_motion = 0.25, .hand = 0.02, .perfect = 1.02};

static double window_energy(const struct fl_speed_track *picture, size_t first, size_t *known)
{
    double sum = 0;
    *known = 0;
    for (size_t k = first; k < first + LENGTH; k++) {
        const double x = (double)picture->x[k], y = (double)picture->y[k];
        sum += x * x + y * y;
        *known += picture->known[k];
    }
    return sum;
}

static double energy_middle(const struct fl_speed_track *picture, size_t first)
{
    double sum = 0, moment = 0;
    for (size_t k = first; k < first + LENGTH; k++) {
        const double x = (double)picture->x[k], y = (double)picture->y[k];
        sum += x * x + y * y;
        moment += (x * x + y * y) * (double)k;
    }
    return picture->start_s + moment / sum * picture->step_s;
}

/* Correlation of the window with the hand, whose fine sample `at` meets the first picture
 * sample; *hand_energy under the gains. 0 outside the trace. */
static double correlation_at(const struct fl_speed_track *picture, size_t first,
                             const struct fl_speed_track *hand, long at, const struct fl_lag *lag,
                             double *hand_energy)
{
    double cross = 0, own = 0, other = 0;
    *hand_energy = 0;
    if (at < 0 || at + (LENGTH - 1) * FL_SPEED_FINE >= (long)hand->n)
        return 0;
    for (size_t k = 0; k < LENGTH; k++) {
        const size_t p = first + k, h = (size_t)at + k * FL_SPEED_FINE;
        if (!picture->known[p])
            continue;
        const double x = lag->gain_x * (double)hand->x[h], y = lag->gain_y * (double)hand->y[h];
        const double px = (double)picture->x[p], py = (double)picture->y[p];
        cross += px * x + py * y;
        own += px * px + py * py;
        other += x * x + y * y;
    }
    *hand_energy = other;
    return own > 0 && other > 0 ? cross / sqrt(own * other) : 0;
}

static bool measure(struct fl_window *w, const struct fl_speed_track *picture, size_t first,
                    const struct fl_speed_track *hand, const struct fl_lag *lag, double least_hand)
{
    double r[LAGS], unused, moved;
    assert(first + LENGTH <= picture->n);
    const double begin_s = picture->start_s + (double)first * picture->step_s;
    const double expected_s = lag->offset_s + (1 + 1e-6 * lag->drift_ppm) * begin_s;
    const long at = lround((expected_s - hand->start_s) / hand->step_s);
    correlation_at(picture, first, hand, at, lag, &moved);
    int best = FLANK;
    for (int j = 0; j < LAGS; j++)
        r[j] = correlation_at(picture, first, hand, at + j - REACH, lag, &unused);
    for (int j = FLANK; j < LAGS - FLANK; j++)
        best = r[j] > r[best] ? j : best;
    const double sharp = r[best] - fmax(r[best - FLANK], r[best + FLANK]);
    if (moved < least_hand || sharp < least.sharpness)
        return false;
    const double step = (double)(best - REACH) + fl_peak3(r[best - 1], r[best], r[best + 1]);
    w->time_s = energy_middle(picture, first);
    w->offset_s = hand->start_s + ((double)at + step) * hand->step_s - begin_s;
    w->correlation = r[best];
    w->weight = sharp / (least.perfect - fmin(r[best] * r[best], 1));
    return true;
}

struct fl_window *fl_windows(const struct fl_speed_track *picture,
                             const struct fl_speed_track *hand, const struct fl_lag *lag, size_t *n)
{
    size_t known, cap = 0, windows = picture->n / LENGTH;
    struct fl_window *list = NULL;
    double total = 0;
    *n = 0;
    for (size_t w = 0; w < windows; w++)
        total += window_energy(picture, w * LENGTH, &known);
    for (size_t w = 0; w < windows; w++) {
        const double own = window_energy(picture, w * LENGTH, &known);
        const double gain = lag->gain_x * lag->gain_x + lag->gain_y * lag->gain_y;
        if (known < LENGTH / 2 || own < least.own_motion * total / (double)windows || gain == 0)
            continue;
        struct fl_window one = {.motion = own};
        if (measure(&one, picture, w * LENGTH, hand, lag, least.hand * own))
            FL_PUSH(list, *n, cap, one);
    }
    return list;
}
