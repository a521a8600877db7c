/* Rows of the ranking: what is counted, whether it may be quoted, who shares a place. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "maths/random.h"
#include "study/compare/lapse_figures.h"
#include "study/compare/quotable.h"
#include "study/compare/rank_range.h"
#include "study/compare/result.h"
#include "study/compare/session_study.h"
#include "test.h"

/* By hand: 1–2 and 1.5–4 overlap, 3–5 overlaps the second alone, so that one may be first to
 * third; 6–7 and what is open above 6.5 come after these; what is unknown has no place. */
static void overlapping_intervals_share_a_place(void **state)
{
    (void)state;
    const double low[] = {3, 1, 6, 1.5, NAN, 6.5}, high[] = {5, 2, 7, 4, 9, INFINITY};
    const size_t first[] = {2, 1, 4, 1, 0, 4}, last[] = {3, 2, 5, 3, 0, 5};
    struct fl_rank_range rank[6];
    fl_rank_ranges(rank, low, high, 6);
    for (int i = 0; i < 6; i++)
        assert_true(rank[i].first == first[i] && rank[i].last == last[i]);
    fl_rank_ranges(rank, (double[]){2, 1, 3}, (double[]){2.5, 2, 4}, 3); /* touching */
    assert_true(rank[0].last == 2 && rank[1].last == 2 && rank[2].first == 3);
}

/* Two that overlap share a place; of two that share none, the one lies below the other. */
static void places_that_are_not_shared_tell_apart(void **state)
{
    (void)state;
    enum { N = 12 };
    double low[N], high[N];
    struct fl_rank_range rank[N];
    struct fl_random random;
    fl_random_seed(&random, 7);
    for (int round = 0; round < 200; round++) {
        for (int i = 0; i < N; i++) {
            low[i] = fl_random_uniform(&random);
            high[i] = low[i] + 0.4 * fl_random_uniform(&random);
        }
        fl_rank_ranges(rank, low, high, N);
        for (int i = 0; i < N; i++)
            for (int k = 0; k < N; k++) {
                bool overlap = high[i] >= low[k] && high[k] >= low[i];
                bool share = rank[i].first <= rank[k].last && rank[k].first <= rank[i].last;
                assert_true(share || !overlap);
                assert_true(rank[i].last >= rank[k].first || high[i] < low[k]);
                assert_true(rank[i].first <= rank[i].last);
            }
    }
}

static struct fl_take *lapsing(const double *length, const char *ends, size_t n, double measured_s)
{
    struct fl_take *t = fl_take_new();
    t->exposure.on_s = measured_s;
    t->exposure.lapses_low = n;
    t->exposure.lapses_high = n + 2;
    t->states.lapse = FL_NEW(struct fl_lapse, n + 1);
    for (t->states.n_lapses = 0; t->states.n_lapses < n; t->states.n_lapses++) {
        struct fl_lapse *l = &t->states.lapse[t->states.n_lapses];
        *l = (struct fl_lapse){.start_s = 1, .end_s = 1 + length[t->states.n_lapses]};
        l->has_trip = true;
        l->has_return = ends[t->states.n_lapses] == 'r';
        l->parted_after = ends[t->states.n_lapses] == 'p'; /* another lapse follows unseen time */
    }
    return t;
}

/* Four that ended: the plain median. One cut off by the end of the footage: Kaplan–Meier by hand,
 * S = 3/4 after 0.1, 3/4·2/3 = 1/2 after 0.2. Two cut off: S stays above a half. */
static void open_ended_lapses_are_known_to_be_longer(void **state)
{
    (void)state;
    const double a[] = {0.1, 0.2, 0.4, 0.9};
    struct fl_take *t = lapsing(a, "rrpr", 4, 120), *u = lapsing(a, "rrrx", 4, 60),
                   *v = lapsing(a, "rxxx", 4, 60);
    const struct fl_take *one[] = {t}, *two[] = {u}, *three[] = {v}, *both[] = {t, u};
    struct fl_lapse_figures f = fl_lapse_figures_of(one, 1);
    assert_near(f.median_s, 0.3, 1e-12);
    assert_near(f.per_min, 2, 1e-12);
    assert_near(f.per_min_high, 3, 1e-12);
    assert_near(fl_lapse_figures_of(two, 1).median_s, 0.2, 1e-12);
    assert_true(isnan(fl_lapse_figures_of(three, 1).median_s));
    assert_near(fl_lapse_figures_of(both, 2).per_min, 8 / 3.0, 1e-12); /* of all minutes */
    assert_true(isnan(fl_lapse_figures_of(one, 0).median_s));
    fl_take_free(&t);
    fl_take_free(&u);
    fl_take_free(&v);
}

