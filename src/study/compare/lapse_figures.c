/* Counts and lengths pooled over takes. A length that footage cuts off is known to be longer, no
 * more: left out, or taken as it stands, it would make the median too short. */
#include "study/compare/lapse_figures.h"

#include <stdlib.h>

#include "maths/robust.h"
#include "maths/survival.h"

bool fl_lapse_open_ended(const struct fl_lapse *l)
{
    return !(l->has_trip || l->parted_before) || !(l->has_return || l->parted_after);
}

static double median_length(const struct fl_take *const *takes, size_t n, size_t lapses)
{
    double *length = FL_NEW(double, lapses + 1), median;
    bool *ended = FL_NEW(bool, lapses + 1);
    size_t k = 0, open_ended = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < takes[i]->states.n_lapses; j++) {
            const struct fl_lapse *l = &takes[i]->states.lapse[j];
            length[k] = l->end_s - l->start_s;
            ended[k] = !fl_lapse_open_ended(l);
            open_ended += !ended[k++];
        }
    if (open_ended) {
        struct fl_km km;
        fl_km_fit(&km, length, ended, k, 0.95);
        median = km.median;
        fl_km_finish(&km);
    } else {
        median = fl_median(length, k);
    }
    free(length);
    free(ended);
    return median;
}

struct fl_lapse_figures fl_lapse_figures_of(const struct fl_take *const *takes, size_t n)
{
    struct fl_lapse_figures f = {0};
    double measured_s = 0;
    for (size_t i = 0; i < n; i++) {
        const struct fl_exposure *e = &takes[i]->exposure;
        measured_s += e->on_s + e->off_s + e->unseen_s;
        f.n += takes[i]->states.n_lapses;
        f.low += e->lapses_low;
        f.high += e->lapses_high;
        f.longest_s = fmax(f.longest_s, e->longest_s);
    }
    double minutes = measured_s > 0 ? measured_s / 60 : FL_UNKNOWN;
    f.per_min = (double)f.n / minutes;
    f.per_min_low = (double)f.low / minutes;
    f.per_min_high = (double)f.high / minutes;
    f.median_s = f.n ? median_length(takes, n, f.n) : FL_UNKNOWN;
    return f;
}
