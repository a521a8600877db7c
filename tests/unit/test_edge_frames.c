/* Which frames show an edge: expectations counted by hand at 100 frames a second. */
#include "study/take/edge_frames.h"

#include <stdlib.h>

#include "test.h"

enum { FRAMES = 400, BANDS = 2 };

struct fixture {
    struct fl_take *t;
    float verdict[FRAMES * BANDS];
    double pts_s[FRAMES];
    bool key[FRAMES];
};

static struct fixture *fixture_new(void)
{
    struct fixture *f = FL_NEW(struct fixture, 1);
    f->t = fl_take_new();
    f->t->frames = FRAMES;
    f->t->capture_rate_hz = 100;
    f->t->time_s = FL_ARENA(f->t->arena, double, FRAMES);
    f->t->states.lapse = FL_NEW(struct fl_lapse, 4);
    for (int i = 0; i < FRAMES; i++) {
        f->t->time_s[i] = i / 100.0;
        f->pts_s[i] = 7 + i / 100.0;
        f->key[i] = i % 50 == 0;
    }
    return f;
}

static void add(struct fixture *f, double start, double start_low, double end, double end_low,
                double end_high)
{
    f->t->states.lapse[f->t->states.n_lapses++] =
        (struct fl_lapse){.start_s = start,
                          .end_s = end,
                          .start_range_s = {start_low, start},
                          .end_range_s = {end_low, end_high},
                          .has_trip = true,
                          .has_return = true};
}

static void take_glimpses(struct fixture *f)
{
    fl_edge_frames_find(f->t, &(struct fl_edge_source){BANDS, f->verdict, f->pts_s, f->key});
}

static void finish(struct fixture *f)
{
    fl_take_free(&f->t);
    free(f);
}

static void assert_glimpse(const struct fixture *f, size_t i, size_t lapse, long first, long last)
{
    assert_true(i < f->t->n_edge_frames);
    const struct fl_edge_frames *g = &f->t->edge_frames[i];
    assert_int_equal(g->lapse, lapse);
    assert_int_equal(g->first, first);
    assert_int_equal(g->first + g->n - 1, last);
}

/* Base rates unknown: three frames before the edge's own, five after. */
static void a_seen_edge_has_its_frames(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    add(f, 1.005, 1.005, 2.005, 2.005, 2.005);
    take_glimpses(f);
    assert_int_equal(f->t->n_edge_frames, 2);
    assert_glimpse(f, 0, 0, 97, 105);
    assert_glimpse(f, 1, 0, 197, 205);
    finish(f);
}

/* 25 rendered frames a second: one and a half periods before are 6 frames, three after are 12. */
static void slow_rates_need_more_frames(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    f->t->states.base_rate_on_hz = f->t->states.base_rate_off_hz = 25;
    add(f, 1.005, 1.005, 2.005, 2.005, 2.005);
    take_glimpses(f);
    assert_glimpse(f, 0, 0, 94, 112);
    finish(f);
}

/* The start is seen but what precedes it is not; the end lies somewhere in a bracket of 0.5 s. */
static void a_bracket_shows_its_ends(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    add(f, 1.005, 0.505, 2.205, 2.005, 2.505);
    take_glimpses(f);
    assert_int_equal(f->t->n_edge_frames, 4);
    assert_glimpse(f, 0, 0, 48, 52);
    assert_glimpse(f, 1, 0, 97, 105);
    assert_glimpse(f, 2, 0, 198, 202);
    assert_glimpse(f, 3, 0, 248, 252);
    finish(f);
}

static void short_lapses_are_one_piece(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    add(f, 1.005, 1.005, 1.065, 1.065, 1.065);
    take_glimpses(f);
    assert_int_equal(f->t->n_edge_frames, 1);
    assert_glimpse(f, 0, 0, 97, 111);
    finish(f);
}

static void the_take_ends_where_it_ends(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    add(f, 0, 0, 0.505, 0.505, 0.505);
    add(f, 3.505, 3.505, 4, 4, 4);
    take_glimpses(f);
    assert_int_equal(f->t->n_edge_frames, 4);
    assert_glimpse(f, 0, 0, 0, 5);
    assert_true(isnan(f->t->edge_frames[0].pts_s[0])); /* no frame before the first */
    assert_glimpse(f, 3, 1, 396, 399);
    finish(f);
}

static void verdicts_and_times_are_kept(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    add(f, 1.705, 1.705, 2.005, 2.005, 2.005);
    f->verdict[168 * BANDS] = 0.5f; /* the second frame of the first glimpse */
    f->verdict[168 * BANDS + 1] = -0.7f;
    f->verdict[169 * BANDS] = 0.4f;
    take_glimpses(f);
    const struct fl_edge_frames *g = f->t->edge_frames;
    assert_int_equal(g->first, 167);
    assert_int_equal(g->bands[BANDS], 1);
    assert_int_equal(g->bands[BANDS + 1], -1);
    assert_int_equal(g->bands[2 * BANDS], 0);
    assert_near(g->pts_s[0], 7 + 1.66, 1e-12);
    assert_near(g->pts_s[g->n], 7 + 1.75, 1e-12);
    assert_int_equal(g->key_frame, 150); /* 17 before: pictures stored out of order need 16 */
    assert_near(g->key_pts_s, 7 + 1.50, 1e-12);
    finish(f);
}

static void a_near_key_frame_is_passed_over(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    add(f, 1.605, 1.605, 2.005, 2.005, 2.005); /* first frame 157, 7 after a key frame */
    take_glimpses(f);
    assert_int_equal(f->t->edge_frames[0].key_frame, 100);
    finish(f);
}

/* Times that stand still or are missing cannot find a frame again. */
static void bad_times_are_not_relied_on(void **state)
{
    (void)state;
    for (int bad = 0; bad < 2; bad++) {
        struct fixture *f = fixture_new();
        add(f, 1.705, 1.705, 2.005, 2.005, 2.005);
        f->pts_s[300] = bad ? NAN : f->pts_s[299];
        take_glimpses(f);
        assert_true(isnan(f->t->edge_frames[0].key_pts_s));
        finish(f);
    }
}

static void no_lapse_no_glimpse(void **state)
{
    (void)state;
    struct fixture *f = fixture_new();
    take_glimpses(f);
    assert_int_equal(f->t->n_edge_frames, 0);
    finish(f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_seen_edge_has_its_frames),
        cmocka_unit_test(slow_rates_need_more_frames),
        cmocka_unit_test(a_bracket_shows_its_ends),
        cmocka_unit_test(short_lapses_are_one_piece),
        cmocka_unit_test(the_take_ends_where_it_ends),
        cmocka_unit_test(verdicts_and_times_are_kept),
        cmocka_unit_test(a_near_key_frame_is_passed_over),
        cmocka_unit_test(bad_times_are_not_relied_on),
        cmocka_unit_test(no_lapse_no_glimpse),
    };
    return RUN_TESTS(tests);
}
