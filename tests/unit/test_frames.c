#include "state/frames.h"

#include <stdlib.h>

#include "flip_train.h"
#include "state/label.h"
#include "state/witness.h"
#include "test.h"

struct seen {
    struct train train;
    struct train_film film;
    struct fl_rates_found found;
    struct fl_states states;
    struct fl_flips flips;
};

static void look(struct seen *s, const struct train_plan *plan, double capture_hz)
{
    const struct train_camera camera = {.rate_hz = capture_hz, .bands = 23};
    const struct fl_rates_given given = {1 / capture_hz, NAN, false, 0};
    const struct fl_label_settings set = {.duration_s = train_duration(plan),
                                          .native_height = 1080};
    train_run(&s->train, plan);
    train_film(&s->film, &s->train, &camera);
    fl_rates_find(&s->found, &s->film.evidence, &given);
    fl_witness_resolve(&s->found, &s->film.evidence, &s->film.rows, &given);
    fl_label(&s->states, &s->flips, &s->film.evidence, &s->film.rows, &s->found, &s->film.scan,
             &set);
}

static void seen_finish(struct seen *s)
{
    fl_states_finish(&s->states);
    free(s->flips.v);
    train_film_finish(&s->film);
    train_finish(&s->train);
}

/* Seconds in which a state is said that is not the true one, a base period from any switch. */
static double wrong_s(const struct seen *s, double *on_s)
{
    const double step = 0.001, edge = 1 / s->train.plan->off_hz;
    double wrong = 0;
    *on_s = 0;
    for (double t = edge; t < train_duration(s->train.plan) - edge; t += step) {
        enum train_state a = train_at(&s->train, t);
        enum fl_state said = fl_states_at(&s->states, t);
        if (a == TRAIN_REST || train_at(&s->train, t - edge) != a ||
            train_at(&s->train, t + edge) != a)
            continue;
        wrong += said == (a == TRAIN_ON ? FL_STATE_OFF : FL_STATE_ON) ? step : 0;
        *on_s += said == FL_STATE_ON ? step : 0;
    }
    return wrong;
}

static const struct train_part switching[] = {
    {TRAIN_ON, 0.8, 0},   {TRAIN_OFF, 1.1, 0}, {TRAIN_ON, 1.7, 0},  {TRAIN_OFF, 1.9, 0},
    {TRAIN_REST, 2.3, 0}, {TRAIN_ON, 2.8, 0},  {TRAIN_OFF, 3.1, 0}, {TRAIN_ON, 3.6, 0}};
enum { PARTS = sizeof switching / sizeof *switching };

/* Two, three and four output frames for each rendered one, on cards of 120 and 240/s. Off, the base
 * rate is that of on; it need not be. */
static void n_is_found(void **state)
{
    (void)state;
    const struct {
        int frames;
        double base_hz, off_hz, capture_hz, share;
    } cases[] = {{2, 70, 70, 120, 0},    {3, 50, 50, 120, 0},    {3, 50, 56, 144, 0},
                 {4, 45, 45, 240, 0},    {3, 60, 60, 240, 0.25}, {4, 42, 46, 144, 0},
                 {2, 60, 60, 144, 0.35}, {2, 48, 48, 240, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct train_plan plan = {.frames = cases[i].frames,
                                        .on_hz = cases[i].base_hz,
                                        .off_hz = cases[i].off_hz,
                                        .share = cases[i].share,
                                        .sway = 0.6,
                                        .part = switching,
                                        .n_parts = PARTS,
                                        .seed = 70 + (uint64_t)i};
        struct seen s;
        double on_s;
        look(&s, &plan, cases[i].capture_hz);
        assert_true(
            s.states.frames_per_rendered == cases[i].frames ||
            (!s.states.frames_per_rendered && s.states.frames_possible >> cases[i].frames & 1));
        assert_int_equal(s.states.n_lapses, 3);
        assert_true(wrong_s(&s, &on_s) < 0.02 && on_s > 1.5);
        assert_true(fabs(s.states.base_rate_off_hz / cases[i].off_hz - 1) < 0.03);
        assert_true(isnan(s.states.base_rate_on_hz) ||
                    fabs(s.states.base_rate_on_hz / cases[i].base_hz - 1) < 0.03);
        assert_int_equal(s.states.n_reductions, 0);
        seen_finish(&s);
    }
}

/* Three synthesised frames, then one, then none: one lapse, and what is on before it has its N. */
static void n_that_falls_is_no_lapse(void **state)
{
    (void)state;
    const struct train_part falling[] = {{TRAIN_ON, 1, 4},    {TRAIN_ON, 1.4, 2},
                                         {TRAIN_OFF, 1.7, 0}, {TRAIN_ON, 2.6, 4},
                                         {TRAIN_ON, 3, 2},    {TRAIN_ON, 3.6, 4}};
    const struct train_plan plan = {.frames = 4,
                                    .on_hz = 45,
                                    .off_hz = 45,
                                    .sway = 0.6,
                                    .part = falling,
                                    .n_parts = sizeof falling / sizeof *falling,
                                    .seed = 90};
    struct seen s;
    double on_s;
    look(&s, &plan, 240);
    assert_int_equal(s.states.n_lapses, 1);
    assert_true(wrong_s(&s, &on_s) < 0.02 && on_s > 2.8);
    for (size_t i = 0; i < s.states.n_reductions; i++) {
        const struct fl_reduction *v = &s.states.reduction[i];
        assert_true(v->from == 4 && v->to == 2);
        assert_true((v->start_s > 0.9 && v->end_s < 1.5) || (v->start_s > 2.5 && v->end_s < 3.1));
    }
    assert_int_equal(s.states.frames_per_rendered, 4);
    assert_int_equal(s.states.n_reductions, 2);
    seen_finish(&s);
}

/* Steady turning shows no N: three flips a base period of 50/s may be four of 40/s or so, and then
 * the base rate on is unknown with it. States do not wait for it. */
static void steady_turning_does_not_tell(void **state)
{
    (void)state;
    const struct train_plan plan = {
        .frames = 3, .on_hz = 50, .off_hz = 50, .part = switching, .n_parts = PARTS, .seed = 71};
    struct seen s;
    double on_s;
    look(&s, &plan, 120);
    assert_int_equal(s.states.frames_per_rendered, 0);
    assert_int_equal(s.states.frames_possible, 1u << 3 | 1u << 4);
    assert_true(isnan(s.states.base_rate_on_hz));
    assert_int_equal(s.states.n_lapses, 3);
    assert_true(wrong_s(&s, &on_s) < 0.02 && on_s > 1.5);
    seen_finish(&s);
}

/* A take that is never on has no N. */
static void never_on_has_no_n(void **state)
{
    (void)state;
    const struct train_part off[] = {{TRAIN_OFF, 2, 0}};
    const struct train_plan plan = {
        .on_hz = 60, .off_hz = 60, .part = off, .n_parts = 1, .seed = 91};
    struct seen s;
    look(&s, &plan, 120);
    assert_int_equal(s.states.frames_per_rendered, 0);
    assert_int_equal(s.states.frames_possible, 0);
    for (size_t i = 0; i < s.states.n_spans; i++)
        assert_int_equal(s.states.span[i].frames_per_rendered,
                         s.states.span[i].state == FL_STATE_OFF);
    seen_finish(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(n_is_found),
        cmocka_unit_test(steady_turning_does_not_tell),
        cmocka_unit_test(n_that_falls_is_no_lapse),
        cmocka_unit_test(never_on_has_no_n),
    };
    return RUN_TESTS(tests);
}
