#include "hand.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "pad.h"
#include "rng.h"

static const double LEAD_S = 0.9, TAIL_S = 0.9;
static const double EYES_M = 1.7; /* above the ground */

double st_trace_time(const struct st_scenario *s, double footage_s)
{
    return s->clock_offset_s + (1 + s->drift_ppm * 1e-6) * footage_s;
}

double st_footage_time(const struct st_scenario *s, double trace_s)
{
    return (trace_s - s->clock_offset_s) / (1 + s->drift_ppm * 1e-6);
}

/* ---- plan ---- */

struct planner {
    struct st_hand *hand;
    const struct st_scenario *scenario;
    struct st_rng rng;
    double t, pitch_deg; /* pitch so far, + down */
};

static void add_move(struct planner *p, double start, double length, double dx, double dy,
                     bool steady)
{
    struct st_hand *h = p->hand;
    struct st_move m = {start, start + length, dx, dy, steady};
    FL_PUSH(h->moves, h->n_moves, h->cap_moves, m);
    p->pitch_deg += dy;
}

/* Mostly sideways, unless half of them are not; up or down, whichever brings the eyes back to
 * level. */
static void direction(struct planner *p, double size, double *dx, double *dy)
{
    double tilt = fabs(st_normal(&p->rng)) * 0.22;
    double limit = 12 + 2 * fabs(p->pitch_deg);
    if (p->scenario->up_and_down && st_uniform(&p->rng, 0, 1) < 0.5)
        tilt = FL_PI / 2 - tilt;
    *dx = (st_uniform(&p->rng, 0, 1) < 0.5 ? -1 : 1) * size * cos(tilt);
    *dy = (p->pitch_deg > 0 ? -1 : 1) * fmin(size * sin(tilt), limit);
}

/* Peak speed of a bell-shaped move of size A in T seconds is 1.875 A/T. */
static void add_flick(struct planner *p)
{
    const struct st_scenario *s = p->scenario;
    double peak = st_log_uniform(&p->rng, s->flick_low, s->flick_high);
    double length = st_uniform(&p->rng, 0.09, 0.30);
    length = fmin(length, fmax(0.10, 1.875 * 75 / peak));
    double size = peak * length / 1.875, dx, dy;
    direction(p, size, &dx, &dy);
    add_move(p, p->t, length, dx, dy, false);
    struct st_flick f = {p->t, p->t + length, peak * hypot(dx, dy) / size, hypot(dx, dy)};
    FL_PUSH(p->hand->flicks, p->hand->n_flicks, p->hand->cap_flicks, f);
    p->t += length;
    if (st_uniform(&p->rng, 0, 1) < 0.45) {
        double press = p->t + st_uniform(&p->rng, 0.02, 0.12);
        struct st_click c = {press, press + st_uniform(&p->rng, 0.06, 0.11)};
        FL_PUSH(p->hand->clicks, p->hand->n_clicks, p->hand->cap_clicks, c);
    }
    if (s->corrective || st_uniform(&p->rng, 0, 1) < 0.55) { /* overshot: a move back */
        double low = s->corrective ? 0.3 : 0.05, high = s->corrective ? 0.6 : 0.16;
        double part = -st_uniform(&p->rng, low, high), wait = st_uniform(&p->rng, 0.02, 0.06);
        double back = st_uniform(&p->rng, 0.08, 0.15);
        add_move(p, p->t + wait, back, part * dx, part * dy, false);
        p->t += wait + back;
    }
}

/* A thumb pushes the stick, holds it, and lets it go. */
static void add_push(struct planner *p)
{
    const struct st_scenario *s = p->scenario;
    const double soft_s = 0.08; /* as steady moves begin and end */
    double peak =
        st_log_uniform(&p->rng, s->flick_low, fmin(s->flick_high, s->stick.fastest_deg_s));
    double length = fmin(st_uniform(&p->rng, 0.2, 0.5), 0.18 + 75 / peak), dx, dy;
    direction(p, peak * (length - soft_s), &dx, &dy);
    add_move(p, p->t, length, dx, dy, true);
    double angle = hypot(dx, dy);
    struct st_flick f = {p->t, p->t + length, angle / (length - soft_s), angle};
    FL_PUSH(p->hand->flicks, p->hand->n_flicks, p->hand->cap_flicks, f);
    p->t += length;
}

