#include "game.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "pad.h"
#include "rng.h"
#include "watch.h"

static const double FIRST_S = -0.12, AFTER_S = 0.3; /* presents start and stop around the footage */

double st_focal_px(const struct st_scenario *s)
{
    return 0.5 * st_render_width(s) / tan(0.5 * s->hfov_deg * FL_PI / 180);
}

/* ---- the cut-off: hysteresis and delays, or so many frames off ---- */

struct cutoff {
    bool on;
    double since_s; /* how long the other side of the threshold has lasted; NaN = not */
    double hold_s;  /* below the threshold until it is on again */
    int frames;     /* rendered since it last switched */
    int off_frames; /* it stays off for these */
};

static void cutoff_switch(struct cutoff *c, const struct st_scenario *s, struct st_rng *rng)
{
    c->on = !c->on;
    c->since_s = FL_UNKNOWN;
    c->frames = 0;
    c->hold_s = s->d_off_s;
    if (c->on)
        return;
    if (s->d_off_most_s > s->d_off_s)
        c->hold_s = st_uniform(rng, s->d_off_s, s->d_off_most_s);
    if (s->off_frames_high)
        c->off_frames = (int)floor(st_uniform(rng, s->off_frames_low, s->off_frames_high + 1));
}

/* Some are set right by the menu alone. */
static bool latched(const struct cutoff *c, const struct st_scenario *s, const struct st_hand *h,
                    double now_s)
{
    bool before_menu = !(now_s >= h->still.start_s);
    return !c->on && ((s->starts_off && before_menu) ||
                      (s->latches && (before_menu || now_s >= h->still.end_s)));
}

static void cutoff_step(struct cutoff *c, const struct st_scenario *s, double q, double now_s,
                        struct st_rng *rng)
{
    bool counted = s->off_frames_high > 0;
    bool beyond = c->on ? q > s->theta_hi : q < s->theta_lo;
    c->frames++;
    if (counted)
        beyond = c->on ? beyond && c->frames >= s->on_frames : c->frames >= c->off_frames;
    if (!beyond) {
        c->since_s = FL_UNKNOWN;
        return;
    }
    if (!fl_known(c->since_s))
        c->since_s = now_s;
    if (counted || now_s - c->since_s >= (c->on ? s->d_on_s : c->hold_s))
        cutoff_switch(c, s, rng);
}

/* ---- rendered frames ---- */

struct loop {
    struct st_game *game;
    const struct st_scenario *scenario;
    const struct st_hand *hand;
    struct st_rng rng;
    struct cutoff cutoff, fewer; /* fewer: of those synthesised frames that go first */
    struct st_scenario fewer_rule;
    struct st_watch *watch; /* NULL: the cut-off does not look at the picture */
    double wander;          /* log of the base rate against nominal */
    double delay_s;         /* mouse to screen now */
    bool locked;            /* rendering keeps step with the display's blank */
    long slot;              /* then: of the last rendered frame */
    double slowed_deg[2];   /* turn that aiming has taken from the hand's, right and down */
    double turned_deg[2];   /* by a stick */
};

/* Time to render the next frame: a slow wander of a few per cent and a little jitter. */
static double next_period(struct loop *l, double now_s)
{
    const struct st_scenario *s = l->scenario;
    double rate = l->cutoff.on ? st_base_on(s) : st_base_off(s), dt = 1 / rate, tau = 1.2;
    l->wander += -l->wander * dt / tau + s->wander * sqrt(2 * dt / tau) * st_normal(&l->rng);
    l->wander = fl_clamp(l->wander, -2.1 * s->wander, 2.1 * s->wander);
    double period = exp(-l->wander) / rate * (1 + 0.015 * st_normal(&l->rng));
    return st_heavy_at(&l->game->stretches, now_s) ? 2 * period : period;
}

/* What a stick turns the camera by, from one sampling to the next. */
static void turn_by_stick(struct loop *l, double from_s, double to_s)
{
    const struct st_stick *stick = &l->scenario->stick;
    double before[2], after[2];
    if (stick->by_frames) {
        st_pad_turning(l->hand, stick, to_s, after);
        for (int k = 0; k < 2; k++)
            l->turned_deg[k] += (to_s - from_s) * after[k];
        return;
    }
    st_pad_turned(l->hand, stick, from_s, before);
    st_pad_turned(l->hand, stick, to_s, after);
    for (int k = 0; k < 2; k++)
        l->turned_deg[k] += after[k] - before[k];
}

