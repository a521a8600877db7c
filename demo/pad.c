/* A stick is pushed out and let go within 0.08 s, held in between. It never quite stands still: its
 * sensor is noisy, and where it comes to rest differs from one letting go to the next. The game
 * turns at a rate that hangs on the deflection past a dead zone. */
#include "pad.h"

#include <math.h>

#include "base/mem.h"
#include "rng.h"

static const double PUSH_S = 0.08; /* from memory of how thumbs move */
static const double FULL = 32767;  /* of an axis of 16 bits */
static const double LEAD_S = 0.9, TAIL_S = 1.7;

double st_pad_turn_rate(const struct st_stick *s, double deflection)
{
    double past = (fmin(deflection, 1) - s->dead) / (1 - s->dead);
    return past > 0 ? s->fastest_deg_s * pow(past, s->power) : 0;
}

double st_pad_deflection(const struct st_stick *s, double deg_s)
{
    double part = fmin(deg_s / s->fastest_deg_s, 1);
    return part > 0 ? s->dead + (1 - s->dead) * pow(part, 1 / s->power) : 0;
}

/* 0..1: pushed out, held, let go. */
static double pushed(const struct st_move *m, double t)
{
    double u = fmin(t - m->start_s, m->end_s - t) / PUSH_S;
    return fl_clamp(u, 0, 1);
}

/* Where the thumb holds it; false where it is let go. */
static bool held_at(const struct st_hand *h, const struct st_stick *s, double t, double at[2])
{
    bool held = false;
    at[0] = at[1] = 0;
    for (size_t i = 0; i < h->n_moves && h->moves[i].start_s < t; i++) {
        const struct st_move *m = h->moves + i;
        if (t >= m->end_s)
            continue;
        double way = hypot(m->dx_deg, m->dy_deg), cruise_s = m->end_s - m->start_s - PUSH_S,
               part = pushed(m, t) * st_pad_deflection(s, way / cruise_s) / way;
        at[0] += part * m->dx_deg;
        at[1] += part * m->dy_deg;
        held = true;
    }
    return held;
}

static double axis_value(double x)
{
    return round(fl_clamp(x, -1, 1) * FULL) / FULL;
}

void st_pad_turning(const struct st_hand *h, const struct st_stick *s, double t, double deg_s[2])
{
    const struct st_reading *r = st_hand_reading(h, t);
    double deflection = hypot(r->at[0], r->at[1]),
           gain = deflection > 0 ? st_pad_turn_rate(s, deflection) / deflection : 0;
    deg_s[0] = gain * r->at[0];
    deg_s[1] = gain * r->at[1];
}

void st_pad_turned(const struct st_hand *h, const struct st_stick *s, double t, double deg[2])
{
    const struct st_reading *r = st_hand_reading(h, t);
    double deg_s[2], since = fmax(t - r->time_s, 0);
    st_pad_turning(h, s, t, deg_s);
    deg[0] = r->turned_deg[0] + since * deg_s[0];
    deg[1] = r->turned_deg[1] + since * deg_s[1];
}

void st_pad_record(struct st_hand *h, const struct st_scenario *scenario, uint64_t seed)
{
    const struct st_stick *s = &scenario->stick;
    struct st_rng rng = st_rng(seed, 9);
    double rest[2] = {0, 0}, first = fmin(st_trace_time(scenario, -LEAD_S), 0),
           last = st_trace_time(scenario, scenario->seconds + TAIL_S);
    bool was_held = true;
    for (long i = (long)floor(first * s->report_hz); i <= (long)(last * s->report_hz); i++) {
        double late = fabs(st_normal(&rng)) * 60e-6, at[2];
        struct st_reading r = {.time_s =
                                   st_footage_time(scenario, (double)i / s->report_hz + late)};
        bool held = held_at(h, s, r.time_s, at);
        for (int k = 0; k < 2; k++) {
            rest[k] = was_held && !held ? s->rest_spread * st_normal(&rng) : rest[k];
            r.at[k] = axis_value(at[k] + (held ? 0 : rest[k]) + s->noise * st_normal(&rng));
        }
        was_held = held;
        if (h->n_readings)
            st_pad_turned(h, s, r.time_s, r.turned_deg);
        FL_PUSH(h->readings, h->n_readings, h->cap_readings, r);
    }
}
