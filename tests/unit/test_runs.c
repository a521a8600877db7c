/* A posterior made by hand → runs. */
#include "state/runs.h"

#include <stdlib.h>

#include "base/mem.h"
#include "test.h"

/* 1 ms slots, base periods of 15 of them, every slot tells. */
enum { SLOTS = 400 };
static const double slot_s = 0.001;
static const struct fl_rates rates = {0.015, 0.015, {0.5, 0.5}, 0, 0.004, 2};

struct solved {
    struct fl_slot slot[SLOTS];
    float p_on[SLOTS], p_off[SLOTS];
    struct fl_evidence e;
    struct fl_renewal r;
};

static void start(struct solved *s)
{
    *s = (struct solved){.e = {.slot = s->slot, .n = SLOTS, .slot_s = slot_s, .slots_a_frame = 8},
                         .r = {.p_on = s->p_on, .p_off = s->p_off}};
    for (int i = 0; i < SLOTS; i++)
        s->slot[i] = (struct fl_slot){.time_s = (i + 0.5) * slot_s, .still = 0.1f};
}

static void say(float *p, int from, int to, float chance)
{
    for (int i = from; i < to; i++)
        p[i] = chance;
}

static struct fl_runs collect(const struct solved *s)
{
    struct fl_runs runs;
    fl_runs_collect(&runs, &s->r, &s->e, &rates);
    return runs;
}

/* By hand: 100 slots at 0.99 and 50 at 0.93, a doubt of ten between them. */
static void a_run_closed_over_a_doubt_speaks_for_all_of_itself(void **state)
{
    (void)state;
    struct solved s;
    start(&s);
    say(s.p_off, 50, 150, 0.99f);
    say(s.p_off, 150, 160, 0.6f);
    say(s.p_off, 160, 210, 0.93f);
    struct fl_runs runs = collect(&s);
    assert_int_equal(runs.n, 1);
    assert_int_equal(runs.v[0].state, FL_STATE_OFF);
    assert_true(runs.v[0].from == 50 && runs.v[0].to == 210);
    assert_near(runs.v[0].confidence, (100 * 0.99 + 50 * 0.93) / 150, 1e-6);
    assert_true(runs.v[0].peak == 0.99f);
    fl_runs_finish(&runs);
}

/* A doubt of two base periods or more stays, and so does one between on and off. */
static void doubts_that_are_not_closed(void **state)
{
    (void)state;
    struct solved s;
    start(&s);
    say(s.p_off, 50, 150, 0.99f);
    say(s.p_off, 181, 260, 0.95f);
    say(s.p_on, 262, 350, 0.995f);
    struct fl_runs runs = collect(&s);
    assert_int_equal(runs.n, 3);
    assert_near(runs.v[0].confidence, 0.99, 1e-6);
    assert_near(runs.v[1].confidence, 0.95, 1e-6);
    assert_int_equal(runs.v[2].state, FL_STATE_ON);
    assert_near(runs.v[1].to_s, 0.261, 1e-9); /* no flip to part at: half way */
    assert_near(runs.v[2].from_s, 0.261, 1e-9);
    fl_runs_finish(&runs);
}

/* Shorter than two gaps off or a pair on, nowhere near certain, or not told by any row. */
static void runs_that_prove_nothing(void **state)
{
    (void)state;
    struct solved s;
    start(&s);
    say(s.p_off, 50, 70, 0.99f);
    say(s.p_on, 100, 110, 0.999f);
    say(s.p_on, 150, 250, 0.97f);
    say(s.p_off, 300, 390, 0.99f);
    for (int i = 300; i < 390; i++)
        s.slot[i].still = 0;
    struct fl_runs runs = collect(&s);
    assert_int_equal(runs.n, 0);
    fl_runs_finish(&runs);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_closed_over_a_doubt_speaks_for_all_of_itself),
        cmocka_unit_test(doubts_that_are_not_closed),
        cmocka_unit_test(runs_that_prove_nothing),
    };
    return RUN_TESTS(tests);
}
