#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "maths/interval.h"
#include "maths/random.h"
#include "maths/welch.h"
#include "study/compare/against.h"
#include "test.h"
#include "study/curve/curve.h"
#include "study/curve/curves.h"

/* Student 1908, sleep (CHECKS O-5 has the data). Figures of the unpaired t.test in R's
 * documentation of the data set, from memory: t = -1.8608, df = 17.776, p = 0.07939, 95 % interval
 * -3.3654832 to 0.2054832. */
static void welch_finds_the_published_figures(void **state)
{
    (void)state;
    const double a[] = {.7, -1.6, -.2, -1.2, -.1, 3.4, 3.7, .8, 0, 2},
                 b[] = {1.9, .8, 1.1, .1, -.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    struct fl_difference d;
    fl_welch(&d, a, 10, b, 10, 0.95);
    assert_near(d.difference, -1.58, 1e-12);
    assert_near(d.df, 17.776, 5e-5);
    assert_near(d.p, 0.07939, 5e-6);
    assert_near(d.low, -3.3654832, 5e-8);
    assert_near(d.high, 0.2054832, 5e-8);
}

static void welch_knows_what_it_cannot(void **state)
{
    (void)state;
    const double a[] = {1, 2, NAN}, one[] = {NAN, 5}, flat[] = {3, 3};
    struct fl_difference d;
    fl_welch(&d, a, 3, one, 2, 0.95);
    assert_near(d.difference, -3.5, 1e-12);
    assert_true(isnan(d.low) && isnan(d.high) && isnan(d.df) && isnan(d.p));
    fl_welch(&d, flat, 2, flat, 2, 0.95);
    assert_true(d.difference == 0 && isnan(d.p));
    fl_welch(&d, a, 3, flat, 2, 0.95); /* one side alone: its own degrees of freedom */
    assert_near(d.df, 1, 1e-12);
    fl_welch(&d, NULL, 0, flat, 2, 0.95);
    assert_true(isnan(d.difference) && isnan(d.p));
}

/* ---- sessions ---- */

struct pair {
    struct fl_session *before, *now;
    struct fl_arena *arena;
    struct fl_against a;
};

static struct fake_settings usual(uint64_t seed)
{
    return (struct fake_settings){.id = "t",
                                  .game = "Glass Canyon",
                                  .counts_per_inch = 800,
                                  .degrees_per_count = 0.044,
                                  .v50_deg_s = 200,
                                  .slope = 5,
                                  .take_sd_octaves = 0.1,
                                  .flicks = 25,
                                  .flicks_only = true,
                                  .seed = seed};
}

static struct pair begin(void)
{
    return (struct pair){fl_session_new("before"), fl_session_new("now"), fl_arena_new(), {0}};
}

static struct fl_take *add(struct fl_session *s, struct fake_settings f)
{
    struct fl_take *t = fake_take(&f);
    fl_session_add(s, t);
    return t;
}

static void compare(struct pair *p)
{
    fl_study_curves(p->before);
    fl_study_curves(p->now);
    fl_against_make(&p->a, p->before, p->now, p->arena);
}

static void finish(struct pair *p)
{
    fl_session_free(&p->before);
    fl_session_free(&p->now);
    fl_arena_free(&p->arena);
}

/* n takes a side; now's flicks are before's, `factor` times as fast. */
static struct pair scaled(int n, double factor)
{
    struct pair p = begin();
    for (int k = 0; k < n; k++) {
        add(p.before, usual(3 + (uint64_t)k));
        struct fl_take *t = add(p.now, usual(3 + (uint64_t)k));
        for (size_t i = 0; i < t->n_flicks; i++)
            for (int q = 0; q < FL_QUANTITIES; q++)
                t->flicks[i].peak[q] *= factor;
    }
    return p;
}

static const struct fl_against_v50 *in(const struct pair *p, enum fl_quantity q)
{
    for (size_t i = 0; i < p->a.setting[0].n_v50; i++)
        if (p->a.setting[0].v50[i].quantity == q)
            return &p->a.setting[0].v50[i];
    fail_msg("quantity missing");
    return NULL;
}

/* A curve in log2 v moves with log2 v: the same flicks twice as fast have twice the V50. Takes of
 * two sessions share nothing, not even the slope: their uncertainties add. */
static void the_ratio_is_that_of_the_speeds(void **state)
{
    (void)state;
    struct pair p = scaled(3, 2);
    compare(&p);
    const struct fl_against_v50 *v = in(&p, FL_CAMERA_SPEED);
    assert_near(v->change.change, 2, 1e-6);
    double one = log2(v->now->v50_high / v->now->v50_low),
           both = log2(v->change.high / v->change.low);
    assert_true(both > 1.2 * one && both < 1.6 * one); /* √2, were both normal */
    assert_near(v->change.low * v->change.high, 4, 1e-2);
    assert_true(v->change.low > 1 && v->change.finding == FL_FOUND_HIGHER);
    assert_ptr_equal(strstr(p.a.setting[0].sentence,
                            "trips at 2.0 times the camera speed of before (95 % interval "),
                     p.a.setting[0].sentence);
    finish(&p);
}

/* With takes that differ much, a change that single takes would claim is none. */
static void takes_that_differ_hide_a_change(void **state)
{
    (void)state;
    struct pair p = begin();
    for (int k = 0; k < 6; k++) {
        struct fake_settings f = usual(40 + (uint64_t)k);
        f.take_sd_octaves = 0.7;
        f.slope = 20;
        f.flicks = 60;
        f.v50_deg_s = k < 3 ? 150 : 250;
        add(k < 3 ? p.before : p.now, f);
    }
    compare(&p);
    const struct fl_against_v50 *v = in(&p, FL_CAMERA_SPEED);
    assert_true(v->change.p > 0.05 && v->change.low < 1 && v->change.high > 1);
    assert_true(v->now->spread > 0.2 && v->before->spread > 0.2);
    finish(&p);
}

/* Counts, hand speed, camera speed and image step go up and down together: one test. Image change
 * has a mind of its own. Holm by hand. */
static void quantities_that_go_together_count_once(void **state)
{
    (void)state;
    struct pair p = scaled(3, 1.3);
    for (size_t i = 0; i < 3; i++)
        for (size_t k = 0; k < p.now->takes[i]->n_flicks; k++)
            p.now->takes[i]->flicks[k].peak[FL_IMAGE_CHANGE] *= k % 2 ? 1.1 : 0.9;
    compare(&p);
    size_t first = in(&p, FL_COUNT_RATE)->twin;
    assert_int_equal(in(&p, FL_HAND_SPEED)->twin, first);
    assert_int_equal(in(&p, FL_CAMERA_SPEED)->twin, first);
    assert_int_equal(in(&p, FL_IMAGE_STEP)->twin, first);
    assert_int_equal(in(&p, FL_IMAGE_CHANGE)->twin, in(&p, FL_IMAGE_CHANGE) - p.a.setting[0].v50);
    const struct fl_change *c = &in(&p, FL_COUNT_RATE)->change,
                           *d = &in(&p, FL_IMAGE_CHANGE)->change;
    assert_int_equal(p.a.tests, 2);
    assert_near(fmin(c->p_adjusted, d->p_adjusted), fmin(1, 2 * fmin(c->p, d->p)), 1e-12);
    assert_near(in(&p, FL_CAMERA_SPEED)->change.p_adjusted, c->p_adjusted, 1e-12);
    finish(&p);
}

static void the_same_is_not_called_changed(void **state)
{
    (void)state;
    struct pair p = scaled(4, 1);
    compare(&p);
    const struct fl_change *c = &in(&p, FL_CAMERA_SPEED)->change;
    assert_near(c->change, 1, 1e-9);
    assert_near(c->low * c->high, 1, 1e-3);
    assert_true(c->p > 0.99 && (c->finding == FL_FOUND_SAME) == (c->high <= 1.11));
    finish(&p);
}

static void one_take_gives_no_interval(void **state)
{
    (void)state;
    struct pair p = scaled(1, 1.5);
    compare(&p);
    const struct fl_change *c = &in(&p, FL_CAMERA_SPEED)->change;
    assert_near(c->change, 1.5, 1e-6);
    assert_true(isnan(c->low) && isnan(c->high) && isnan(c->p) &&
                c->finding == FL_FOUND_CANNOT_TELL);
    assert_non_null(strstr(c->unsure, "one take before"));
    assert_ptr_equal(strstr(p.a.setting[0].sentence, "the takes cannot tell: one take before"),
                     p.a.setting[0].sentence);
    assert_int_equal(p.a.tests, 0);
    finish(&p);
}

/* DESIGN: a bound on either side makes the ratio one-sided or null. */
static void a_bound_is_one_sided(void **state)
{
    (void)state;
    struct pair p = begin();
    for (int k = 0; k < 6; k++) {
        struct fake_settings f = usual(60 + (uint64_t)k);
        f.v50_deg_s = k < 3 ? 100 : 1e9;
        add(k < 3 ? p.before : p.now, f);
    }
    compare(&p);
    const struct fl_against_v50 *v = in(&p, FL_CAMERA_SPEED);
    assert_int_equal(v->now->bound, FL_BOUND_ABOVE);
    assert_true(isnan(v->change.change) && isnan(v->change.high) && isnan(v->change.p));
    assert_near(v->change.low, v->now->bound_at / v->before->v50_high, 1e-12);
    assert_int_equal(v->change.finding, FL_FOUND_ONE_SIDED);
    assert_non_null(
        strstr(p.a.setting[0].sentence, "or more: no flick tripped now (a bound, not a test)"));
    finish(&p);
    p = begin();
    for (int k = 0; k < 4; k++) {
        struct fake_settings f = usual(70 + (uint64_t)k);
        f.v50_deg_s = 1e9;
        add(k < 2 ? p.before : p.now, f);
    }
    compare(&p);
    v = in(&p, FL_CAMERA_SPEED);
    assert_true(isnan(v->change.low) && isnan(v->change.high) &&
                v->change.finding == FL_FOUND_CANNOT_TELL);
    finish(&p);
}

/* ---- off-share ---- */

/* 20 flicks of known peaks, each off for `share` of its time. */
static void add_shares(struct fl_session *s, double share)
{
    struct fake_settings f = usual(1);
    f.flicks = 20;
    struct fl_take *t = add(s, f);
    t->states.span = FL_NEW(struct fl_state_span, 2 * t->n_flicks);
    for (size_t i = 0; i < t->n_flicks; i++) {
        struct fl_flick *k = &t->flicks[i];
        double switch_s = k->end_s - share * (k->end_s - k->start_s);
        k->peak[FL_CAMERA_SPEED] = 100 + 10 * (double)i;
        t->states.span[t->states.n_spans++] =
            (struct fl_state_span){k->start_s, switch_s, FL_STATE_ON, 1, NULL};
        t->states.span[t->states.n_spans++] =
            (struct fl_state_span){switch_s, k->end_s, FL_STATE_OFF, 1, NULL};
    }
}

/* Takes with the same flicks have the mean of their shares, .3 and .6; for a mean the jackknife's
 * variance is s²/n, here .1² a side; Satterthwaite's degrees of freedom are then 2, and Student's t
 * at .975 is 4.3026527 (CHECKS N, tables). */
static void off_share_by_hand(void **state)
{
    (void)state;
    struct pair p = begin();
    add_shares(p.before, .2);
    add_shares(p.before, .4);
    add_shares(p.now, .5);
    add_shares(p.now, .7);
    compare(&p);
    const struct fl_change *c = &p.a.setting[0].off_share;
    assert_null(c->refused);
    assert_int_equal(p.a.setting[0].off_share_by, FL_CAMERA_SPEED);
    assert_near(c->before, .3, 1e-9);
    assert_near(c->now, .6, 1e-9);
    assert_near(c->change, .3, 1e-9);
    assert_near(c->low, .3 - 4.3026527 * sqrt(.02), 1e-6);
    assert_near(c->high, .3 + 4.3026527 * sqrt(.02), 1e-6);
    finish(&p);
    p = begin();
    add_shares(p.before, .2);
    add_shares(p.now, .5);
    compare(&p);
    c = &p.a.setting[0].off_share;
    assert_near(c->change, .3, 1e-9);
    assert_true(isnan(c->low) && isnan(c->p));
    assert_non_null(strstr(c->unsure, "one take before"));
    finish(&p);
}

/* Shares and lapses a minute of a drill say nothing of play; rates and trip speeds do. */
static void a_drill_is_not_beside_play(void **state)
{
    (void)state;
    struct pair p = scaled(2, 1);
    for (size_t i = 0; i < 2; i++)
        p.now->takes[i]->spec.play_drill = true;
    compare(&p);
    const struct fl_against_setting *s = &p.a.setting[0];
    assert_null(s->refused);
    assert_string_equal(s->off_share.refused, "a drill (now) beside play (before); shares of time "
                                              "in a drill say nothing of play");
    assert_string_equal(s->lapses.refused, s->off_share.refused);
    assert_true(isnan(s->off_share.change) && isnan(s->lapses.change));
    assert_true(s->lead && !s->lead->change.refused);
    for (size_t i = 0; i < 2; i++)
        p.before->takes[i]->spec.play_drill = true;
    fl_against_make(&p.a, p.before, p.now, p.arena);
    assert_null(p.a.setting[0].lapses.refused);
    finish(&p);
}

/* A tenth more in every take is a ratio of 1.1, with Welch's interval on logarithms; a pinned rate
 * is no measurement. */
static void base_rates_are_compared_as_ratios(void **state)
{
    (void)state;
    struct pair p = begin();
    const double hz[] = {70, 71, 69.5};
    for (int k = 0; k < 3; k++) {
        struct fl_take *t = add(p.before, usual((uint64_t)k)),
                       *u = add(p.now, usual(9 + (uint64_t)k));
        t->states.base_rate_on_hz = hz[k];
        u->states.base_rate_on_hz = 1.1 * hz[k];
        t->states.base_rate_off_hz = u->states.base_rate_off_hz = 80;
        t->spec.base_rate_hz = u->spec.base_rate_hz = FL_UNKNOWN;
    }
    compare(&p);
    const struct fl_change *c = &p.a.setting[0].base_on;
    double l[3], m[3];
    struct fl_difference d;
    for (int k = 0; k < 3; k++) {
        l[k] = log(hz[k]);
        m[k] = log(1.1 * hz[k]);
    }
    fl_welch(&d, m, 3, l, 3, 0.95);
    assert_near(c->change, 1.1, 1e-9);
    assert_near(d.df, 4, 1e-9); /* two equal variances: n₁ + n₂ − 2 */
    assert_near(log(c->high), d.high, 1e-9);
    assert_int_equal(c->finding, FL_FOUND_HIGHER);
    assert_non_null(
        strstr(p.a.setting[0].sentence,
               "; with synthesis on it renders at 1.10 times the rate of before (95 % interval "));
    p.now->takes[0]->spec.base_rate_hz = 77;
    fl_against_make(&p.a, p.before, p.now, p.arena);
    assert_near(p.a.setting[0].base_on.now, 1.1 * sqrt(71 * 69.5), 1e-9);
    finish(&p);
}

/* ---- refusals ---- */

static void capture_kinds_are_not_mixed(void **state)
{
    (void)state;
    struct pair p = scaled(2, 1);
    for (size_t i = 0; i < 2; i++)
        p.now->takes[i]->spec.capture_local = true;
    compare(&p);
    const struct fl_against_setting *s = &p.a.setting[0];
    assert_string_equal(s->refused,
                        "captured by card before, locally now; capture both the same way");
    for (size_t i = 0; i < s->n_v50; i++)
        assert_true(s->v50[i].change.refused && isnan(s->v50[i].change.p) &&
                    isnan(s->v50[i].change.change));
    assert_true(s->off_share.refused && s->base_on.refused && s->base_off.refused &&
                s->lapses.refused);
    assert_int_equal(p.a.tests, 0);
    p.before->takes[0]->spec.capture_local = p.before->takes[1]->spec.capture_local = true;
    fl_against_make(&p.a, p.before, p.now, p.arena);
    assert_null(p.a.setting[0].refused);
    p.before->takes[0]->spec.capture_local = p.now->takes[0]->spec.capture_local = false;
    fl_against_make(&p.a, p.before, p.now, p.arena);
    assert_non_null(strstr(p.a.setting[0].refused, "partly by card"));
    finish(&p);
}

static void quantities_are_refused_one_by_one(void **state)
{
    (void)state;
    struct pair p = scaled(2, 1);
    p.now->takes[1]->transfer = "smpte2084";
    p.now->takes[0]->width = 1920;
    compare(&p);
    assert_string_equal(in(&p, FL_IMAGE_CHANGE)->change.refused,
                        "transfers differ: bt709 before, smpte2084 in t now");
    assert_non_null(strstr(in(&p, FL_IMAGE_STEP)->change.refused, "1280 and 1920 pixels"));
    assert_null(in(&p, FL_CAMERA_SPEED)->change.refused);
    p.now->takes[1]->transfer = p.before->takes[0]->transfer = "unknown";
    fl_against_make(&p.a, p.before, p.now, p.arena);
    assert_non_null(strstr(in(&p, FL_IMAGE_CHANGE)->change.refused, "does not say its transfer"));
    p.now->takes[0]->spec.horizontal_fov_deg = 100; /* the trace tells camera speed */
    fl_against_make(&p.a, p.before, p.now, p.arena);
    assert_null(in(&p, FL_CAMERA_SPEED)->change.refused);
    p.before->takes[1]->clock.known = false;
    fl_against_make(&p.a, p.before, p.now, p.arena);
    assert_non_null(
        strstr(in(&p, FL_CAMERA_SPEED)->change.refused, "given as 90 and as 100 degrees"));
    assert_int_equal(p.a.setting[0].lead->quantity, FL_HAND_SPEED);
    finish(&p);
}

/* Peaks are means over one time whatever the games render at; delays count from a crossing in means
 * over one base period. */
static void base_periods_part_delays_not_trip_speeds(void **state)
{
    (void)state;
    struct pair p = scaled(2, 1);
    for (int k = 0; k < 2; k++) {
        p.before->takes[k]->kernel_ms = 10;
        p.now->takes[k]->kernel_ms = 10.9;
    }
    compare(&p);
    const struct fl_setting *before = &p.a.setting[0].before, *now = &p.a.setting[0].now;
    assert_null(fl_against_refuse_delay(before, now, FL_CAMERA_SPEED, p.arena));
    for (int k = 0; k < 2; k++)
        p.now->takes[k]->kernel_ms = 11.1;
    assert_non_null(strstr(fl_against_refuse_delay(before, now, FL_CAMERA_SPEED, p.arena),
                           "10.0 ms before and 11.1 ms now"));
    assert_null(in(&p, FL_CAMERA_SPEED)->change.refused);
    finish(&p);
}

static void what_one_side_lacks_is_said(void **state)
{
    (void)state;
    struct pair p = begin();
    for (int k = 0; k < 4; k++) {
        struct fake_settings f = usual((uint64_t)k);
        f.camera_only = k >= 2;
        add(k < 2 ? p.before : p.now, f);
    }
    struct fake_settings f = usual(9);
    f.game = "Old Mill";
    add(p.before, f);
    f.game = "</td>\"\u202e";
    add(p.now, f);
    f = usual(10);
    f.counts_per_inch = 1600;
    add(p.now, f);
    compare(&p);
    assert_int_equal(p.a.n, 1);
    assert_string_equal(in(&p, FL_COUNT_RATE)->change.refused, "not measured now");
    assert_null(in(&p, FL_COUNT_RATE)->now);
    assert_int_equal(p.a.n_only_before, 1);
    assert_string_equal(p.a.only_before[0].game, "Old Mill");
    assert_int_equal(p.a.n_only_now, 2);
    assert_string_equal(p.a.only_now[0].game, "</td>\"\u202e");
    assert_near(p.a.only_now[1].counts_per_inch, 1600, 0);
    finish(&p);
    p = begin();
    add(p.before, usual(1));
    compare(&p);
    assert_non_null(strstr(p.a.refused, "no take in common"));
    finish(&p);
}

static void a_recording_is_not_compared_with_itself(void **state)
{
    (void)state;
    struct pair p = scaled(2, 1);
    p.before->takes[1]->key = p.now->takes[0]->key = "0123";
    compare(&p);
    assert_non_null(strstr(p.a.setting[0].refused, "take t is in both folders"));
    finish(&p);
}

/* Controls meet controls: their rate is compared, nothing else. */
static void controls_have_a_rate_only(void **state)
{
    (void)state;
    struct pair p = begin();
    for (int k = 0; k < 4; k++) {
        struct fake_settings f = usual((uint64_t)k);
        f.control = true;
        f.flicks_only = false;
        add(k < 2 ? p.before : p.now, f)->states.base_rate_off_hz = 80 + k;
    }
    compare(&p);
    assert_int_equal(p.a.setting[0].n_v50, 0);
    assert_non_null(p.a.setting[0].off_share.refused);
    assert_near(p.a.setting[0].base_off.change, sqrt(82 * 83 / 80. / 81), 1e-9);
    assert_ptr_equal(strstr(p.a.setting[0].sentence, "a control; "), p.a.setting[0].sentence);
    finish(&p);
}

/* ---- the same truth on both sides ---- */

struct tally {
    int pairs, claimed, ratios, ratios_held, shares, shares_held, rates, rates_held;
};

static bool holds(const struct fl_change *c, double truth)
{
    return !(c->low > truth) && !(c->high < truth);
}

static bool claims(const struct fl_change *c)
{
    return c->finding == FL_FOUND_HIGHER || c->finding == FL_FOUND_LOWER;
}

static void count(struct tally *t, const struct pair *p)
{
    const struct fl_against_setting *s = &p->a.setting[0];
    bool any = claims(&s->off_share) || claims(&s->base_on) || claims(&s->base_off);
    for (size_t i = 0; i < s->n_v50; i++)
        any = any || claims(&s->v50[i].change);
    const struct fl_change *v = &in(p, FL_CAMERA_SPEED)->change;
    t->pairs++;
    t->claimed += any;
    t->ratios += fl_known(v->p);
    t->ratios_held += fl_known(v->p) && holds(v, 1);
    t->shares += fl_known(s->off_share.p);
    t->shares_held += fl_known(s->off_share.p) && holds(&s->off_share, 0);
    t->rates += fl_known(s->base_on.p);
    t->rates_held += fl_known(s->base_on.p) && holds(&s->base_on, 1);
}

static void simulate(struct tally *tally, int takes, uint64_t seed)
{
    struct pair p = begin();
    struct fl_random rng;
    fl_random_seed(&rng, seed);
    for (int k = 0; k < 2 * takes; k++) {
        struct fake_settings f = usual(1000 * seed + (uint64_t)k);
        f.flicks_only = false;
        f.camera_only = true;
        struct fl_take *t = add(k < takes ? p.before : p.now, f);
        t->states.base_rate_on_hz *= exp(0.01 * fl_random_normal(&rng));
        t->states.base_rate_off_hz *= exp(0.01 * fl_random_normal(&rng));
    }
    compare(&p);
    count(tally, &p);
    finish(&p);
}

/* Normal approximation of the binomial, at one in a thousand. */
static bool too_many(int got, int n, double share)
{
    return got > n * share + 3.09 * sqrt(n * share * (1 - share)) + 0.5;
}

static void nothing_is_claimed_where_nothing_changed(void **state)
{
    (void)state;
    const char *asked = getenv("FLINCH_PAIRS"); /* more of them, by hand */
    int n = asked ? atoi(asked) : 80;
    for (int takes = 2; takes <= 4; takes++) {
        struct tally t = {0};
        for (int k = 0; k < n; k++)
            simulate(&t, takes, (uint64_t)(k + n * takes));
        print_message("%d takes a side: %d of %d pairs claim a change; intervals hold: ratio %d of "
                      "%d, off share %d of %d, "
                      "base rate %d of %d\n",
                      takes, t.claimed, t.pairs, t.ratios_held, t.ratios, t.shares_held, t.shares,
                      t.rates_held, t.rates);
        assert_true(t.ratios > 0.9 * n && t.shares > 0.9 * n && t.rates == n);
        assert_false(too_many(t.claimed, t.pairs, 0.05));
        assert_false(too_many(t.ratios - t.ratios_held, t.ratios, 0.05));
        assert_false(too_many(t.shares - t.shares_held, t.shares, 0.05));
        assert_false(too_many(t.rates - t.rates_held, t.rates, 0.05));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(welch_finds_the_published_figures),
        cmocka_unit_test(welch_knows_what_it_cannot),
        cmocka_unit_test(the_ratio_is_that_of_the_speeds),
        cmocka_unit_test(takes_that_differ_hide_a_change),
        cmocka_unit_test(quantities_that_go_together_count_once),
        cmocka_unit_test(the_same_is_not_called_changed),
        cmocka_unit_test(one_take_gives_no_interval),
        cmocka_unit_test(a_bound_is_one_sided),
        cmocka_unit_test(off_share_by_hand),
        cmocka_unit_test(a_drill_is_not_beside_play),
        cmocka_unit_test(base_rates_are_compared_as_ratios),
        cmocka_unit_test(capture_kinds_are_not_mixed),
        cmocka_unit_test(quantities_are_refused_one_by_one),
        cmocka_unit_test(base_periods_part_delays_not_trip_speeds),
        cmocka_unit_test(what_one_side_lacks_is_said),
        cmocka_unit_test(a_recording_is_not_compared_with_itself),
        cmocka_unit_test(controls_have_a_rate_only),
        cmocka_unit_test(nothing_is_claimed_where_nothing_changed),
    };
    return RUN_TESTS(tests);
}
