/* A constant grid under rounded times: slots by rounding, the grid by least squares, in turn.
 *
 * Rounding to a time base spreads the residuals of a true grid over one tick, no more; that is the
 * test. Wild times are set aside first, as the longest increasing subsequence leaves them out. */
#include "media/timeline.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/robust.h"

/* Tolerances of a grid; times in s unless said otherwise. Choices, but for the first two. */
static const struct {
    double coarse_s;            /* the time base of common containers, whose rounding copies keep */
    double exact_s;             /* what doubles and fine time bases leave of a multiple of it */
    double short_gap, long_gap; /* of the middle gap: near it, that is, no missing frame */
    double coarsest; /* rounding, as a share of the period: above, slots are not told apart */
    double slack;    /* ticks over which residuals may spread: a line lies off their middle */
    double slack_s;
    double declared;   /* the same for a declared rate, ... */
    double declared_s; /* ... which is exact or not meant */
} fits = {.coarse_s = 1e-3,
          .exact_s = 1e-7,
          .short_gap = 0.7,
          .long_gap = 1.4,
          .coarsest = 0.4,
          .slack = 1.1,
          .slack_s = 1e-6,
          .declared = 1.02,
          .declared_s = 1e-7};
enum { GRID_ROUNDS = 6, SINGLE_PART = 4 }; /* one gap in so many is a single slot */

/* Frames whose time can be believed: index in the file, time. */
struct good {
    size_t n;
    size_t *frame;
    double *time_s;
};

/* The longest strictly increasing run of known times (patience sorting), so that one wild time
 * does not condemn all frames after it. Of repeated times the first is kept, or none. */
static struct good keep_increasing(const double *pts_s, size_t n, bool keep_repeated)
{
    size_t *tail = FL_NEW(size_t, n), *before = FL_NEW(size_t, n);
    size_t length = 0;
    for (size_t i = 0; i < n; i++) {
        const bool repeated =
            (i > 0 && pts_s[i - 1] == pts_s[i]) || (i + 1 < n && pts_s[i + 1] == pts_s[i]);
        if (!isfinite(pts_s[i]) || (repeated && !keep_repeated))
            continue;
        size_t lo = 0, hi = length;
        while (lo < hi) {
            const size_t mid = (lo + hi) / 2;
            if (pts_s[tail[mid]] < pts_s[i])
                lo = mid + 1;
            else
                hi = mid;
        }
        if (lo < length && pts_s[tail[lo]] == pts_s[i])
            continue;
        before[i] = lo > 0 ? tail[lo - 1] : n;
        tail[lo] = i;
        length += lo == length;
    }
    struct good g = {length, FL_NEW(size_t, length), FL_NEW(double, length)};
    for (size_t k = length, i = length ? tail[length - 1] : 0; k-- > 0; i = before[i]) {
        g.frame[k] = i;
        g.time_s[k] = pts_s[i];
    }
    free(tail);
    free(before);
    return g;
}

static void good_free(struct good *g)
{
    free(g->frame);
    free(g->time_s);
}

/* Times copied from a millisecond container keep its rounding under a finer time base. */
static double rounding_seen(const struct good *g, double tick_s)
{
    const double coarse = fits.coarse_s;
    if (tick_s >= coarse)
        return tick_s;
    for (size_t i = 0; i < g->n; i++)
        if (fabs(g->time_s[i] - coarse * round(g->time_s[i] / coarse)) > fits.exact_s)
            return tick_s;
    return coarse;
}

/* Mean of the gaps (per frame) near their p-quantile: finer than any one rounded gap. */
static double typical_gap(const struct good *g, double p)
{
    if (g->n < 2)
        return FL_UNKNOWN;
    double *gap = FL_NEW(double, g->n - 1);
    for (size_t i = 0; i + 1 < g->n; i++)
        gap[i] = (g->time_s[i + 1] - g->time_s[i]) / (double)(g->frame[i + 1] - g->frame[i]);
    const double middle = fl_quantile(gap, g->n - 1, p);
    double sum = 0;
    size_t count = 0;
    for (size_t i = 0; i + 1 < g->n; i++)
        if (gap[i] > fits.short_gap * middle && gap[i] < fits.long_gap * middle) {
            sum += gap[i];
            count++;
        }
    free(gap);
    return count ? sum / (double)count : middle;
}

struct grid {
    double start_s, period_s;
    double *slot; /* of each good frame, whole numbers */
};

static void steps_to_slots(const struct good *g, struct grid *grid)
{
    grid->slot[0] = 0;
    for (size_t i = 1; i < g->n; i++) {
        const double steps = round((g->time_s[i] - g->time_s[i - 1]) / grid->period_s);
        grid->slot[i] = grid->slot[i - 1] + fmax(steps, 1);
    }
}