/* Aiming slows turns by as much as it magnifies them. */
static void look(struct loop *l, struct st_rendered *r, const struct st_rendered *before)
{
    const struct st_scenario *s = l->scenario;
    double zoom = st_zoom_at(&l->game->stretches, s, r->sample_s);
    if (s->stick.report_hz > 0)
        turn_by_stick(l, before->sample_s, r->sample_s);
    else
        st_hand_counts(l->hand, r->sample_s, &r->x, &r->y);
    l->slowed_deg[0] += (double)(r->x - before->x) * s->degrees_per_count * (1 - 1 / zoom);
    l->slowed_deg[1] += (double)(r->y - before->y) * s->degrees_per_count * (1 - 1 / zoom);
    r->yaw_deg = 90 - (double)r->x * s->degrees_per_count + l->slowed_deg[0] - l->turned_deg[0];
    r->pitch_deg = -(double)r->y * s->degrees_per_count + l->slowed_deg[1] - l->turned_deg[1];
    r->focal_px = zoom * st_focal_px(s);
}

/* Judges the step from a to b and says whether a synthesised frame goes between them. */
static void judge(struct loop *l, struct st_rendered *a, struct st_rendered *b)
{
    const struct st_scenario *s = l->scenario;
    double counts = hypot((double)(b->x - a->x), (double)(b->y - a->y));
    double step_deg = hypot(b->yaw_deg - a->yaw_deg, b->pitch_deg - a->pitch_deg);
    b->speed_deg_s = step_deg * st_base_on(s);
    b->step_px = b->focal_px * tan(fmin(step_deg, 80) * FL_PI / 180);
    b->change = l->watch ? st_watch_change(l->watch, b) : FL_UNKNOWN;
    double q = s->key == ST_KEY_SPEED    ? b->speed_deg_s
               : s->key == ST_KEY_IMAGE  ? b->step_px
               : s->key == ST_KEY_CHANGE ? b->change
                                         : counts * st_base_on(s);
    if (s->synthesis == ST_CUT_OFF && !latched(&l->cutoff, s, l->hand, b->sample_s))
        cutoff_step(&l->cutoff, s, q, b->sample_s, &l->rng);
    a->on = l->cutoff.on;
    if (s->fewer)
        cutoff_step(&l->fewer, &l->fewer_rule, q, b->sample_s, &l->rng);
    a->frames = !a->on ? 1 : s->fewer && !l->fewer.on ? s->fewer : s->factor;
}

/* ---- presents ---- */

/* Flips happen in the middle of the blank. */
static double slot_time(const struct st_scenario *s, long slot)
{
    return ((double)slot - 0.5 * s->blank) / s->sync_hz;
}

static bool whole_number(double x)
{
    return fabs(x - round(x)) < 0.01 * x;
}

/* Does a display's blank come a whole number of times in a base period? Then rendering, which waits
 * for it, keeps step; else each finished frame waits on its own. */
static bool keeps_step(const struct st_scenario *s)
{
    return s->sync_hz > 0 && whole_number(s->sync_hz / st_base_on(s)) &&
           whole_number(s->sync_hz / st_base_off(s));
}

/* Flip of rendered frame b after a. The delay slides to that of the state, it does not jump. */
static double free_present(struct loop *l, const struct st_rendered *a, const struct st_rendered *b,
                           double period)
{
    const struct st_scenario *s = l->scenario;
    double target = (l->cutoff.on ? s->delay_on_ms : s->delay_off_ms) * 1e-3, most = 0.12 * period;
    if (s->sync_hz > 0)
        target -= 0.5 / s->sync_hz; /* half a refresh of waiting comes on top */
    l->delay_s += fl_clamp(target - l->delay_s, -most, most);
    double t = b->sample_s + l->delay_s + 0.02 * period * st_normal(&l->rng);
    return fmax(t, a->present_s + 0.35 * period);
}

static void take_slots(struct loop *l, double now_s)
{
    const struct st_scenario *s = l->scenario;
    long slots = lround(s->sync_hz / (l->cutoff.on ? st_base_on(s) : st_base_off(s)));
    slots *= st_heavy_at(&l->game->stretches, now_s) ? 2 : 1;
    slots +=
        st_uniform(&l->rng, 0, 1) < 0.008; /* now and then one frame comes too late for its blank */
    l->slot += slots;
}

static void advance(struct loop *l, const struct st_rendered *a, struct st_rendered *b)
{
    const struct st_scenario *s = l->scenario;
    if (l->locked) {
        take_slots(l, a->present_s);
        b->present_s = slot_time(s, l->slot);
        double delay = (a->on ? s->delay_on_ms : s->delay_off_ms) * 1e-3;
        b->sample_s = b->present_s - delay + 0.0002 * st_normal(&l->rng);
        return;
    }
    double period = next_period(l, a->sample_s);
    b->sample_s = a->sample_s + period;
    b->present_s = free_present(l, a, b, period);
}

