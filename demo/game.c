#include "game.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "rng.h"

static const double FIRST_S = -0.12, AFTER_S = 0.3; /* presents start and stop around the footage */

double st_focal_px(const struct st_scenario *s)
{
    return 0.5 * s->width / tan(0.5 * s->hfov_deg * FL_PI / 180);
}

/* ---- the cut-off: hysteresis and delays ---- */

struct cutoff {
    bool on;
    double since_s; /* how long the other side of the threshold has lasted; NaN = not */
};

static void cutoff_step(struct cutoff *c, const struct st_scenario *s, double q, double now_s)
{
    bool beyond = c->on ? q > s->theta_hi : q < s->theta_lo;
    if (!beyond) {
        c->since_s = FL_UNKNOWN;
        return;
    }
    if (!fl_known(c->since_s))
        c->since_s = now_s;
    if (now_s - c->since_s >= (c->on ? s->d_on_s : s->d_off_s)) {
        c->on = !c->on;
        c->since_s = FL_UNKNOWN;
    }
}

/* ---- rendered frames ---- */

struct loop {
    struct st_game *game;
    const struct st_scenario *scenario;
    const struct st_hand *hand;
    struct st_rng rng;
    struct cutoff cutoff;
    double wander;  /* log of the base rate against nominal */
    double delay_s; /* mouse to screen now */
    long slot;      /* of the last rendered frame, synchronised output */
};

static bool heavy_at(const struct st_game *g, double t)
{
    for (size_t i = 0; i < g->n_heavy; i++)
        if (t >= g->heavy[i].start_s && t < g->heavy[i].end_s)
            return true;
    return false;
}

/* Time to render the next frame: a slow wander of a few per cent and a little jitter. */
static double next_period(struct loop *l, double now_s)
{
    const struct st_scenario *s = l->scenario;
    double rate = s->base_hz * (l->cutoff.on ? 1 : s->off_gain), dt = 1 / rate, tau = 1.2,
           spread = 0.024;
    l->wander += -l->wander * dt / tau + spread * sqrt(2 * dt / tau) * st_normal(&l->rng);
    l->wander = fl_clamp(l->wander, -0.05, 0.05);
    double period = exp(-l->wander) / rate * (1 + 0.015 * st_normal(&l->rng));
    return heavy_at(l->game, now_s) ? 2 * period : period;
}

static void look(struct loop *l, struct st_rendered *r)
{
    st_hand_counts(l->hand, r->sample_s, &r->x, &r->y);
    r->yaw_deg = 90 - (double)r->x * l->scenario->degrees_per_count;
    r->pitch_deg = -(double)r->y * l->scenario->degrees_per_count;
}

/* Judges the step from a to b and says whether a synthesised frame goes between them. */
static void judge(struct loop *l, struct st_rendered *a, struct st_rendered *b)
{
    const struct st_scenario *s = l->scenario;
    double counts = hypot((double)(b->x - a->x), (double)(b->y - a->y));
    double step_deg = counts * s->degrees_per_count;
    b->speed_deg_s = step_deg * s->base_hz;
    b->step_px = st_focal_px(s) * tan(fmin(step_deg, 80) * FL_PI / 180);
    double q = s->key == ST_KEY_SPEED   ? b->speed_deg_s
               : s->key == ST_KEY_IMAGE ? b->step_px
                                        : counts * s->base_hz;
    if (s->synthesis == ST_CUT_OFF)
        cutoff_step(&l->cutoff, s, q, b->sample_s);
    a->on = l->cutoff.on;
}

/* ---- presents ---- */

static double slot_time(const struct st_scenario *s, long slot)
{
    return ((double)slot - 0.5 * s->blank) / s->fps; /* flips happen in the middle of the blank */
}

/* Flip of rendered frame b after a. The delay slides to that of the state, it does not jump. */
static double free_present(struct loop *l, const struct st_rendered *a, const struct st_rendered *b,
                           double period)
{
    const struct st_scenario *s = l->scenario;
    double target = (l->cutoff.on ? s->delay_on_ms : s->delay_off_ms) * 1e-3, most = 0.12 * period;
    l->delay_s += fl_clamp(target - l->delay_s, -most, most);
    double t = b->sample_s + l->delay_s + 0.02 * period * st_normal(&l->rng);
    return fmax(t, a->present_s + 0.35 * period);
}

static double sync_period(struct loop *l, double now_s)
{
    long slots = lround(l->scenario->fps / l->scenario->base_hz);
    slots *= heavy_at(l->game, now_s) ? 2 : 1;
    slots +=
        st_uniform(&l->rng, 0, 1) < 0.008; /* now and then one frame comes too late for its blank */
    l->slot += slots;
    return (double)slots / l->scenario->fps;
}