/* One thing at a time stands against quoting. */
static void a_row_is_quoted_when_nothing_stands_against_it(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    const struct {
        size_t takes;
        double open, take, low, high;
        enum fl_bound bound;
        const char *why, *brief;
    } c[] = {
        {3, 0.1, 0.2, 100, 200, FL_BOUND_NONE, NULL, NULL},
        {2, 0.1, 0.2, 100, 200, FL_BOUND_NONE, "2 takes, 3 are needed", "2 takes"},
        {3, 0.12, NAN, 100, 200, FL_BOUND_NONE, "12 % of the time is open, 10 at most",
         "12 % open"},
        {3, 0.1, NAN, 100, 200, FL_BOUND_NONE, "what unseen time was cannot be inferred",
         "unseen time"},
        {3, 0.1, 0.2, 90, 200, FL_BOUND_NONE, "its V50 is known within a factor of 2.2, 2 at most",
         "V50 within ×2.2"},
        {3, 0.1, 0.2, NAN, 200, FL_BOUND_NONE, "the interval of its V50 is open", "V50 open"},
        {3, 0.1, 0.2, NAN, NAN, FL_BOUND_ABOVE, "its V50 is only a bound", "a bound"},
        {3, 0.1, 0.2, NAN, NAN, FL_BOUND_TOO_FEW, "it has no V50", "no V50"},
        {1, 0.1, 0.2, 90, 200, FL_BOUND_NONE,
         "1 take, 3 are needed; its V50 is known within a factor of 2.2, 2 at most",
         "1 take; V50 within ×2.2"},
    };
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        const struct fl_curve curve = {.v50 = c[i].bound ? NAN : 150,
                                       .v50_low = c[i].low,
                                       .v50_high = c[i].high,
                                       .bound = c[i].bound,
                                       .takes = 3};
        struct fl_result r = {.share_takes = c[i].takes,
                              .shares = {.open = c[i].open, .take = c[i].take},
                              .curve = &curve};
        fl_quotable_judge(&r, arena);
        assert_true(!r.why == !c[i].why);
        if (c[i].why) {
            assert_string_equal(r.why, c[i].why);
            assert_string_equal(r.why_short, c[i].brief);
        }
    }
    fl_arena_free(&arena);
}

static struct fl_take *take_at(double counts_per_inch, double v50, uint64_t seed, bool drill)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = "G",
                                                          .counts_per_inch = counts_per_inch,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = v50,
                                                          .slope = 20,
                                                          .flicks = 40,
                                                          .seed = seed});
    t->spec.play_drill = drill;
    return t;
}

/* Settings far apart are two rows, each with its own curve; drills among play count for V50 alone.
 */
static void a_row_is_a_setting(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("two settings");
    for (uint64_t k = 0; k < 3; k++)
        fl_session_add(s, take_at(400, 400, 3 + k, false));
    for (uint64_t k = 0; k < 3; k++)
        fl_session_add(s, take_at(1600, 100, 9 + k, k == 0));
    fl_session_study(s);
    assert_int_equal(s->n_results, 2);
    const struct fl_result *slow = &s->results[0], *fast = &s->results[1];
    assert_near(slow->counts_per_inch, 1600, 0);
    assert_near(fast->counts_per_inch, 400, 0);
    assert_true(slow->curve->v50 < 150 && fast->curve->v50 > 250);
    assert_true(slow->rank.first == 1 && slow->rank.last == 1);
    assert_true(fast->rank.first == 2 && fast->rank.last == 2);
    assert_int_equal(slow->takes, 3);
    assert_int_equal(slow->share_takes, 2);
    assert_false(slow->drill);
    assert_int_equal(slow->curve->takes, 3);
    assert_int_equal(fast->share_takes, 3);
    for (size_t i = 0; i < 6; i++)
        s->takes[i]->spec.play_drill = true;
    fl_session_study(s);
    assert_true(s->results[0].drill && s->results[0].share_takes == 3);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(overlapping_intervals_share_a_place),
        cmocka_unit_test(places_that_are_not_shared_tell_apart),
        cmocka_unit_test(open_ended_lapses_are_known_to_be_longer),
        cmocka_unit_test(a_row_is_quoted_when_nothing_stands_against_it),
        cmocka_unit_test(a_row_is_a_setting),
    };
    return RUN_TESTS(tests);
}