/* Of synthesised frame k = 1, 2 … after a. */
static double synthesised_time(struct loop *l, const struct st_rendered *a,
                               const struct st_rendered *b, int k)
{
    const struct st_scenario *s = l->scenario;
    double gap = b->present_s - a->present_s;
    if (l->locked) {
        double part = floor(gap * s->sync_hz * k / a->frames + 0.25) / s->sync_hz;
        return a->present_s + part;
    }
    double first =
        2 * s->pair_fraction / a->frames; /* the rendered frame's, the others are alike */
    double share = first + (1 - first) * (k - 1) / (a->frames - 1);
    return a->present_s + gap * (share + 0.012 * st_normal(&l->rng));
}

static void emit(struct loop *l, size_t i)
{
    struct st_game *g = l->game;
    struct st_output r = {.time_s = g->rendered[i].present_s, .rendered = i};
    FL_PUSH(g->outputs, g->n_outputs, g->cap_outputs, r);
    for (int k = 1; k < g->rendered[i].frames && i + 1 < g->n_rendered; k++) {
        struct st_output made = {.time_s =
                                     synthesised_time(l, g->rendered + i, g->rendered + i + 1, k),
                                 .synthesised = true,
                                 .part = (double)k / g->rendered[i].frames,
                                 .rendered = i};
        if (made.time_s <= r.time_s)
            continue; /* the blank left no room for it */
        made.missing = st_uniform(&l->rng, 0, 1) < l->scenario->missing_share;
        FL_PUSH(g->outputs, g->n_outputs, g->cap_outputs, made);
    }
}

/* Free-running frames that wait for the blank: one a blank, in order. */
static void wait_for_blanks(struct st_game *g, const struct st_scenario *s)
{
    long last = LONG_MIN;
    for (size_t i = 0; i < g->n_outputs; i++) {
        struct st_output *o = g->outputs + i;
        long slot = (long)ceil(o->time_s * s->sync_hz + 0.5 * s->blank);
        last = slot > last ? slot : last + 1;
        o->time_s = slot_time(s, last);
        if (!o->synthesised)
            g->rendered[o->rendered].present_s = o->time_s;
    }
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

static struct loop start_loop(struct st_game *g, const struct st_scenario *s,
                              const struct st_hand *h, uint64_t seed)
{
    struct loop l = {.game = g, .scenario = s, .hand = h, .rng = st_rng(seed, 3)};
    l.cutoff = (struct cutoff){.on = s->synthesis != ST_NEVER_ON && !s->starts_off,
                               .since_s = FL_UNKNOWN,
                               .hold_s = s->d_off_s};
    l.fewer = (struct cutoff){.on = true, .since_s = FL_UNKNOWN, .hold_s = s->d_off_s};
    l.fewer_rule = *s;
    l.fewer_rule.theta_hi = s->fewer_hi;
    l.fewer_rule.theta_lo = s->fewer_lo;
    l.delay_s = (l.cutoff.on ? s->delay_on_ms : s->delay_off_ms) * 1e-3;
    l.watch = st_watch_new(s, h);
    l.locked = keeps_step(s);
    l.slot = (long)floor(FIRST_S * s->sync_hz);
    /* a local recording begins with its first output frame */
    double first = s->capture == ST_LOCAL ? 0 : FIRST_S;
    struct st_rendered now = {.present_s = l.locked ? slot_time(s, l.slot) : first,
                              .on = l.cutoff.on};
    now.sample_s = now.present_s - l.delay_s;
    look(&l, &now, &now);
    FL_PUSH(g->rendered, g->n_rendered, g->cap_rendered, now);
    return l;
}

void st_game_init(struct st_game *g, const struct st_scenario *s, const struct st_hand *h,
                  uint64_t seed)
{
    *g = (struct st_game){0};
    st_stretches_init(&g->stretches, s, h, seed);
    struct loop l = start_loop(g, s, h, seed);
    while (g->rendered[g->n_rendered - 1].present_s < s->seconds + AFTER_S) {
        struct st_rendered *now = &g->rendered[g->n_rendered - 1], next = {.on = l.cutoff.on};
        advance(&l, now, &next);
        look(&l, &next, now);
        judge(&l, now, &next);
        FL_PUSH(g->rendered, g->n_rendered, g->cap_rendered, next);
    }
    st_watch_free(&l.watch);
    for (size_t i = 0; i < g->n_rendered; i++)
        emit(&l, i);
    if (s->sync_hz > 0 && !l.locked)
        wait_for_blanks(g, s);
    if (s->synthesis != ST_NEVER_ON)
        find_off(g, s->seconds);
}

void st_game_finish(struct st_game *g)
{
    free(g->rendered);
    free(g->outputs);
    free(g->off);
    st_stretches_finish(&g->stretches);
    *g = (struct st_game){0};
}