static void advance(struct loop *l, const struct st_rendered *a, struct st_rendered *b)
{
    const struct st_scenario *s = l->scenario;
    if (s->capture == ST_SYNC) {
        sync_period(l, a->present_s);
        b->present_s = slot_time(s, l->slot);
        double delay = (a->on ? s->delay_on_ms : s->delay_off_ms) * 1e-3;
        b->sample_s = b->present_s - delay + 0.0002 * st_normal(&l->rng);
        return;
    }
    double period = next_period(l, a->sample_s);
    b->sample_s = a->sample_s + period;
    b->present_s = free_present(l, a, b, period);
}

static double synthesised_time(struct loop *l, const struct st_rendered *a,
                               const struct st_rendered *b)
{
    const struct st_scenario *s = l->scenario;
    double gap = b->present_s - a->present_s;
    if (s->capture == ST_SYNC) {
        double half = floor(gap * s->fps / 2 + 0.25) / s->fps;
        return a->present_s + half;
    }
    return a->present_s + gap * (s->pair_fraction + 0.012 * st_normal(&l->rng));
}

static void emit(struct loop *l, size_t i)
{
    struct st_game *g = l->game;
    struct st_output r = {.time_s = g->rendered[i].present_s, .rendered = i};
    FL_PUSH(g->outputs, g->n_outputs, g->cap_outputs, r);
    if (!g->rendered[i].on || i + 1 == g->n_rendered)
        return;
    struct st_output made = {.time_s = synthesised_time(l, g->rendered + i, g->rendered + i + 1),
                             .synthesised = true,
                             .rendered = i};
    made.missing = st_uniform(&l->rng, 0, 1) < l->scenario->missing_share;
    FL_PUSH(g->outputs, g->n_outputs, g->cap_outputs, made);
}

/* Off intervals that reach into the footage. */
static void find_off(struct st_game *g, double seconds)
{
    bool off = false;
    struct fl_span span = {0, 0};
    for (size_t i = 0; i < g->n_rendered; i++) {
        if (!off && !g->rendered[i].on)
            span.start_s = g->rendered[i].present_s;
        span.end_s = g->rendered[i].present_s;
        bool ends = off && (g->rendered[i].on || i + 1 == g->n_rendered);
        if (ends && span.end_s > 0 && span.start_s < seconds)
            FL_PUSH(g->off, g->n_off, g->cap_off, span);
        off = !g->rendered[i].on;
    }
}

static void plan_heavy(struct st_game *g, const struct st_scenario *s, uint64_t seed)
{
    struct st_rng rng = st_rng(seed, 4);
    for (double t = 2.5; s->heavy && t < s->seconds - 2; t += st_uniform(&rng, 4, 6)) {
        struct fl_span span = {t, t + st_uniform(&rng, 1, 2)};
        FL_PUSH(g->heavy, g->n_heavy, g->cap_heavy, span);
    }
}

void st_game_init(struct st_game *g, const struct st_scenario *s, const struct st_hand *h,
                  uint64_t seed)
{
    *g = (struct st_game){0};
    plan_heavy(g, s, seed);
    struct loop l = {g, s, h, st_rng(seed, 3), {s->synthesis != ST_NEVER_ON, FL_UNKNOWN}, 0, 0, 0};
    l.delay_s = (l.cutoff.on ? s->delay_on_ms : s->delay_off_ms) * 1e-3;
    l.slot = (long)floor(FIRST_S * s->fps);
    /* a local recording begins with its first output frame */
    double first = s->capture == ST_LOCAL ? 0 : FIRST_S;
    struct st_rendered now = {.present_s = s->capture == ST_SYNC ? slot_time(s, l.slot) : first,
                              .on = l.cutoff.on};
    now.sample_s = now.present_s - l.delay_s;
    look(&l, &now);
    FL_PUSH(g->rendered, g->n_rendered, g->cap_rendered, now);
    while (now.present_s < s->seconds + AFTER_S) {
        struct st_rendered next = {.on = l.cutoff.on};
        advance(&l, &now, &next);
        look(&l, &next);
        judge(&l, &g->rendered[g->n_rendered - 1], &next);
        FL_PUSH(g->rendered, g->n_rendered, g->cap_rendered, next);
        now = next;
    }
    for (size_t i = 0; i < g->n_rendered; i++)
        emit(&l, i);
    if (s->synthesis != ST_NEVER_ON)
        find_off(g, s->seconds);
}

void st_game_finish(struct st_game *g)
{
    free(g->rendered);
    free(g->outputs);
    free(g->off);
    free(g->heavy);
    *g = (struct st_game){0};
}
