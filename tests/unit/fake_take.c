#include "fake_take.h"

#include <stdlib.h>

#include "signal/kinds.h"
#include "study/take/pacing_measure.h"

#define CAPTURE_HZ 120.0 /* unless told otherwise */
#define EVERY_S 1.5
#define LONG_S 0.3
#define ON_HZ 70.0
#define OFF_HZ 76.0
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

static double in_quantity(const struct fake_settings *s, enum fl_quantity q, double deg_s)
{
    if (s->camera_only && q != FL_CAMERA_SPEED)
        return FL_UNKNOWN;
    switch (q) {
    case FL_COUNT_RATE: return deg_s / s->degrees_per_count;
    case FL_HAND_SPEED: return deg_s / s->degrees_per_count * FL_CM_PER_INCH / s->counts_per_inch;
    case FL_CAMERA_SPEED: return deg_s;
    case FL_IMAGE_STEP: return FOCAL_PX * tan(fmin(deg_s / ON_HZ, 80) * FL_PI / 180);
    case FL_IMAGE_CHANGE: return 0.2 * (1 - exp(-deg_s / 500));
    default: return FL_UNKNOWN;
    }
}

static double profile(const struct fl_flick *f, double t)
{
    if (t < f->start_s || t >= f->end_s)
        return 0;
    double s = sin(FL_PI * (t - f->start_s) / (f->end_s - f->start_s));
    return s * s;
}

static struct fl_flick one_flick(const struct fake_settings *s, double v50, int k, uint64_t *rng)
{
    double lo = s->slowest > 0 ? s->slowest : 40, hi = s->fastest > 0 ? s->fastest : 1200;
    double v = lo * pow(hi / lo, uniform(rng));
    bool trip = !s->control && uniform(rng) < 1 / (1 + exp(-s->slope * log2(v / v50)));
    struct fl_flick f = {.start_s = 1 + EVERY_S * k,
                         .at_risk = s->control ? FL_ANSWER_UNKNOWN : FL_YES,
                         .tripped = trip ? FL_YES : FL_NO,
                         .trip_delay_s = trip ? 0.12 : FL_UNKNOWN,
                         .direction_deg = 360 * uniform(rng)};
    f.end_s = f.start_s + LONG_S;
    f.peak_s = f.start_s + LONG_S / 2;
    f.path_deg = v * LONG_S / 2;
    f.peak_acceleration_deg_s2 = v * FL_PI / LONG_S;
    double to_trip = profile(&f, f.start_s + 0.12);
    for (int q = 0; q < FL_QUANTITIES; q++) {
        f.peak[q] = in_quantity(s, q, v);
        f.mean[q] = in_quantity(s, q, v / 2);
        f.peak_to_trip[q] = trip ? in_quantity(s, q, v * to_trip) : FL_UNKNOWN;
    }
    return f;
}

static void add_flicks(struct fl_take *t, const struct fake_settings *s, uint64_t *rng)
{
    double v50 = s->v50_deg_s * exp2(s->take_sd_octaves * normal(rng));
    t->n_flicks = (size_t)s->flicks;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, t->n_flicks);
    for (int k = 0; k < s->flicks; k++)
        t->flicks[k] = one_flick(s, v50, k, rng);
}

static void set_facts(struct fl_take *t, const struct fake_settings *s)
{
    t->spec.id = s->id;
    t->spec.game = s->game;
    t->spec.condition = s->condition ? s->condition : "default";
    t->spec.footage = "invented.mkv";
    t->spec.trace = "invented.csv";
    t->spec.counts_per_inch = s->counts_per_inch;
    t->spec.degrees_per_count = s->degrees_per_count;
    t->spec.horizontal_fov_deg = 90;
    t->spec.synthesis_disabled = s->control;
    t->width = 1280;
    t->height = 720;
    t->capture_rate_hz = s->capture_hz > 0 ? s->capture_hz : CAPTURE_HZ;
    t->constant_rate = t->torn = true;
    t->noise = 0.8;
    t->codec = "h264";
    t->pixel_format = "yuv420p";
    t->transfer = "bt709";
    t->duration_s = 2 + EVERY_S * s->flicks;
    t->kernel_ms = 1000 / ON_HZ;
    t->camera_floor_deg_s = 5;
    t->visible_floor_deg_s = 15;
    t->return_delay_p95_s = 0.4;
    t->clock = (struct fl_clock){.known = true,
                                 .offset_s = 0.21,
                                 .drift_ppm = 12,
                                 .confidence = 0.97,
                                 .residual_ms = 0.7,
                                 .off_minus_on_ms = s->control ? FL_UNKNOWN : -6,
                                 .gain_x = -s->degrees_per_count,
                                 .gain_y = -s->degrees_per_count,
                                 .method = "motion"};
}

