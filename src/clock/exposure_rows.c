/* Sample and hold: a row that is scanned at t shows the output frame whose flip came last before t.
 *
 * So a captured picture shows the hand as it was at several flips, and between two pictures a row
 * has moved by what lies between its flips, not by what lies between their scans. */
#include "clock/exposure_rows.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"

/* Which pictures tell. Choices. */
static const struct {
    double least_quality;  /* of a shift, 0..1: chance peaks agree with their neighbours less
                              (signal/signals.c) */
    double longest_step_s; /* between two pictures, s: longer is a gap in the footage */
    double longest_gap;    /* usual intervals: a gap between flips that is longer hides one that was
                              not found; pacing stays below, two intervals in one lie above */
} model = {.least_quality = 0.3, .longest_step_s = 0.1, .longest_gap = 1.4};

/* Looks forward only: rows come in the order of time, but for the last rows of the frame before. */
struct reader {
    const struct fl_clock_screen *screen;
    size_t phase, flip;
};

static const struct fl_clock_phase *phase_at(struct reader *r, double t_s)
{
    const struct fl_clock_screen *s = r->screen;
    while (r->phase < s->n_phases && s->phase[r->phase].end_s <= t_s)
        r->phase++;
    const bool inside = r->phase < s->n_phases && s->phase[r->phase].start_s <= t_s;
    return inside ? &s->phase[r->phase] : NULL;
}

/* The flip that stands in a row scanned at t; false in an unseen stretch. */
static bool shown_at(struct reader *r, double t_s, double *flip_s, double *off)
{
    const struct fl_clock_screen *s = r->screen;
    const struct fl_clock_phase *p = phase_at(r, t_s);
    if (!p)
        return false;
    while (r->flip + 1 < s->n_flips && s->flip_s[r->flip + 1] <= t_s)
        r->flip++;
    const double last = s->n_flips ? s->flip_s[r->flip] : INFINITY;
    const bool known = last <= t_s && t_s - last < model.longest_gap * 2 * p->hold_s;
    *flip_s = known ? last : t_s - p->hold_s;
    *off += p->off ? 1.0 / FL_EXPOSURE_ROWS : 0;
    return true;
}

static void add_row(struct fl_shown *v, double flip_s)
{
    if (v->n == 0 || v->flip_s[v->n - 1] != flip_s) {
        assert(v->n < FL_EXPOSURE_ROWS);
        v->flip_s[v->n++] = flip_s;
    }
    v->share[v->n - 1] += 1.0 / FL_EXPOSURE_ROWS;
}

/* All rows of the picture whose scan is centred at t. */
static bool rows_at(struct reader *r, double t_s, struct fl_shown *v, double *off)
{
    bool all = true;
    *off = 0;
    memset(v, 0, sizeof *v);
    for (int k = 0; k < FL_EXPOSURE_ROWS; k++) {
        const double down = (k + 0.5) / FL_EXPOSURE_ROWS - 0.5;
        double flip_s = FL_UNKNOWN;
        all = shown_at(r, t_s + down * r->screen->scan_s, &flip_s, off) && all;
        add_row(v, flip_s);
    }
    return all;
}

static bool shift_known(const struct fl_shift_series *p, size_t i)
{
    const double step = p->time_s[i] - p->time_s[i - 1];
    return isfinite(p->x[i]) && isfinite(p->y[i]) && step > 0 && step <= model.longest_step_s &&
           (!p->quality || p->quality[i] >= model.least_quality);
}

struct fl_exposure_rows *fl_exposure_rows_find(const struct fl_shift_series *p,
                                               const struct fl_clock_screen *screen, size_t *n)
{
    struct reader reader = {screen, 0, 0};
    struct fl_exposure_rows *list = NULL, last = {0};
    size_t cap = 0;
    bool whole = false;
    *n = 0;
    for (size_t i = 0; i < p->n; i++) {
        struct fl_exposure_rows s = {.time_s = p->time_s[i], .x = p->x[i], .y = p->y[i]};
        s.before = last.now;
        const bool before = whole;
        whole = rows_at(&reader, s.time_s, &s.now, &s.off);
        if (i > 0 && whole && before && shift_known(p, i)) {
            s.step_s = s.time_s - p->time_s[i - 1];
            FL_PUSH(list, *n, cap, s);
        }
        last = s;
    }
    return list;
}
