/* Cumulated counts at any time, by bisection: the difference of two look-ups is a mean rate.
 *
 * A mouse reports what it counted since the last report, so counts are spread over that gap, but
 * not over a rest before it. A stick holds its deflection until the next reading. */
#include "trace/motion.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

/* A curve known at n times: value up to and including time k. */
struct curve {
    size_t n;
    double *time_s, *a, *b;
};

struct fl_motion {
    struct curve counts; /* a, b: cumulated dx, dy */
    struct curve stick;  /* a: integral of the deflection, b: cumulated path of the stick */
    struct curve held;   /* a, b: integral of the stick across and down */
    double max_spread_s, first_spread_s, report_s;
    double path_spread_s;   /* of the path: max_spread_s, or as long as it takes for a stick's */
    double last_deflection; /* held after the last stick event */
    double last[2];
    struct reading *reading; /* n_readings of the stick, where the path is its */
    size_t n_readings;
    double rest;
};

/* The stick from a time on. */
struct reading {
    double time_s, at[2];
};

/* Of a stick's rest. Choices. */
static const struct {
    double near;  /* deflection up to which it may be let go; tracking holds it farther out */
    double share; /* of that time under the middling deflection ... */
    double reach; /* ... times which lie 95 % of a rest's noise: two normal errors make a Rayleigh
                     distribution, of median 1.177 and 95 % point 2.448 */
    double least; /* share of all of the time: less, and it is never let go */
    double full;  /* counts/s at full deflection */
} stick = {.near = 0.25, .share = 0.5, .reach = 2.448 / 1.177, .least = 0.05, .full = 1000};

static struct curve curve_new(size_t n)
{
    return (struct curve){0, FL_NEW(double, n), FL_NEW(double, n), FL_NEW(double, n)};
}

static void curve_free(struct curve *c)
{
    free(c->time_s);
    free(c->a);
    free(c->b);
}