static void add_lapses(struct fl_take *t)
{
    t->states.lapse = FL_NEW(struct fl_lapse, t->n_flicks + 1);
    for (size_t k = 0; k < t->n_flicks; k++) {
        const struct fl_flick *f = &t->flicks[k];
        if (f->tripped != FL_YES)
            continue;
        double a = f->start_s + f->trip_delay_s, b = f->end_s + 0.25;
        t->states.lapse[t->states.n_lapses++] =
            (struct fl_lapse){.start_s = a,
                              .end_s = b,
                              .start_range_s = {a - 0.004, a + 0.004},
                              .end_range_s = {b - 0.25, b + 0.1},
                              .has_trip = true,
                              .has_return = true,
                              .unique_rate_hz = OFF_HZ,
                              .confidence = 0.96,
                              .evidence = FL_EVIDENCE_RATE};
    }
}

static void add_span(struct fl_take *t, double end_s, enum fl_state state)
{
    struct fl_states *s = &t->states;
    double start = s->n_spans ? s->span[s->n_spans - 1].end_s : 0;
    if (end_s > start)
        s->span[s->n_spans++] =
            (struct fl_state_span){.start_s = start,
                                   .end_s = end_s,
                                   .state = state,
                                   .confidence = state == FL_STATE_UNSEEN ? 0.5 : 0.98,
                                   .reason = state == FL_STATE_UNSEEN ? "still" : NULL,
                                   .unique_rate_hz = state == FL_STATE_OFF  ? OFF_HZ
                                                     : state == FL_STATE_ON ? 2 * ON_HZ
                                                                            : FL_UNKNOWN,
                                   .evidence = state == FL_STATE_OFF ? FL_EVIDENCE_RATE : 0};
}

/* Seen while a flick moves (on up to the trip, off after it), unseen at rest; a control is one
 * rate throughout, which reads as off without a lapse being possible. */
static void add_spans(struct fl_take *t)
{
    t->states.span = FL_NEW(struct fl_state_span, 3 * t->n_flicks + 1);
    for (size_t k = 0; k < t->n_flicks; k++) {
        const struct fl_flick *f = &t->flicks[k];
        add_span(t, f->start_s, FL_STATE_UNSEEN);
        if (t->spec.synthesis_disabled) {
            add_span(t, f->end_s, FL_STATE_OFF);
        } else {
            add_span(t, f->tripped == FL_YES ? f->start_s + f->trip_delay_s : f->end_s,
                     FL_STATE_ON);
            add_span(t, f->end_s, FL_STATE_OFF);
        }
    }
    add_span(t, t->duration_s, FL_STATE_UNSEEN);
    t->states.base_rate_on_hz = t->spec.synthesis_disabled ? FL_UNKNOWN : ON_HZ;
    t->states.base_rate_off_hz = OFF_HZ;
}

static void allocate_frames(struct fl_take *t)
{
    t->frames = (long)(t->duration_s * t->capture_rate_hz);
    size_t n = (size_t)t->frames;
    t->time_s = FL_ARENA(t->arena, double, n);
    for (size_t i = 0; i < fl_signal_column_count(); i++)
        t->signal[i] = FL_ARENA(t->arena, float, n);
    for (int q = 0; q < FL_STICK_DEFLECTION; q++)
        t->quantity[q] = FL_ARENA(t->arena, float, n);
    t->states.n_frames = n;
    t->states.frame_state = FL_NEW(enum fl_state, n);
    t->states.frame_confidence = FL_NEW(float, n);
    t->states.unique_rate_hz = FL_NEW(float, n);
    t->states.changed_share = FL_NEW(float, n);
}

static void fill_frame(struct fl_take *t, const struct fake_settings *s, size_t i, size_t flick,
                       const struct fl_state_span *span)
{
    static const struct fl_flick rest = {0};
    const struct fl_flick *f = flick < t->n_flicks ? &t->flicks[flick] : &rest;
    double v = f->peak[FL_CAMERA_SPEED] * profile(f, t->time_s[i]);
    double step = FOCAL_PX * v / t->capture_rate_hz * FL_PI / 180,
           angle = f->direction_deg * FL_PI / 180;
    for (int q = 0; q < FL_STICK_DEFLECTION; q++)
        t->quantity[q][i] = (float)in_quantity(s, q, v);
    fl_take_shift(t).x_px[i] = (float)(-step * cos(angle));
    fl_take_shift(t).y_px[i] = (float)(-step * sin(angle));
    fl_take_shift(t).quality[i] = v > 0 ? 0.9f : 0.2f;
    t->states.frame_state[i] = span->state;
    t->states.frame_confidence[i] = (float)span->confidence;
    bool seen = span->state != FL_STATE_UNSEEN, on = span->state == FL_STATE_ON;
    t->states.unique_rate_hz[i] = seen ? (on ? 2 * ON_HZ : OFF_HZ) : NAN;
    t->states.changed_share[i] = seen ? (on ? 1 : OFF_HZ / t->capture_rate_hz) : NAN;
}

static void add_frames(struct fl_take *t, const struct fake_settings *s)
{
    allocate_frames(t);
    size_t flick = 0, span = 0;
    for (size_t i = 0; i < (size_t)t->frames; i++) {
        t->time_s[i] = (double)i / t->capture_rate_hz;
        while (flick + 1 < t->n_flicks && t->flicks[flick].end_s <= t->time_s[i])
            flick++;
        while (span + 1 < t->states.n_spans && t->states.span[span].end_s <= t->time_s[i])
            span++;
        fill_frame(t, s, i, flick, &t->states.span[span]);
    }
}

