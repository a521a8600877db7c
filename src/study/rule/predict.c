/* A rule run over somebody's own motion, at mouse settings that scale it. */
#include "study/rule/predict.h"

#include <stdlib.h>

#include "base/mem.h"
#include "maths/robust.h"
#include "study/curve/setting.h"
#include "study/take/picture_scale.h"

#define LEVEL 0.95
#define STEPS_A_KERNEL 2 /* samples of the trace: twice a rendered frame */

/* ---- from the recorded counts to the rule's quantity ---- */

static bool known(double x)
{
    return x > 0 && isfinite(x);
}

/* Counts at the wanted setting for one recorded; NaN if that needs what is unknown. */
static double count_factor(const struct fl_mouse_setting *from, const struct fl_mouse_setting *to,
                           enum fl_kept kept)
{
    if (kept == FL_KEPT_TURNS)
        return fl_same_number(from->degrees_per_count, to->degrees_per_count)
                   ? 1
                   : from->degrees_per_count / to->degrees_per_count;
    return fl_same_number(from->counts_per_inch, to->counts_per_inch)
               ? 1
               : to->counts_per_inch / from->counts_per_inch;
}

static double view_rate(const struct fl_take *t)
{
    return t && known(t->states.base_rate_on_hz) ? t->states.base_rate_on_hz : FL_UNKNOWN;
}

static const char *lacking(const struct fl_rule *r, const struct fl_take *t,
                           const struct fl_mouse_setting *to, double factor)
{
    if (!known(factor))
        return "the resolution or sensitivity that the trace was recorded at is needed";
    switch (r->quantity) {
    case FL_COUNT_RATE: return NULL;
    case FL_HAND_SPEED:
        return known(to->counts_per_inch) ? NULL : "hand speed needs counts per inch";
    case FL_CAMERA_SPEED:
        return known(to->degrees_per_count) ? NULL : "camera speed needs degrees per count";
    case FL_IMAGE_STEP:
        return !known(to->degrees_per_count) ? "image step needs degrees per count"
               : t && t->width > 0 && known(t->spec.horizontal_fov_deg) && known(view_rate(t))
                   ? NULL
                   : "image step needs a take with a known field of view and base rate";
    default: return "a mouse trace does not say this quantity";
    }
}

static double in_quantity(const struct fl_rule *r, const struct fl_take *t,
                          const struct fl_mouse_setting *to, double counts_s)
{
    switch (r->quantity) {
    case FL_HAND_SPEED: return counts_s * FL_CM_PER_INCH / to->counts_per_inch;
    case FL_CAMERA_SPEED: return counts_s * to->degrees_per_count;
    case FL_IMAGE_STEP:
        return fl_degrees_shift(fmin(counts_s * to->degrees_per_count / view_rate(t), 80), t->width,
                                t->spec.horizontal_fov_deg);
    default: return counts_s;
    }
}

struct series {
    double *time_s;
    float *q;
    size_t n;
    struct fl_speeds speeds;
};

static struct series series_of(const struct fl_rule *r, const struct fl_take *t,
                               const struct fl_hand *hand, const struct fl_mouse_setting *to,
                               double factor)
{
    double kernel = known(r->kernel_ms) ? r->kernel_ms / 1000 : 1.0 / 60,
           step = kernel / STEPS_A_KERNEL;
    struct series s = {.n = (size_t)fmax(0, floor((hand->end_s - hand->start_s) / step))};
    s.time_s = FL_NEW(double, s.n + 1);
    s.q = FL_NEW(float, s.n + 1);
    for (size_t i = 0; i < s.n; i++) {
        double x, y;
        s.time_s[i] = ((double)i + 0.5) * step;
        fl_motion_rate(hand->motion, hand->start_s + s.time_s[i], kernel, &x, &y);
        s.q[i] = (float)in_quantity(r, t, to, hypot(x, y) * factor);
    }
    fl_speeds_index(&s.speeds, s.time_s, s.q, s.n);
    return s;
}

static void finish(struct series *s)
{
    fl_speeds_finish(&s->speeds);
    free(s->time_s);
    free(s->q);
}

/* ---- what a rule does with it ---- */

struct outcome {
    double off_s, longest_s;
    size_t lapses;
};

