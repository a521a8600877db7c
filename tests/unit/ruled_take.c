#include "ruled_take.h"

#include <stdlib.h>

#define CAPTURE_HZ 120.0
#define FOCAL_PX 640.0 /* 1280 wide, 90 degrees */

/* Steele, Lea & Flood 2014, SplitMix64: small, and free of the maths room. */
static double uniform(uint64_t *s)
{
    uint64_t z = (*s += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

static double normal(uint64_t *s)
{
    double u = uniform(s), v = uniform(s);
    return sqrt(-2 * log(1 - u)) * cos(2 * FL_PI * v);
}

struct hand_flick {
    double start, length, peak; /* deg/s */
    double theta, error;        /* factors on thresholds and on the measured quantity */
    bool stray, immune;
};

struct hand {
    struct hand_flick *flick;
    int n;
    double seconds, track, menu;
};

static double given(double x, double otherwise)
{
    return x > 0 ? x : otherwise;
}

static struct hand make_hand(const struct ruled_settings *s)
{
    uint64_t rng = s->seed * 2654435761u + 17;
    double lo = given(s->slowest, 30), hi = given(s->fastest, 800), t = 0.8;
    double low = given(s->pause_low, 0.25);
    double take = exp2(s->take_sd * normal(&rng));
    struct hand h = {FL_NEW(struct hand_flick, (size_t)s->flicks + 1), s->flicks, 0, s->track_deg_s,
                     given(s->menu_s, INFINITY)};
    int strays = s->strays, immune = s->immune;
    for (int i = 0; i < s->flicks; i++) {
        struct hand_flick *f = &h.flick[i];
        f->start = t;
        f->length = 0.16 + 0.3 * uniform(&rng);
        f->peak = lo * pow(hi / lo, uniform(&rng));
        f->theta = take * exp2(s->soft * normal(&rng));
        f->error = exp(s->quantity_noise * normal(&rng));
        t += f->length + low + (given(s->pause_high, 1.15) - low) * uniform(&rng);
        if (s->menu_s > 0 && t > s->menu_s - 0.5 && t < s->menu_s + 1.2)
            t = s->menu_s + 1.2;
        f->stray = strays > 0 && f->peak < s->theta_off / 3 && f->peak > 1.2 * s->seen_above_deg_s;
        strays -= f->stray;
        f->immune = immune > 0 && f->peak > 3 * s->theta_off;
        immune -= f->immune;
    }
    h.seconds = t + 1;
    return h;
}

static const struct hand_flick *flick_at(const struct hand *h, double t)
{
    int i = 0;
    while (i + 1 < h->n && h->flick[i + 1].start <= t)
        i++;
    return &h->flick[i];
}

/* Bell of least jerk (Flash and Hogan 1985): speed 30 x²(1-x)² over its peak of 15/8. */
static double speed_at(const struct hand *h, double t)
{
    const struct hand_flick *f = flick_at(h, t);
    double x = h->n ? (t - f->start) / f->length : -1;
    if (x > 0 && x < 1)
        return f->peak * 16 * x * x * (1 - x) * (1 - x);
    bool menu = t >= h->menu - 0.1 && t < h->menu + 1.1;
    return x >= 1 && (f - h->flick) % 2 && !menu ? h->track : 0;
}

double ruled_speed(const struct ruled_settings *s, double t_s)
{
    struct hand h = make_hand(s);
    double v = speed_at(&h, t_s);
    free(h.flick);
    return v;
}

double ruled_seconds(const struct ruled_settings *s)
{
    struct hand h = make_hand(s);
    free(h.flick);
    return h.seconds;
}

static double mean_speed(const struct hand *h, double a, double b)
{
    double sum = 0;
    enum { STEPS = 8 };
    for (int i = 0; i < STEPS; i++)
        sum += speed_at(h, a + (b - a) * (i + 0.5) / STEPS);
    return sum / STEPS;
}

static double in_quantity(const struct ruled_settings *s, enum fl_quantity q, double deg_s)
{
    double degrees = given(s->degrees_per_count, 0.044), cpi = given(s->counts_per_inch, 800);
    switch (q) {
    case FL_COUNT_RATE: return deg_s / degrees;
    case FL_HAND_SPEED: return deg_s / degrees * FL_CM_PER_INCH / cpi;
    case FL_CAMERA_SPEED: return deg_s;
    case FL_IMAGE_STEP:
        return FOCAL_PX * tan(fmin(deg_s / given(s->base_hz, 70), 80) * FL_PI / 180);
    default: return FL_UNKNOWN;
    }
}

/* The game: rendered frames at about the base rate, judged one by one. A frame is off when the step
 * to the next one was judged off. */
struct game {
    double *flip;
    bool *off;
    size_t n;
};

/* What only the menu sets right. */
static bool latched(const struct ruled_settings *s, bool off, double t)
{
    bool before = !(t >= given(s->menu_s, INFINITY)), after = t >= given(s->menu_s, INFINITY) + 1;
    return off && ((s->starts_off && before) || (s->latches && (before || after)));
}

static struct game play(const struct ruled_settings *s, const struct hand *h)
{
    uint64_t rng = s->seed ^ 0x5bd1e995;
    size_t cap = (size_t)(h->seconds * given(s->base_hz, 70) * 1.2) + 8;
    struct game g = {FL_NEW(double, cap), FL_NEW(bool, cap), 0};
    bool off = s->starts_off;
    double since = FL_UNKNOWN;
    for (double t = -0.02; t < h->seconds && g.n + 1 < cap; g.n++) {
        double next = t + (1 + 0.04 * normal(&rng)) / given(s->base_hz, 70);
        const struct hand_flick *f = flick_at(h, next);
        double q = in_quantity(s, s->key, mean_speed(h, t, next)) / (h->n ? f->theta : 1);
        if (h->n && f->stray)
            q = mean_speed(h, t, next) > f->peak / 2 ? 2 * s->theta_off : 0;
        if (h->n && f->immune)
            q = 0;
        bool beyond = off ? q < s->theta_on : q > s->theta_off;
        since = !beyond ? FL_UNKNOWN : fl_known(since) ? since : next;
        if (beyond && !latched(s, off, next) && next - since >= (off ? s->d_on_s : s->d_off_s)) {
            off = !off;
            since = FL_UNKNOWN;
        }
        g.flip[g.n] = t;
        g.off[g.n] = off;
        t = next;
    }
    return g;
}

double ruled_off_share(const struct ruled_settings *s, size_t *lapses)
{
    struct hand h = make_hand(s);
    struct game g = play(s, &h);
    double sum = 0;
    *lapses = 0;
    for (size_t i = 0; i + 1 < g.n; i++) {
        sum += g.off[i] ? fmin(g.flip[i + 1], h.seconds) - fmax(g.flip[i], 0) : 0;
        *lapses += g.off[i] && !(i && g.off[i - 1]);
    }
    free(g.flip);
    free(g.off);
    free(h.flick);
    return sum / h.seconds;
}

static void set_facts(struct fl_take *t, const struct ruled_settings *s, double seconds)
{
    t->spec.id = s->id;
    t->spec.game = s->game ? s->game : "Glass Canyon";
    t->spec.condition = s->condition ? s->condition : "default";
    t->spec.footage = "invented.mkv";
    t->spec.counts_per_inch = given(s->counts_per_inch, 800);
    t->spec.degrees_per_count = given(s->degrees_per_count, 0.044);
    t->spec.horizontal_fov_deg = 90;
    t->width = 1280;
    t->height = 720;
    t->capture_rate_hz = CAPTURE_HZ;
    t->constant_rate = t->torn = true;
    t->duration_s = seconds;
    t->frames = (long)floor(seconds * CAPTURE_HZ);
    t->kernel_ms = 1000 / given(s->base_hz, 70);
    t->states.base_rate_on_hz = t->states.base_rate_off_hz = given(s->base_hz, 70);
    t->visible_floor_deg_s = s->seen_above_deg_s;
    t->camera_floor_deg_s = 5;
    t->return_delay_p95_s = 0.4;
}

static void set_frames(struct fl_take *t, const struct ruled_settings *s, const struct hand *h)
{
    size_t n = (size_t)t->frames;
    double half = t->kernel_ms / 2000;
    t->time_s = FL_ARENA(t->arena, double, n);
    for (int q = 0; q < FL_IMAGE_CHANGE; q++)
        t->quantity[q] = FL_ARENA(t->arena, float, n);
    for (size_t i = 0; i < n; i++) {
        t->time_s[i] = (double)i / CAPTURE_HZ;
        double v = mean_speed(h, t->time_s[i] - half, t->time_s[i] + half);
        v *= h->n ? flick_at(h, t->time_s[i])->error : 1;
        for (int q = 0; q < FL_IMAGE_CHANGE; q++)
            t->quantity[q][i] = (float)in_quantity(s, q, v);
    }
}

static void set_flicks(struct fl_take *t, const struct ruled_settings *s, const struct hand *h)
{
    t->n_flicks = (size_t)h->n;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, t->n_flicks + 1);
    for (int i = 0; i < h->n; i++) {
        const struct hand_flick *f = &h->flick[i];
        struct fl_flick *out = &t->flicks[i];
        *out = (struct fl_flick){.start_s = f->start,
                                 .end_s = f->start + f->length,
                                 .at_risk = FL_YES,
                                 .peak_s = f->start + f->length / 2,
                                 .trip_delay_s = FL_UNKNOWN};
        for (int q = 0; q < FL_QUANTITIES; q++) {
            out->peak[q] = in_quantity(s, q, f->peak * f->error);
            out->mean[q] = out->peak_to_trip[q] = FL_UNKNOWN;
        }
    }
}

static void add_span(struct fl_states *s, double start, double end, enum fl_state state)
{
    struct fl_state_span *last = s->n_spans ? &s->span[s->n_spans - 1] : NULL;
    if (end <= start)
        return;
    if (last && last->state == state)
        last->end_s = end;
    else
        s->span[s->n_spans++] =
            (struct fl_state_span){.start_s = start,
                                   .end_s = end,
                                   .state = state,
                                   .confidence = 0.98,
                                   .reason = state ? NULL : "still",
                                   .unique_rate_hz = state == FL_STATE_OFF ? 70 : FL_UNKNOWN,
                                   .evidence = state == FL_STATE_OFF ? FL_EVIDENCE_RATE : 0};
}

/* Frame by frame of the game: seen while the picture moves fast enough. */
static void set_spans(struct fl_take *t, const struct ruled_settings *s, const struct hand *h,
                      const struct game *g)
{
    t->states.span = FL_NEW(struct fl_state_span, g->n + 2);
    for (size_t i = 0; i < g->n; i++) {
        double a = fmax(0, g->flip[i]),
               b = i + 1 < g->n ? fmin(g->flip[i + 1], t->duration_s) : t->duration_s;
        bool seen = mean_speed(h, a, b) > s->seen_above_deg_s;
        add_span(&t->states, a, b,
                 !seen       ? FL_STATE_UNSEEN
                 : g->off[i] ? FL_STATE_OFF
                             : FL_STATE_ON);
    }
}

/* Runs of off with their brackets: [last seen on before, first seen off], and likewise at the end.
 */
static void set_lapses(struct fl_take *t)
{
    struct fl_states *s = &t->states;
    s->lapse = FL_NEW(struct fl_lapse, s->n_spans + 1);
    double last_on = 0;
    struct fl_lapse *open = NULL;
    bool seen_on = false;
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *a = &s->span[i];
        if (a->state == FL_STATE_ON) {
            if (open) {
                open->end_range_s[1] = a->start_s;
                open->has_return = true;
                open->end_s = fmin(a->start_s, open->end_range_s[0] + 0.1);
            }
            open = NULL;
            seen_on = true;
            last_on = a->end_s;
        } else if (a->state == FL_STATE_OFF) {
            if (!open) {
                open = &s->lapse[s->n_lapses++];
                *open = (struct fl_lapse){.start_s = a->start_s,
                                          .start_range_s = {last_on, a->start_s},
                                          .has_trip = seen_on,
                                          .unique_rate_hz = 70,
                                          .confidence = 0.95,
                                          .evidence = FL_EVIDENCE_RATE};
            }
            open->end_s = open->end_range_s[0] = open->end_range_s[1] = a->end_s;
        }
    }
}