/* Slots of the present line; true if any moved. */
static bool line_to_slots(const struct good *g, struct grid *grid)
{
    bool moved = false;
    for (size_t i = 0; i < g->n; i++) {
        const double s = round((g->time_s[i] - grid->start_s) / grid->period_s);
        moved |= s != grid->slot[i];
        grid->slot[i] = s;
    }
    return moved;
}

static double spread(const struct good *g, const double *slot, double period_s)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < g->n; i++) {
        const double r = g->time_s[i] - slot[i] * period_s;
        low = fmin(low, r);
        high = fmax(high, r);
    }
    return high - low;
}

/* Frames between two good ones need slots of their own; and unless a quarter of the gaps are
 * single slots, the grid is finer than the footage. */
static bool slots_hold(const struct good *g, const double *slot)
{
    size_t single = 0;
    for (size_t i = 1; i < g->n; i++) {
        const double room = slot[i] - slot[i - 1] - (double)(g->frame[i] - g->frame[i - 1]);
        if (room < 0)
            return false;
        single += room < 0.5;
    }
    return SINGLE_PART * single >= g->n - 1;
}

/* Tries a grid of about period_s. Rounding, by truncation or to the nearest, spreads the
 * residuals over one tick; a least-squares line may lie a little off their middle. */
static bool fit_grid(const struct good *g, struct grid *grid, double period_s, double rounding_s)
{
    if (!(period_s > 0) || rounding_s > fits.coarsest * period_s)
        return false;
    grid->period_s = period_s;
    steps_to_slots(g, grid);
    for (int round = 0; round < GRID_ROUNDS; round++) {
        struct fl_line line;
        if (fl_line_fit(&line, grid->slot, g->time_s, g->n) != 0 || !(line.slope > 0))
            return false;
        grid->start_s = line.intercept;
        grid->period_s = line.slope;
        if (!line_to_slots(g, grid))
            break;
    }
    return slots_hold(g, grid->slot) &&
           spread(g, grid->slot, grid->period_s) <= fits.slack * rounding_s + fits.slack_s;
}

/* The declared rate, where the times cannot contradict it. */
static void prefer_declared(const struct good *g, struct grid *grid, double nominal_hz,
                            double rounding_s)
{
    if (nominal_hz > 0 &&
        spread(g, grid->slot, 1 / nominal_hz) <= fits.declared * rounding_s + fits.declared_s)
        grid->period_s = 1 / nominal_hz;
}

static bool find_grid(const struct good *g, struct grid *grid, double nominal_hz, double rounding_s)
{
    const double tries[] = {nominal_hz > 0 ? 1 / nominal_hz : FL_UNKNOWN, typical_gap(g, 0.5),
                            typical_gap(g, 0.1)};
    for (size_t k = 0; k < sizeof tries / sizeof *tries; k++)
        if (fit_grid(g, grid, tries[k], rounding_s)) {
            prefer_declared(g, grid, nominal_hz, rounding_s);
            return true;
        }
    return false;
}

/* Frames without a time of their own follow the frame before, slot by slot; those at the start
 * precede the first. */
static void place_on_grid(struct fl_timeline *t, const struct good *g, const struct grid *grid)
{
    size_t k = 0;
    for (size_t i = 0; i < t->n; i++) {
        if (k < g->n && g->frame[k] == i)
            t->slot[i] = lround(grid->slot[k++]);
        else if (k == 0)
            t->slot[i] = lround(grid->slot[0]) - (long)(g->frame[0] - i);
        else
            t->slot[i] = t->slot[i - 1] + 1;
    }
    assert(k == g->n); /* each good frame has its slot, in order: slots_hold */
    const long first = t->slot[0];
    t->constant = true;
    t->rate_hz = 1 / grid->period_s;
    for (size_t i = 0; i < t->n; i++) {
        t->slot[i] -= first;
        t->time_s[i] = (double)t->slot[i] / t->rate_hz;
    }
    assert(t->slot[t->n - 1] >= (long)t->n - 1);
    t->missing = (size_t)t->slot[t->n - 1] + 1 - t->n;
}

/* Times as given; lost ones on a straight line between their neighbours. From the first known one
 * on, as far from zero doubles no longer tell what lies between two of them. */
