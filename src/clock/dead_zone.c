/* It lies between the last deflection at which the picture rests and the first at which it turns.
 * Between the two it is where the slow part of the curve, taken as a power of what is past it, fits
 * best: log rate is then a straight line in log(deflection - dead zone). */
#include "clock/dead_zone.h"

#include <math.h>

#include "base/units.h"

/* Choices. */
static const struct {
    double still;     /* share of the fastest rate under which the picture rests ... */
    double noise;     /* ... or times what it moves by while the stick is let go */
    double slow;      /* share of the fastest rate up to which the power is fitted: games change it
                         towards the rim */
    double powers[2]; /* games' own lie between (common practice, no source) */
} model = {.still = 0.002, .noise = 3, .slow = 0.4, .powers = {1, 4}};
enum { STEPS = 100, LEAST_POINTS = 3 };

static double rest_speed(const struct fl_turn_curve *t)
{
    const double fastest = t->rate[t->n - 1].speed;
    double rest = 0;
    for (size_t k = 0; k < t->n && t->rate[k].deflection <= t->rest; k++)
        rest = t->rate[k].speed;
    return fmax(model.still * fastest, fmin(model.noise * rest, model.slow * fastest));
}

/* Mean squared error of the straight line, the power kept in its range. */
static double misfit(const struct fl_turn_rate *r, size_t n, double dead)
{
    double w = 0, x = 0, y = 0, xx = 0, xy = 0;
    for (size_t k = 0; k < n; k++) {
        const double weight = (double)r[k].frames, u = log(r[k].deflection - dead),
                     v = log(r[k].speed);
        w += weight;
        x += weight * u;
        y += weight * v;
        xx += weight * u * u;
        xy += weight * u * v;
    }
    const double spread = xx - x * x / w, together = xy - x * y / w;
    const double power =
        fl_clamp(spread > 0 ? together / spread : 0, model.powers[0], model.powers[1]);
    double sum = 0;
    for (size_t k = 0; k < n; k++) {
        const double off = log(r[k].speed) - y / w - power * (log(r[k].deflection - dead) - x / w);
        sum += (double)r[k].frames * off * off;
    }
    return sum / w;
}

double fl_dead_zone(const struct fl_turn_curve *t)
{
    const double still = rest_speed(t), slow = model.slow * t->rate[t->n - 1].speed;
    size_t first = 0, end;
    while (first < t->n && t->rate[first].speed <= still)
        first++;
    for (end = first; end < t->n && (end < first + LEAST_POINTS || t->rate[end].speed <= slow);)
        end++;
    if (first == 0 || end < first + LEAST_POINTS)
        return FL_UNKNOWN;
    const double from = t->rate[first - 1].deflection, to = t->rate[first].deflection;
    double best = FL_UNKNOWN, least = INFINITY;
    for (int k = 0; k < STEPS; k++) { /* short of the first that turns */
        const double dead = from + (to - from) * k / STEPS,
                     error = misfit(t->rate + first, end - first, dead);
        if (error < least) {
            least = error;
            best = dead;
        }
    }
    return best;
}