static void set_outcomes(struct fl_take *t)
{
    for (size_t i = 0; i < t->n_flicks; i++) {
        struct fl_flick *f = &t->flicks[i];
        f->tripped = FL_ANSWER_UNKNOWN;
        for (size_t k = 0; k < t->states.n_spans; k++) {
            const struct fl_state_span *a = &t->states.span[k];
            if (a->end_s <= f->start_s || a->start_s >= f->end_s || a->state == FL_STATE_UNSEEN)
                continue;
            if (a->state == FL_STATE_OFF)
                f->tripped = FL_YES;
            else if (f->tripped != FL_YES && a->end_s > f->peak_s)
                f->tripped = FL_NO;
        }
    }
}

static void set_exposure(struct fl_take *t)
{
    double sum[3] = {0};
    for (size_t i = 0; i < t->states.n_spans; i++)
        sum[t->states.span[i].state] += t->states.span[i].end_s - t->states.span[i].start_s;
    t->exposure.on_s = sum[FL_STATE_ON];
    t->exposure.off_s = sum[FL_STATE_OFF];
    t->exposure.unseen_s = sum[FL_STATE_UNSEEN];
    t->exposure.off_share = sum[FL_STATE_OFF] / (sum[FL_STATE_ON] + sum[FL_STATE_OFF]);
}

struct fl_take *ruled_take(const struct ruled_settings *s)
{
    struct fl_take *t = fl_take_new();
    struct hand h = make_hand(s);
    struct game g = play(s, &h);
    set_facts(t, s, h.seconds);
    set_frames(t, s, &h);
    set_flicks(t, s, &h);
    set_spans(t, s, &h, &g);
    set_lapses(t);
    set_outcomes(t);
    set_exposure(t);
    free(g.flip);
    free(g.off);
    free(h.flick);
    return t;
}