static void add_pause(struct planner *p, double length)
{
    double speed = st_uniform(&p->rng, 0, 1) < 0.25 ? 0 : st_uniform(&p->rng, 5, 17);
    double start = p->t + 0.03, span = length - 0.06;
    if (p->scenario->no_hand)
        speed = 0;
    if (speed > 0 && span > 0.1) {
        double dx, dy;
        direction(p, speed * (span - 0.08), &dx, &dy); /* soft ends of 0.08 s cost that much */
        add_move(p, start, span, dx, dy, true);
    }
    struct st_track k = {start, start + span, speed};
    FL_PUSH(p->hand->tracks, p->hand->n_tracks, p->hand->cap_tracks, k);
    p->t += length;
}

static void add_still(struct planner *p)
{
    p->hand->still = (struct fl_span){p->t + 0.2, p->t + 0.2 + p->scenario->still_s};
    p->t += p->scenario->still_s + 0.5;
}

static bool overlaps(struct fl_span a, double start, double end)
{
    return fl_known(a.start_s) && start < a.end_s && end > a.start_s;
}

static void carry(struct planner *p, double start, double length, double dx, double dy, double dz)
{
    struct st_strafe s = {start, start + length, {dx, dy, dz}};
    FL_PUSH(p->hand->strafes, p->hand->n_strafes, p->hand->cap_strafes, s);
}

/* Up and down by turns, past things nearby; the hand rests. */
static void add_lift(struct planner *p, bool up)
{
    const double wait = 0.25, rise_m = 5.5;
    double length = st_uniform(&p->rng, 1.6, 2.4);
    carry(p, p->t + wait, length, 0, 0, up ? rise_m : -rise_m);
    p->t += length + 2 * wait;
}

/* A vehicle that runs between the corners of a square; the hand goes on as it pleases. */
static void add_rides(struct planner *p)
{
    enum { LEGS = 4 };
    const double far_m = 1.8;
    double at[2] = {0, 0};
    struct st_rng rng = st_rng(p->scenario->seed, 8);
    for (double t = 2; t < p->scenario->seconds - 5; t += st_uniform(&rng, 1.5, 2.5)) {
        if (overlaps(p->hand->still, t - 0.2, t + LEGS * 1.1 + 0.2))
            continue;
        for (int leg = 0; leg < LEGS; leg++) {
            double length = st_uniform(&rng, 0.7, 1.1), to[2];
            to[0] = leg + 1 == LEGS ? 0 : copysign(far_m, st_uniform(&rng, -1, 1));
            to[1] = leg + 1 == LEGS ? 0 : copysign(far_m, st_uniform(&rng, -1, 1));
            carry(p, t, length, to[0] - at[0], to[1] - at[1], 0);
            at[0] = to[0];
            at[1] = to[1];
            t += length;
        }
    }
}

static void add_strafes(struct planner *p)
{
    double at_x = 0, at_y = 0;
    struct st_rng rng = st_rng(p->scenario->seed, 5);
    for (double t = 2; t < p->scenario->seconds - 2; t += st_uniform(&rng, 2.5, 5)) {
        double length = st_uniform(&rng, 0.6, 1.3);
        if (overlaps(p->hand->still, t - 0.2, t + length + 0.2))
            continue;
        double x = st_uniform(&rng, -1.4, 1.4), y = st_uniform(&rng, -1.0, 1.0);
        carry(p, t, length, x - at_x, y - at_y, 0);
        at_x = x;
        at_y = y;
    }
}

static void plan(struct planner *p)
{
    const struct st_scenario *s = p->scenario;
    enum { FLICKS_A_LIFT = 4 };
    bool moves = !s->no_hand, stilled = s->still_s <= 0;
    int flicks = 0;
    p->t = -0.8;
    add_pause(p, s->edge_flicks ? 0.55 : 1.5); /* the screen is behind the hand by the delay */
    while (p->t < s->seconds - (s->edge_flicks ? 1.6 : 0.55)) {
        if (!stilled && p->t > 0.45 * s->seconds) {
            add_still(p);
            stilled = true;
        }
        if (s->lifts && ++flicks % FLICKS_A_LIFT == 0)
            add_lift(p, flicks / FLICKS_A_LIFT % 2);
        if (moves && s->stick.report_hz > 0)
            add_push(p);
        else if (moves)
            add_flick(p);
        add_pause(p, st_uniform(&p->rng, s->pause_low, s->pause_high));
    }
    if (s->edge_flicks && moves) {
        p->t = fmax(p->t, s->seconds - 0.2);
        add_flick(p);
    }
    add_pause(p, s->seconds + TAIL_S - p->t);
    if (s->strafes)
        add_strafes(p);
    if (s->rides)
        add_rides(p);
}