static struct outcome run(const struct series *s, const struct fl_cutoff *c, double seconds,
                          struct fl_span_list *buffer)
{
    struct outcome o = {0};
    buffer->n = 0;
    fl_cutoff_run(c, &s->speeds, 0, s->n, seconds, false, buffer);
    for (size_t i = 0; i < buffer->n; i++) {
        double length = buffer->v[i].end_s - buffer->v[i].start_s;
        o.off_s += length;
        o.longest_s = fmax(o.longest_s, length);
    }
    o.lapses = buffer->n;
    return o;
}

/* The middle 95 % of the draws; one without a rule might have done anything. */
static void middle(const double *v, size_t n, double *low, double *high)
{
    double *x = FL_NEW(double, n + 1);
    for (size_t i = 0; i < n; i++)
        x[i] = isnan(v[i]) ? -INFINITY : v[i];
    *low = fl_quantile(x, n, (1 - LEVEL) / 2);
    for (size_t i = 0; i < n; i++)
        x[i] = isnan(v[i]) ? INFINITY : v[i];
    *high = fl_quantile(x, n, (1 + LEVEL) / 2);
    *low = isfinite(*low) ? *low : FL_UNKNOWN;
    *high = isfinite(*high) ? *high : FL_UNKNOWN;
    free(x);
}

static void widen(double x, double *low, double *high)
{
    *low = isnan(*low) ? *low : fmin(*low, x); /* open stays open */
    *high = isnan(*high) ? *high : fmax(*high, x);
}

static void set_interval(struct fl_prediction *p, const struct fl_rule *r, const struct series *s,
                         struct fl_span_list *buffer)
{
    double *share = FL_NEW(double, r->n_draws + 1), *rate = FL_NEW(double, r->n_draws + 1);
    for (size_t i = 0; i < r->n_draws; i++) {
        bool drawn = fl_known(r->draws[i].theta_off);
        struct outcome o = drawn ? run(s, &r->draws[i], p->seconds, buffer) : (struct outcome){0};
        share[i] = drawn ? o.off_s / p->seconds : FL_UNKNOWN;
        rate[i] = drawn ? 60 * (double)o.lapses / p->seconds : FL_UNKNOWN;
    }
    middle(share, r->n_draws, &p->off_share_low, &p->off_share_high);
    middle(rate, r->n_draws, &p->lapses_per_min_low, &p->lapses_per_min_high);
    for (size_t i = 0; i <= r->n_alike; i++) { /* the last is the fit itself */
        struct outcome o = run(s, i < r->n_alike ? &r->alike[i] : &r->fit, p->seconds, buffer);
        widen(o.off_s / p->seconds, &p->off_share_low, &p->off_share_high);
        widen(60 * (double)o.lapses / p->seconds, &p->lapses_per_min_low, &p->lapses_per_min_high);
    }
    free(share);
    free(rate);
}

static void forget(struct fl_prediction *p)
{
    *p = (struct fl_prediction){.seconds = FL_UNKNOWN,
                                .off_s = FL_UNKNOWN,
                                .off_share = FL_UNKNOWN,
                                .off_share_low = FL_UNKNOWN,
                                .off_share_high = FL_UNKNOWN,
                                .lapses_per_min = FL_UNKNOWN,
                                .lapses_per_min_low = FL_UNKNOWN,
                                .lapses_per_min_high = FL_UNKNOWN,
                                .longest_s = FL_UNKNOWN};
}

void fl_predict(struct fl_prediction *out, const struct fl_rule *r, const struct fl_take *t,
                const struct fl_hand *hand, const struct fl_mouse_setting *wanted,
                enum fl_kept kept)
{
    double factor = count_factor(&hand->recorded, wanted, kept);
    forget(out);
    out->refused = r->refused ? r->refused : lacking(r, t, wanted, factor);
    if (!out->refused && !(hand->end_s > hand->start_s))
        out->refused = "the trace has no length";
    if (out->refused)
        return;
    struct series s = series_of(r, t, hand, wanted, factor);
    struct fl_span_list buffer = {0};
    out->seconds = hand->end_s - hand->start_s;
    struct outcome o = run(&s, &r->fit, out->seconds, &buffer);
    out->off_s = o.off_s;
    out->off_share = o.off_s / out->seconds;
    out->lapses = o.lapses;
    out->lapses_per_min = 60 * (double)o.lapses / out->seconds;
    out->longest_s = o.longest_s;
    set_interval(out, r, &s, &buffer);
    free(buffer.v);
    finish(&s);
}