static void place_as_given(struct fl_timeline *t, const struct good *g, double gap_s)
{
    t->time_s[g->frame[0]] = 0;
    for (size_t k = 0; k + 1 < g->n; k++) {
        const size_t a = g->frame[k], b = g->frame[k + 1];
        const double from_s = g->time_s[k] - g->time_s[0], to_s = g->time_s[k + 1] - g->time_s[0];
        for (size_t i = a + 1; i <= b; i++)
            t->time_s[i] = from_s + (to_s - from_s) * (double)(i - a) / (double)(b - a);
    }
    for (size_t i = g->frame[0]; i-- > 0;)
        t->time_s[i] = t->time_s[i + 1] - gap_s;
    for (size_t i = g->frame[g->n - 1] + 1; i < t->n; i++)
        t->time_s[i] = t->time_s[i - 1] + gap_s;
    const double first = t->time_s[0];
    for (size_t i = 0; i < t->n; i++) {
        t->time_s[i] -= first;
        if (i > 0 && !(t->time_s[i] > t->time_s[i - 1]))
            t->time_s[i] = nextafter(t->time_s[i - 1], INFINITY);
        t->slot[i] = (long)i;
    }
    t->rate_hz = 1 / gap_s;
}

/* Under two known times only the declared rate can say anything. */
static enum flinch_code place_by_rate(struct fl_timeline *t, double nominal_hz,
                                      struct fl_error *err)
{
    if (t->n > 1 && !(nominal_hz > 0))
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "the frames carry no times and the file declares no frame rate");
    t->constant = nominal_hz > 0;
    t->rate_hz = nominal_hz > 0 ? nominal_hz : FL_UNKNOWN;
    for (size_t i = 0; i < t->n; i++) {
        t->slot[i] = (long)i;
        t->time_s[i] = i ? (double)i / nominal_hz : 0;
    }
    return FLINCH_OK;
}

/* The slots of a grid, and whatever else is sized by times, are counted only within these. */
static enum flinch_code check_limits(double first_s, double span_s, double rate_hz,
                                     struct fl_error *err)
{
    if (fabs(first_s) > FL_TIMELINE_FARTHEST_S)
        return fl_fail(
            err, FLINCH_ERR_FORMAT,
            "its times begin %.2g s from zero, too far for frames to be told apart; write "
            "its times anew (remux it)",
            fabs(first_s));
    if (span_s > FL_TIMELINE_LONGEST_S)
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "its first and last frame lie %.4g hours apart, which no recording does; "
                       "write its times anew (remux it), or cut it",
                       span_s / 3600);
    if (rate_hz > FL_TIMELINE_FASTEST_HZ)
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "its times say %.4g frames a second, which no recorder takes; write its "
                       "times anew (remux it)",
                       rate_hz);
    return FLINCH_OK;
}

static enum flinch_code place(struct fl_timeline *out, const struct good *g,
                              const struct grid *grid, bool constant, double nominal_hz,
                              struct fl_error *err)
{
    const bool timed = g->n >= 2;
    const double gap_s = constant ? grid->period_s : timed ? typical_gap(g, 0.5) : FL_UNKNOWN;
    /* Frames before the first known time and after the last follow at the typical gap. */
    const double ends = timed ? (double)(out->n - 1 - (g->frame[g->n - 1] - g->frame[0])) : 0;
    const double span_s = timed            ? g->time_s[g->n - 1] - g->time_s[0] + ends * gap_s
                          : nominal_hz > 0 ? (double)(out->n - 1) / nominal_hz
                                           : 0;
    const double first_s = timed ? g->time_s[0] : 0;
    const enum flinch_code code =
        check_limits(first_s, span_s, timed ? 1 / gap_s : nominal_hz, err);
    if (code != FLINCH_OK)
        return code;
    if (!timed)
        return place_by_rate(out, nominal_hz, err);
    if (constant)
        place_on_grid(out, g, grid);
    else
        place_as_given(out, g, gap_s);
    return FLINCH_OK;
}

enum flinch_code fl_timeline_fit(struct fl_timeline *out, const double *pts_s, size_t n,
                                 double nominal_hz, double tick_s, struct fl_error *err)
{
    memset(out, 0, sizeof *out);
    if (n == 0)
        return fl_fail(err, FLINCH_ERR_EMPTY, "the footage holds no frames");
    struct grid grid = {.slot = FL_NEW(double, n)};
    struct good g = {0};
    bool constant = false;
    /* Which of two equal times is wrong only the grid can tell; as given, the first is right. */
    for (int attempt = 0; attempt < 3 && !constant; attempt++) {
        good_free(&g);
        g = keep_increasing(pts_s, n, attempt != 1);
        constant = g.n >= 2 && find_grid(&g, &grid, nominal_hz, rounding_seen(&g, tick_s));
    }
    *out = (struct fl_timeline){.n = n, .time_s = FL_NEW(double, n), .slot = FL_NEW(long, n)};
    out->mended = n - g.n;
    out->rounding_s = rounding_seen(&g, tick_s);
    enum flinch_code code = place(out, &g, &grid, constant, nominal_hz, err);
    free(grid.slot);
    good_free(&g);
    if (code != FLINCH_OK)
        fl_timeline_finish(out);
    return code;
}

void fl_timeline_finish(struct fl_timeline *t)
{
    free(t->time_s);
    free(t->slot);
    memset(t, 0, sizeof *t);
}