/* ---- motion ---- */

static double bell(double x) /* share of the way, minimum jerk */
{
    x = fl_clamp(x, 0, 1);
    return x * x * x * (10 + x * (6 * x - 15));
}

/* Share of the way of a steady move: speed rises and falls within 0.08 s. */
static double steady(double t, double length)
{
    double ramp = 0.08, u = fl_clamp(t, 0, length), cruise = length - ramp, way;
    if (u < ramp)
        way = u * u / (2 * ramp);
    else if (u < cruise)
        way = u - ramp / 2;
    else
        way = cruise - (length - u) * (length - u) / (2 * ramp);
    return way / cruise;
}

static void path(const struct st_hand *h, double t, double *x, double *y)
{
    *x = *y = 0;
    for (size_t i = 0; i < h->n_moves && h->moves[i].start_s < t; i++) {
        const struct st_move *m = h->moves + i;
        double length = m->end_s - m->start_s, u = t - m->start_s;
        double k = m->steady ? steady(u, length) : bell(u / length);
        *x += k * m->dx_deg;
        *y += k * m->dy_deg;
    }
}

/* One report a millisecond of the mouse's own clock, with a little lateness. */
static void sample_reports(struct st_hand *h, const struct st_scenario *s, struct st_rng *rng)
{
    double first = fmin(st_trace_time(s, -LEAD_S), 0),
           last = st_trace_time(s, s->seconds + TAIL_S + 0.8);
    for (long i = (long)floor(first * 1000); i <= (long)(last * 1000); i++) {
        double x, y, late = fabs(st_normal(rng)) * 60e-6;
        struct st_report r = {.time_s = st_footage_time(s, i * 1e-3 + late)};
        path(h, r.time_s, &x, &y);
        r.x = lround(x / s->degrees_per_count);
        r.y = lround(y / s->degrees_per_count);
        FL_PUSH(h->reports, h->n_reports, h->cap_reports, r);
    }
}

void st_hand_init(struct st_hand *h, const struct st_scenario *s, uint64_t seed)
{
    *h = (struct st_hand){.still = {FL_UNKNOWN, FL_UNKNOWN}};
    struct planner p = {h, s, st_rng(seed, 1), 0, 0};
    plan(&p);
    struct st_rng rng = st_rng(seed, 2);
    if (s->stick.report_hz > 0)
        st_pad_record(h, s, seed);
    else
        sample_reports(h, s, &rng);
}

void st_hand_finish(struct st_hand *h)
{
    free(h->moves);
    free(h->flicks);
    free(h->tracks);
    free(h->strafes);
    free(h->clicks);
    free(h->reports);
    free(h->readings);
    *h = (struct st_hand){0};
}

void st_hand_counts(const struct st_hand *h, double t, long *x, long *y)
{
    size_t low = 0, high = h->n_reports; /* reports before high may be later than t */
    while (low < high) {
        size_t mid = (low + high) / 2;
        if (h->reports[mid].time_s <= t)
            low = mid + 1;
        else
            high = mid;
    }
    *x = low ? h->reports[low - 1].x : 0;
    *y = low ? h->reports[low - 1].y : 0;
}

const struct st_reading *st_hand_reading(const struct st_hand *h, double t)
{
    size_t low = 0, high = h->n_readings;
    while (low < high) {
        size_t mid = (low + high) / 2;
        if (h->readings[mid].time_s <= t)
            low = mid + 1;
        else
            high = mid;
    }
    return h->readings + (low ? low - 1 : 0);
}

void st_hand_position(const struct st_hand *h, double t, double at[3])
{
    at[0] = at[1] = 0;
    at[2] = EYES_M;
    for (size_t i = 0; i < h->n_strafes; i++) {
        const struct st_strafe *s = h->strafes + i;
        double k = bell((t - s->start_s) / (s->end_s - s->start_s));
        for (int axis = 0; axis < 3; axis++)
            at[axis] += k * s->way_m[axis];
    }
}

double st_hand_game_time(const struct st_hand *h, double t)
{
    if (!fl_known(h->still.start_s) || t < h->still.start_s)
        return t;
    return t < h->still.end_s ? h->still.start_s : t - (h->still.end_s - h->still.start_s);
}