/* First index whose time is >= t_s; n if none. */
static size_t first_at(const struct curve *c, double t_s)
{
    size_t lo = 0, hi = c->n;
    while (lo < hi) {
        const size_t mid = (lo + hi) / 2;
        if (c->time_s[mid] < t_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

static void add_counts(struct curve *c, const struct fl_event *e)
{
    assert(!c->n || e->time_s > c->time_s[c->n - 1]); /* look-ups bisect */
    const double x = c->n ? c->a[c->n - 1] : 0, y = c->n ? c->b[c->n - 1] : 0;
    c->time_s[c->n] = e->time_s;
    c->a[c->n] = x + (double)e->dx;
    c->b[c->n] = y + (double)e->dy;
    c->n++;
}

static void build_counts(struct fl_motion *m, const struct fl_trace *t)
{
    m->counts = curve_new(t->n);
    for (size_t i = 0; i < t->n; i++)
        add_counts(&m->counts, &t->events[i]);
}

/* The stick stays where it was last reported. */
static void build_stick(struct fl_motion *m, const struct fl_trace *t)
{
    double x = 0, y = 0, area = 0, path = 0, deflection = 0, at = 0, sum[2] = {0, 0};
    const size_t most = t->has_stick ? t->n : 0;
    m->stick = curve_new(most);
    m->held = curve_new(most);
    m->reading = FL_NEW(struct reading, most + 1);
    for (size_t i = 0; i < most; i++) {
        const struct fl_event *e = &t->events[i];
        if (isnan(e->stick_x) && isnan(e->stick_y))
            continue;
        const double nx = isnan(e->stick_x) ? x : (double)e->stick_x;
        const double ny = isnan(e->stick_y) ? y : (double)e->stick_y;
        const size_t k = m->stick.n++;
        if (k > 0) {
            area += deflection * (e->time_s - at);
            path += hypot(nx - x, ny - y);
            sum[0] += x * (e->time_s - at);
            sum[1] += y * (e->time_s - at);
        }
        m->stick.time_s[k] = m->held.time_s[k] = at = e->time_s;
        m->stick.a[k] = area;
        m->stick.b[k] = path;
        m->held.a[k] = sum[0];
        m->held.b[k] = sum[1];
        m->held.n = m->stick.n;
        x = nx;
        y = ny;
        deflection = fmin(hypot(x, y), 1);
        m->reading[k] = (struct reading){e->time_s, {x, y}};
    }
    m->n_readings = m->stick.n;
    m->last_deflection = deflection;
    m->last[0] = x;
    m->last[1] = y;
}

/* ---- the stick's path ---- */

struct held {
    double deflection, for_s;
};

static int by_deflection(const void *a, const void *b)
{
    const double x = ((const struct held *)a)->deflection, y = ((const struct held *)b)->deflection;
    return (x > y) - (x < y);
}

static double find_stick_rest(const struct fl_motion *m)
{
    struct held *v = FL_NEW(struct held, m->n_readings + 1);
    double all = 0, near = 0, sum = 0, rest = 0;
    size_t n = 0;
    for (size_t k = 0; k + 1 < m->n_readings; k++) {
        const struct held h = {hypot(m->reading[k].at[0], m->reading[k].at[1]),
                               m->reading[k + 1].time_s - m->reading[k].time_s};
        all += h.for_s;
        if (h.deflection >= stick.near)
            continue;
        near += h.for_s;
        v[n++] = h;
    }
    qsort(v, n, sizeof *v, by_deflection);
    for (size_t k = 0; k < n && sum < stick.share * near; k++) {
        sum += v[k].for_s;
        rest = v[k].deflection;
    }
    free(v);
    return near >= stick.least * all ? stick.reach * rest : 0;
}

static double response_at(const struct fl_stick_response *r, double deflection)
{
    int k = 0;
    while (k < r->n && r->deflection[k] < deflection)
        k++;
    if (k == 0 || k == r->n)
        return r->n ? r->rate[k ? r->n - 1 : 0] : 0;
    const double part =
        (deflection - r->deflection[k - 1]) / (r->deflection[k] - r->deflection[k - 1]);
    return r->rate[k - 1] + part * (r->rate[k] - r->rate[k - 1]);
}

void fl_motion_respond(struct fl_motion *m, const struct fl_stick_response *r)
{
    double x = 0, y = 0;
    assert(fl_motion_of_stick(m));
    for (size_t k = 0; k < m->n_readings; k++) {
        m->counts.time_s[k] = m->reading[k].time_s;
        m->counts.a[k] = x;
        m->counts.b[k] = y;
        const double *at = m->reading[k].at, deflection = hypot(at[0], at[1]);
        const double until_s =
            k + 1 < m->n_readings ? m->reading[k + 1].time_s : m->reading[k].time_s;
        const double speed = deflection > 0 ? response_at(r, fmin(deflection, 1)) / deflection : 0;
        x += speed * at[0] * (until_s - m->reading[k].time_s);
        y += speed * at[1] * (until_s - m->reading[k].time_s);
    }
}

/* A path that grows evenly between readings, however far they lie apart. */
static void build_stick_path(struct fl_motion *m)
{
    m->rest = find_stick_rest(m);
    curve_free(&m->counts);
    m->counts = curve_new(m->n_readings);
    m->counts.n = m->n_readings;
    m->path_spread_s = INFINITY;
    m->first_spread_s = 0;
    fl_motion_respond(m, &(struct fl_stick_response){2, {m->rest, 1}, {0, stick.full}});
}

bool fl_motion_of_stick(const struct fl_motion *m)
{
    return m->path_spread_s == INFINITY;
}

double fl_motion_stick_rest(const struct fl_motion *m)
{
    return fl_motion_of_stick(m) ? m->rest : FL_UNKNOWN;
}

struct fl_motion *fl_motion_new(const struct fl_trace *trace, double max_spread_s)
{
    struct fl_motion *m = FL_NEW(struct fl_motion, 1);
    m->max_spread_s = m->path_spread_s = max_spread_s > 0 ? max_spread_s : 0;
    m->report_s = fl_known(trace->report_rate_hz) ? 1 / trace->report_rate_hz : 0;
    m->first_spread_s = fl_known(trace->report_rate_hz)
                            ? fmin(m->max_spread_s, 1 / trace->report_rate_hz)
                            : m->max_spread_s;
    build_counts(m, trace);
    build_stick(m, trace);
    if (!trace->has_motion && m->n_readings > 1)
        build_stick_path(m);
    return m;
}

void fl_motion_free(struct fl_motion **m)
{
    if (!*m)
        return;
    curve_free(&(*m)->counts);
    curve_free(&(*m)->stick);
    curve_free(&(*m)->held);
    free((*m)->reading);
    free(*m);
    *m = NULL;
}

double fl_motion_report_s(const struct fl_motion *m)
{
    return m->report_s;
}

bool fl_motion_covers(const struct fl_motion *m, double t_s)
{
    const struct curve *c = &m->counts;
    return c->n > 0 && t_s >= c->time_s[0] - m->first_spread_s && t_s <= c->time_s[c->n - 1];
}

/* Share of event k's step that has happened by t_s <= its time. */
static double share_done(const struct fl_motion *m, const struct curve *c, size_t k, double t_s)
{
    const double gap = k > 0 ? c->time_s[k] - c->time_s[k - 1] : m->first_spread_s;
    const double spread = fmin(gap, c == &m->counts ? m->path_spread_s : m->max_spread_s);
    return spread > 0 ? fl_clamp(1 - (c->time_s[k] - t_s) / spread, 0, 1) : t_s >= c->time_s[k];
}

void fl_motion_path(const struct fl_motion *m, double t_s, double *x, double *y)
{
    const struct curve *c = &m->counts;
    const size_t k = first_at(c, t_s);
    const double x0 = k > 0 ? c->a[k - 1] : 0, y0 = k > 0 ? c->b[k - 1] : 0;
    *x = x0;
    *y = y0;
    if (k == c->n)
        return;
    const double done = share_done(m, c, k, t_s);
    *x += done * (c->a[k] - x0);
    *y += done * (c->b[k] - y0);
}

void fl_motion_rate(const struct fl_motion *m, double t_s, double w_s, double *x, double *y)
{
    double x0, y0, x1, y1;
    fl_motion_path(m, t_s - w_s / 2, &x0, &y0);
    fl_motion_path(m, t_s + w_s / 2, &x1, &y1);
    *x = (x1 - x0) / w_s;
    *y = (y1 - y0) / w_s;
}

/* Integral of the deflection and path of the stick up to t_s. */
static void stick_at(const struct fl_motion *m, double t_s, double *area, double *path)
{
    const struct curve *c = &m->stick;
    const size_t k = first_at(c, t_s);
    if (k == 0) {
        *area = *path = 0;
    } else if (k == c->n) {
        *area = c->a[k - 1] + m->last_deflection * (t_s - c->time_s[k - 1]);
        *path = c->b[k - 1];
    } else {
        const double share = (t_s - c->time_s[k - 1]) / (c->time_s[k] - c->time_s[k - 1]);
        *area = c->a[k - 1] + share * (c->a[k] - c->a[k - 1]);
        *path = c->b[k - 1] + share_done(m, c, k, t_s) * (c->b[k] - c->b[k - 1]);
    }
}

void fl_motion_stick(const struct fl_motion *m, double t_s, double w_s, double *deflection,
                     double *rate)
{
    double area[2], path[2];
    *deflection = *rate = FL_UNKNOWN;
    if (m->stick.n == 0 || t_s - w_s / 2 < m->stick.time_s[0])
        return;
    stick_at(m, t_s - w_s / 2, &area[0], &path[0]);
    stick_at(m, t_s + w_s / 2, &area[1], &path[1]);
    *deflection = (area[1] - area[0]) / w_s;
    *rate = (path[1] - path[0]) / w_s;
}

static void held_at(const struct fl_motion *m, double t_s, double sum[2])
{
    const struct curve *c = &m->held;
    const size_t k = first_at(c, t_s);
    if (k == c->n) {
        sum[0] = c->a[k - 1] + m->last[0] * (t_s - c->time_s[k - 1]);
        sum[1] = c->b[k - 1] + m->last[1] * (t_s - c->time_s[k - 1]);
    } else if (k > 0) {
        const double share = (t_s - c->time_s[k - 1]) / (c->time_s[k] - c->time_s[k - 1]);
        sum[0] = c->a[k - 1] + share * (c->a[k] - c->a[k - 1]);
        sum[1] = c->b[k - 1] + share * (c->b[k] - c->b[k - 1]);
    } else {
        sum[0] = sum[1] = 0;
    }
}

bool fl_motion_stick_mean(const struct fl_motion *m, double t_s, double w_s, double mean[2])
{
    double before[2], after[2];
    if (m->held.n == 0 || t_s - w_s / 2 < m->held.time_s[0])
        return false;
    held_at(m, t_s - w_s / 2, before);
    held_at(m, t_s + w_s / 2, after);
    mean[0] = (after[0] - before[0]) / w_s;
    mean[1] = (after[1] - before[1]) / w_s;
    return true;
}
