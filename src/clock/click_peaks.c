/* The energy of 2 ms against that of 10 ms before, where it is largest for 5 ms on either side. A
 * sound begins where it first rises to half of the loudest in those 2 ms: what is shorter than the
 * window would else lie anywhere in it. */
#include "clock/click_peaks.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/mem.h"

/* In steps of 1 / 8000 s. */
enum { AFTER = 16, GAP = 2, BEFORE = 80, FIRST = GAP + BEFORE, APART = 40 };
static const double least_weight = 0.5;

/* Sums of ratios about a step, moved on with it. */
struct around {
    const struct fl_click_energy *sound;
    double ratio[256];    /* of each value that a step can have */
    double after, before; /* of AFTER steps from it on; of BEFORE steps, GAP before it */
};

static double ratio(const struct around *a, size_t i)
{
    return a->ratio[a->sound->step[i]];
}

static void begin(struct around *a, const struct fl_click_energy *e)
{
    *a = (struct around){.sound = e};
    for (int v = 0; v < 256; v++)
        a->ratio[v] = fl_click_ratio((uint8_t)v);
    for (size_t k = 0; k < BEFORE && FIRST + AFTER < e->n; k++)
        a->before += ratio(a, k);
    for (size_t k = 0; k < AFTER && FIRST + AFTER < e->n; k++)
        a->after += ratio(a, FIRST + k);
}

static void move_on(struct around *a, size_t i)
{
    a->after += ratio(a, i + AFTER) - ratio(a, i);
    a->before += ratio(a, i - GAP) - ratio(a, i - GAP - BEFORE);
}

/* How suddenly it gets loud; 1 is added to both sides, so that silence is no feat. */
static double attack(const struct around *a)
{
    return log((1 + fmax(0, a->after) / AFTER) / (1 + fmax(0, a->before) / BEFORE));
}

/* Steps from i to where it begins to be loud. */
static size_t onset(const struct around *a, size_t i)
{
    double most = 0;
    size_t k = 0;
    for (size_t j = 0; j < AFTER; j++)
        most = fmax(most, ratio(a, i + j));
    while (ratio(a, i + k) < most / 2)
        k++;
    return k;
}

static int by_time(const void *x, const void *y)
{
    const struct fl_click_peak *a = x, *b = y;
    return (a->time_s > b->time_s) - (a->time_s < b->time_s);
}

static int by_weight(const void *x, const void *y)
{
    const struct fl_click_peak *a = x, *b = y;
    return (a->weight < b->weight) - (a->weight > b->weight);
}

struct fl_click_peak *fl_click_peaks(const struct fl_click_energy *e, size_t *n)
{
    struct fl_click_peak *peak = NULL;
    size_t cap = 0, most = (size_t)((double)e->n / FL_CLICK_HZ * FL_CLICK_PEAKS_A_SECOND) + 1;
    struct fl_click_peak best = {0};
    struct around sums;
    size_t at = 0;
    *n = 0;
    begin(&sums, e);
    for (size_t i = FIRST; i + AFTER < e->n; i++) {
        const double a = attack(&sums);
        move_on(&sums, i);
        const bool over = i - at >= APART;
        if (over && best.weight > least_weight) {
            best.time_s = (double)(at + onset(&sums, at)) / FL_CLICK_HZ;
            FL_PUSH(peak, *n, cap, best);
        }
        if (over || a > best.weight) {
            best.weight = a;
            at = i;
        }
    }
    if (*n > most) {
        qsort(peak, *n, sizeof *peak, by_weight);
        *n = most;
        qsort(peak, *n, sizeof *peak, by_time);
    }
    return peak;
}
