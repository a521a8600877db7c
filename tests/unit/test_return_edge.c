/* Trains of flips that return in the dark, in part or not at all → where the runs about it end. */
#include "state/return_edge.h"

#include <stdlib.h>

#include "base/mem.h"
#include "flip_train.h"
#include "test.h"

static const double base_s = 1 / 70.0;

/* On, off, a rest of `rest_s` and off again for `off_s`, then on; what lies from the rest up to
 * dark_s shows nothing. */
struct scene {
    double rest_s, off_s, dark_s;
};

struct seen {
    double true_s;                     /* of the return */
    struct fl_run before[2], after[2]; /* off, on */
};

static const struct fl_run *first_after(const struct fl_runs *runs, enum fl_state s, double time_s)
{
    for (size_t k = 0; k < runs->n; k++)
        if (runs->v[k].state == s && runs->v[k].to_s > time_s)
            return &runs->v[k];
    fail_msg("no run after %g s", time_s);
    return NULL;
}

static void about_return(struct fl_run out[2], const struct fl_runs *runs)
{
    out[0] = *first_after(runs, FL_STATE_OFF, 0.6);
    out[1] = *first_after(runs, FL_STATE_ON, out[0].from_s);
}

static double true_return(const struct train *t)
{
    for (size_t i = 1; i < t->n; i++)
        if (t->flip[i].time_s > 0.7 && t->flip[i - 1].mode == FL_GAP_OFF &&
            t->flip[i].mode != FL_GAP_OFF)
            return t->flip[i].time_s;
    fail_msg("no return");
    return 0;
}

static struct seen look(const struct scene *c, uint64_t seed)
{
    const double rest_s = 0.8, again_s = rest_s + c->rest_s;
    const struct train_part part[] = {
        {TRAIN_ON, 0.6}, {TRAIN_OFF, again_s + c->off_s}, {TRAIN_ON, 1.8}};
    const struct train_plan plan = {
        .on_hz = 70, .off_hz = 70, .part = part, .n_parts = 3, .seed = seed};
    const struct fl_rates rates = {base_s, base_s, {0.5, 0.5}, 0, 0.004, 2};
    struct train t;
    struct train_film f;
    struct fl_segment *segments;
    struct fl_renewal r;
    struct fl_runs runs;
    struct seen out;
    train_run(&t, &plan);
    train_film(&f, &t, NULL);
    for (size_t i = 0; i < f.evidence.n; i++)
        if (f.evidence.slot[i].time_s > rest_s && f.evidence.slot[i].time_s < again_s + c->dark_s)
            f.evidence.slot[i].still = f.evidence.slot[i].flip = 0;
    size_t n = fl_segments(&f.evidence, &segments);
    fl_renewal_solve(&r, &f.evidence, segments, n, &rates, 1);
    fl_runs_collect(&runs, &r, &f.evidence, &rates);
    out.true_s = true_return(&t);
    about_return(out.before, &runs);
    fl_return_edges(&runs, &f.evidence, &rates, 1);
    about_return(out.after, &runs);
    fl_runs_finish(&runs);
    fl_renewal_finish(&r);
    free(segments);
    train_film_finish(&f);
    train_finish(&t);
    return out;
}

/* Of sixty returns; `wide` counts brackets over four base periods wider than what is dark. */
static void count(const struct scene *c, int *held, int *held_before, int *wide)
{
    const double slack = 0.0005;
    *held = *held_before = *wide = 0;
    for (uint64_t seed = 1; seed <= 60; seed++) {
        const struct seen s = look(c, seed);
        const double low = s.after[0].to_s - slack, high = s.after[1].from_s + slack;
        *held += s.true_s > low && s.true_s < high;
        *held_before +=
            s.true_s > s.before[0].to_s - slack && s.true_s < s.before[1].from_s + slack;
        *wide += high - low > c->rest_s + c->dark_s + 4 * base_s;
    }
}

/* Two gaps off after the rest, and nothing shows of them: motion sets in slowly. */
static void on_begins_where_it_shows(void **state)
{
    (void)state;
    int held, before, wide;
    count(&(struct scene){.rest_s = 0.1, .off_s = 0.03, .dark_s = 0.04}, &held, &before, &wide);
    assert_true(held >= 57); /* 95 % */
    assert_true(before < held);
    assert_int_equal(wide, 0);
}

/* A rest of a few base periods, and no motion in state off after it. */
static void a_return_in_the_rest_is_held(void **state)
{
    (void)state;
    int held, before, wide;
    count(&(struct scene){.rest_s = 0.06, .off_s = -0.03}, &held, &before, &wide);
    assert_true(held >= 57);
    assert_int_equal(wide, 0);
}

/* Where the return shows, runs share its flip as before. */
static void a_return_that_shows_stays(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        const struct seen s = look(&(struct scene){.off_s = 0.2, .dark_s = -1}, seed);
        assert_true(s.after[0].to_s == s.before[0].to_s && s.after[1].from_s == s.before[1].from_s);
        assert_near(s.after[0].to_s, s.true_s, 0.0015);
        assert_true(s.after[1].from_s == s.after[0].to_s);
    }
}

/* No return, no run: nothing to hear. */
static void nothing_to_hear(void **state)
{
    (void)state;
    struct fl_slot slot[400];
    for (int i = 0; i < 400; i++)
        slot[i] = (struct fl_slot){.time_s = (i + 0.5) * 0.001};
    const struct fl_evidence e = {.slot = slot, .n = 400, .slots_a_frame = 8, .slot_s = 0.001};
    const struct fl_rates rates = {base_s, base_s, {0.5, 0.5}, 0, 0.004, 2};
    struct fl_run run[] = {
        {.state = FL_STATE_ON, .from = 10, .to = 100, .from_s = 0.01, .to_s = 0.1},
        {.state = FL_STATE_OFF, .from = 120, .to = 300, .from_s = 0.12, .to_s = 0.3}};
    struct fl_runs runs = {run, 2, 2};
    fl_return_edges(&runs, &e, &rates, 1);
    assert_true(run[0].to == 100 && run[1].from == 120 && run[1].to == 300);
    runs.n = 0;
    fl_return_edges(&runs, &e, &rates, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(on_begins_where_it_shows),
        cmocka_unit_test(a_return_in_the_rest_is_held),
        cmocka_unit_test(a_return_that_shows_stays),
        cmocka_unit_test(nothing_to_hear),
    };
    return RUN_TESTS(tests);
}
