/* Expected values by hand: grids whose likelihood depends on the delay alone. */
#include "study/rule/hold_pool.h"

#include <stdlib.h>

#include "test.h"

enum { DELAYS = 400, GAMES = 8, EACH = FL_RETURN_SCATTERS };
#define STEP_S 0.01

/* One threshold; what was seen is likely from low_s to high_s, and e^-8 as likely elsewhere. */
static void grid_make(struct fl_return_grid *g, double low_s, double high_s)
{
    *g = (struct fl_return_grid){.n_thresholds = 1, .n_delays = DELAYS};
    g->threshold = FL_NEW(struct fl_return_rule, 1);
    g->threshold[0].quantity = 1;
    g->stands_for[1] = 1;
    g->delay_s = FL_NEW(double, DELAYS);
    g->prior = FL_NEW(double, DELAYS);
    g->log_likelihood = FL_NEW(float, DELAYS *EACH);
    g->log_trips = FL_NEW(float, DELAYS);
    for (size_t d = 0; d < DELAYS; d++) {
        double at = g->delay_s[d] = ((double)d + 0.5) * STEP_S;
        double low = (double)d * STEP_S;
        g->prior[d] = log((low + 2 * STEP_S) / (low + STEP_S)) / log(DELAYS + 1.0);
        for (size_t s = 0; s < EACH; s++)
            g->log_likelihood[d * EACH + s] = low_s <= at && at < high_s ? 0 : -8;
    }
}

static double mass(const struct fl_return_grid *g, double low_s, double high_s)
{
    double sum = 0;
    for (size_t d = 0; d < DELAYS; d++)
        sum += g->delay_s[d] >= low_s && g->delay_s[d] < high_s ? g->prior[d] : 0;
    return sum;
}

/* Of what is likely, low_s to high_s, the share of the weight from a to b once prior and returns
 * speak. */
static double after(const struct fl_return_grid *g, double low_s, double high_s, double a, double b)
{
    return mass(g, a, b) / mass(g, low_s, high_s);
}

static void finish(struct fl_return_grid *g, size_t n)
{
    for (size_t k = 0; k < n; k++)
        fl_return_grid_finish(&g[k]);
}

/* Games that know their hold only up to a rest, and one that knows it: what is common to all is
 * found, and each prior stays one. */
static void vague_games_learn_from_what_is_common(void **state)
{
    (void)state;
    struct fl_return_grid g[GAMES];
    const double range[GAMES][2] = {{0.01, 0.13}, {0.07, 0.5}, {0.02, 0.12}, {0.08, 0.4},
                                    {0.01, 0.14}, {0.06, 0.5}, {0.07, 0.6},  {0.09, 0.12}};
    const size_t game[GAMES] = {0, 1, 2, 3, 4, 5, 6, 7};
    for (size_t k = 0; k < GAMES; k++)
        grid_make(&g[k], range[k][0], range[k][1]);
    double before = after(&g[1], 0.07, 0.5, 0.07, 0.15), low = after(&g[0], 0.01, 0.13, 0.07, 0.13);
    fl_hold_pool(g, game, GAMES);
    for (size_t k = 0; k < GAMES; k++)
        assert_near(mass(&g[k], 0, 4), 1, 1e-9);
    assert_true(before < 0.45 && after(&g[1], 0.07, 0.5, 0.07, 0.15) > 0.7);
    assert_true(low < 0.3 && after(&g[0], 0.01, 0.13, 0.07, 0.13) > 0.55);
    finish(g, GAMES);
}

/* However many games hold otherwise, half of the weight stays with any delay. */
static void a_game_of_its_own_keeps_its_hold(void **state)
{
    (void)state;
    struct fl_return_grid g[GAMES], alone;
    size_t game[GAMES];
    for (size_t k = 0; k < GAMES; k++) {
        grid_make(&g[k], k ? 0.09 : 1.1, k ? 0.12 : 1.3);
        game[k] = k;
    }
    grid_make(&alone, 1.1, 1.3);
    fl_hold_pool(g, game, GAMES);
    assert_true(mass(&g[0], 1.1, 1.3) > 0.45 * mass(&alone, 1.1, 1.3));
    fl_return_grid_finish(&alone);
    finish(g, GAMES);
}

/* Alone, among games that saw nothing, and beside its own other settings only. */
static void nothing_heard_changes_nothing(void **state)
{
    (void)state;
    struct fl_return_grid g[4] = {0}, any;
    const size_t game[4] = {0, 0, 1, 2};
    grid_make(&g[0], 0.05, 0.3);
    grid_make(&g[1], 0.09, 0.12); /* another setting of its game */
    grid_make(&g[2], 0, 4);       /* says nothing; the fourth has no thresholds */
    grid_make(&any, 0, 4);
    fl_hold_pool(g, game, 4);
    for (size_t k = 0; k < 2; k++)
        for (size_t d = 0; d < DELAYS; d++)
            assert_near(g[k].prior[d], any.prior[d], 1e-9);
    assert_true(mass(&g[2], 0.05, 0.3) > 1.2 * mass(&any, 0.05, 0.3));
    fl_return_grid_finish(&any);
    finish(g, 4);
}

/* Two settings of one game have one vote: what both say is said once. */
static void settings_of_a_game_vote_together(void **state)
{
    (void)state;
    struct fl_return_grid one[2], two[3];
    const size_t of_one[2] = {0, 1}, of_two[3] = {0, 1, 1};
    grid_make(&one[0], 0, 4);
    grid_make(&one[1], 0.09, 0.12);
    for (size_t k = 0; k < 3; k++)
        grid_make(&two[k], k ? 0.09 : 0, k ? 0.12 : 4);
    fl_hold_pool(one, of_one, 2);
    fl_hold_pool(two, of_two, 3);
    assert_near(mass(&two[0], 0.09, 0.12), mass(&one[0], 0.09, 0.12), 0.02);
    finish(one, 2);
    finish(two, 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(vague_games_learn_from_what_is_common),
        cmocka_unit_test(a_game_of_its_own_keeps_its_hold),
        cmocka_unit_test(nothing_heard_changes_nothing),
        cmocka_unit_test(settings_of_a_game_vote_together),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