static void add_flips(struct fl_take *t)
{
    size_t cap = (size_t)(t->duration_s * 2 * ON_HZ) + 2;
    t->flips.v = FL_NEW(struct fl_flip, cap);
    bool made = false;
    for (size_t i = 0; i < (size_t)t->frames && t->flips.n < cap;) {
        bool on = t->states.frame_state[i] == FL_STATE_ON,
             off = t->states.frame_state[i] == FL_STATE_OFF;
        if (!on && !off) {
            i++;
            continue;
        }
        double at =
            t->flips.n ? t->flips.v[t->flips.n - 1].time_s + 1 / (on ? 2 * ON_HZ : OFF_HZ) : 0;
        at = fmax(at, t->time_s[i]);
        double phase =
            (at - floor(at * t->capture_rate_hz) / t->capture_rate_hz) * t->capture_rate_hz;
        t->flips.v[t->flips.n++] =
            (struct fl_flip){at,
                             (long)floor(at * t->capture_rate_hz),
                             (float)(phase * t->height),
                             0.9f,
                             made && on ? FL_KIND_SYNTHESISED : FL_KIND_RENDERED,
                             false};
        made = on && !made;
        while (i < (size_t)t->frames && t->time_s[i] <= at)
            i++;
    }
}

static double total(const struct fl_states *s, enum fl_state state)
{
    double sum = 0;
    for (size_t i = 0; i < s->n_spans; i++)
        if (s->span[i].state == state)
            sum += s->span[i].end_s - s->span[i].start_s;
    return sum;
}

static void add_figures(struct fl_take *t)
{
    double on = total(&t->states, FL_STATE_ON), off = total(&t->states, FL_STATE_OFF);
    double unseen = total(&t->states, FL_STATE_UNSEEN), all = on + off + unseen;
    t->exposure = (struct fl_exposure){.on_s = on,
                                       .off_s = off,
                                       .unseen_s = unseen,
                                       .off_share = off / (on + off),
                                       .off_share_low = off / all,
                                       .off_share_high = (off + unseen) / all,
                                       .motion_s = 0.8 * (on + off),
                                       .on_motion_s = 0.8 * on,
                                       .off_motion_s = 0.8 * off,
                                       .off_share_in_motion = off / (on + off),
                                       .lapses_per_min = 60 * (double)t->states.n_lapses / all,
                                       .longest_s = t->states.n_lapses ? LONG_S - 0.12 + 0.25 : 0};
    bool control = t->spec.synthesis_disabled;
    t->smoothness = (struct fl_smoothness){FL_UNKNOWN,
                                           FL_UNKNOWN,
                                           control ? OFF_HZ : 2 * ON_HZ,
                                           control ? OFF_HZ - 2 : OFF_HZ,
                                           control ? FL_UNKNOWN : OFF_HZ,
                                           control ? FL_UNKNOWN : OFF_HZ - 3,
                                           t->exposure.lapses_per_min};
    fl_pacing_measure(t);
}

struct fl_take *fake_take(const struct fake_settings *s)
{
    struct fl_take *t = fl_take_new();
    uint64_t rng = s->seed;
    set_facts(t, s);
    add_flicks(t, s, &rng);
    if (s->flicks_only)
        return t;
    add_lapses(t);
    add_spans(t);
    add_frames(t, s);
    add_flips(t);
    add_figures(t);
    fl_take_warn(t, "invented", "%s: this take was made up for a test", s->id);
    return t;
}

struct fl_session *fake_session(void)
{
    static const char *const id[] = {"canyon-800-a",   "canyon-800-b",  "canyon-1600-a",
                                     "canyon-1600-b",  "harbour-800-a", "harbour-800-b",
                                     "harbour-1600-a", "harbour-1600-b"};
    struct fl_session *session = fl_session_new("Invented survey");
    for (int i = 0; i < 8; i++) {
        struct fake_settings s = {.id = id[i],
                                  .game = i < 4 ? "Glass Canyon" : "Ember Harbour",
                                  .v50_deg_s = i < 4 ? 400 : 130,
                                  .slope = 3,
                                  .take_sd_octaves = 0.05,
                                  .flicks = 30,
                                  .seed = 11 + (uint64_t)i};
        bool fine = i % 4 >= 2;
        s.counts_per_inch = fine ? 1600 : 800;
        s.degrees_per_count = fine ? 0.022 : 0.044; /* degrees per centimetre held */
        fl_session_add(session, fake_take(&s));
    }
    fl_session_add(session, fake_take(&(struct fake_settings){.id = "canyon-control",
                                                              .game = "Glass Canyon",
                                                              .condition = "synthesis disabled",
                                                              .counts_per_inch = 800,
                                                              .degrees_per_count = 0.044,
                                                              .v50_deg_s = 400,
                                                              .slope = 3,
                                                              .flicks = 30,
                                                              .control = true,
                                                              .seed = 99}));
    fl_session_add_failed(session, "harbour-lost", "harbour-lost.mkv: no such file");
    return session;
}
