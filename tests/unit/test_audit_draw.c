/* Which moments an audit asks about. Borders of strata are counted by hand on a grid of frames;
 * that draws are uniform is tested by Pearson's chi-square over many seeds. */
#include "test.h"

#include "audit_take.h"
#include "maths/interval.h"
#include "study/compare/audit_draw.h"

static struct fl_session *one(struct fl_take *t)
{
    struct fl_session *s = fl_session_new("S");
    fl_session_add(s, t);
    return s;
}

static void assert_run(const struct fl_audit_run *r, size_t stretch, enum fl_stratum stratum,
                       long first, long n)
{
    assert_int_equal(r->stretch, stretch);
    assert_int_equal(r->stratum, stratum);
    assert_int_equal(r->first, first);
    assert_int_equal(r->n, n);
}

/* On to 1.0 s, off to 2.0 s: the edge lies before frame 100. A period of 3.85 frames leaves out 4
 * frames on either side; four periods, 15.38 frames, are reached by the 15th. */
static void strata_by_hand(void **state)
{
    (void)state;
    static const struct audit_stretch v[] = {
        {1, FL_STATE_ON}, {2, FL_STATE_OFF}, {3, FL_STATE_UNSEEN}, {4, FL_STATE_OFF}};
    struct fl_session *s = one(audit_take("a", v, 4, 100));
    struct fl_audit_ground g;
    fl_audit_ground_find(&g, s);
    assert_int_equal(g.n, 5);
    assert_run(&g.run[0], 0, FL_STRATUM_ON, 1, 83);    /* the first frame of all is left out */
    assert_run(&g.run[1], 0, FL_STRATUM_EDGE, 84, 12); /* up to 15.38 before: 84 ends 15 before */
    assert_run(&g.run[2], 1, FL_STRATUM_EDGE, 104, 12);
    assert_run(&g.run[3], 1, FL_STRATUM_OFF, 116, 84);
    assert_run(&g.run[4], 3, FL_STRATUM_OFF, 300, 100); /* off on both sides of unseen: no edge */
    assert_near(g.seen_s, 3, 1e-12);
    assert_near(g.stratum_s[FL_STRATUM_ON], 0.83, 1e-12);
    assert_near(g.stratum_s[FL_STRATUM_OFF], 1.84, 1e-12);
    assert_near(g.stratum_s[FL_STRATUM_EDGE], 0.24, 1e-12);
    assert_null(fl_audit_ground_at(&g, 0, 100));
    assert_ptr_equal(fl_audit_ground_at(&g, 0, 116), &g.run[3]);
    assert_null(fl_audit_ground_at(&g, 1, 116));
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

/* Off, unseen, on: somewhere between the two is an edge, so its borders are near one. */
static void unseen_between_is_an_edge(void **state)
{
    (void)state;
    static const struct audit_stretch v[] = {
        {1, FL_STATE_OFF}, {2, FL_STATE_UNSEEN}, {3, FL_STATE_ON}};
    struct fl_session *s = one(audit_take("a", v, 3, FL_UNKNOWN));
    struct fl_audit_ground g;
    fl_audit_ground_find(&g, s);
    assert_int_equal(g.n, 4);
    assert_run(&g.run[1], 0, FL_STRATUM_EDGE, 84, 12);
    assert_run(&g.run[2], 2, FL_STRATUM_EDGE, 204, 12);
    assert_run(&g.run[3], 2, FL_STRATUM_ON, 216, 84); /* no camera speed: all of on */
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

static void slow_on_and_controls_are_left_out(void **state)
{
    (void)state;
    static const struct audit_stretch v[] = {{1, FL_STATE_ON}, {2, FL_STATE_OFF}};
    struct fl_session *s = one(audit_take("a", v, 2, 25));
    struct fl_take *control = audit_take("b", v, 2, 100);
    control->spec.synthesis_disabled = true;
    fl_session_add(s, control);
    struct fl_audit_ground g;
    fl_audit_ground_find(&g, s);
    assert_near(g.seen_s, 2, 1e-12);
    assert_near(g.stratum_s[FL_STRATUM_ON], 0, 0); /* 25 deg/s is not yet turning */
    for (size_t i = 0; i < g.n; i++)
        assert_int_equal(g.run[i].take, 0);
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

/* ---- the draw ---- */

/* On and off in turn, each longer than the one before. */
static struct fl_session *many(size_t stretches)
{
    struct audit_stretch v[64];
    double end_s = 0;
    for (size_t i = 0; i < stretches; i++) {
        end_s += 1 + 0.1 * (double)i;
        v[i] = (struct audit_stretch){end_s, i % 2 ? FL_STATE_OFF : FL_STATE_ON};
    }
    return one(audit_take("a", v, stretches, 100));
}

static void a_third_each_and_a_stretch_once(void **state)
{
    (void)state;
    struct fl_session *s = many(40);
    struct fl_audit_ground g;
    struct fl_audit_moment m[30];
    fl_audit_ground_find(&g, s);
    for (uint64_t seed = 0; seed < 200; seed++) {
        size_t of[FL_STRATA] = {0};
        bool used[40] = {false};
        assert_int_equal(fl_audit_draw(m, &g, 29, seed), 29);
        for (size_t i = 0; i < 29; i++) {
            const struct fl_audit_run *r = fl_audit_ground_at(&g, m[i].take, m[i].frame);
            assert_non_null(r);
            assert_int_equal(r->stratum, m[i].stratum);
            assert_false(used[r->stretch]);
            used[r->stretch] = true;
            of[m[i].stratum]++;
        }
        assert_true(of[0] == 10 && of[1] == 10 && of[2] == 9);
    }
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

static void too_few_stretches_leave_it_short(void **state)
{
    (void)state;
    struct fl_session *s = many(4);
    struct fl_audit_ground g;
    struct fl_audit_moment m[60];
    fl_audit_ground_find(&g, s);
    assert_int_equal(fl_audit_draw(m, &g, 60, 3), 4);
    assert_int_equal(fl_audit_draw(m, &g, 0, 3), 0);
    fl_audit_ground_finish(&g);
    fl_audit_ground_find(&g, (&(struct fl_session){0}));
    assert_int_equal(fl_audit_draw(m, &g, 60, 3), 0);
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

static void the_seed_decides(void **state)
{
    (void)state;
    struct fl_session *s = many(30);
    struct fl_audit_ground g;
    struct fl_audit_moment a[12], b[12], c[12];
    int same = 0;
    fl_audit_ground_find(&g, s);
    fl_audit_draw(a, &g, 12, 5);
    fl_audit_draw(b, &g, 12, 5);
    fl_audit_draw(c, &g, 12, 6);
    for (int i = 0; i < 12; i++) {
        assert_int_equal(a[i].frame, b[i].frame);
        same += a[i].frame == c[i].frame;
    }
    assert_true(same < 3);
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

/* P(χ² > x) of counts against equal expectation. */
static double chi2_p(const double *count, int cells, double draws)
{
    double x = 0, want = draws / cells;
    for (int i = 0; i < cells; i++)
        x += (count[i] - want) * (count[i] - want) / want;
    return fl_chi2_upper(x, cells - 1);
}

/* Rank of a frame among all of its stratum. */
static size_t rank(const struct fl_audit_ground *g, const struct fl_audit_moment *m)
{
    size_t before = 0;
    for (size_t i = 0; i < g->n; i++) {
        const struct fl_audit_run *r = &g->run[i];
        if (r->stratum != m->stratum)
            continue;
        if (m->frame < r->first + r->n)
            return before + (size_t)(m->frame - r->first);
        before += (size_t)r->n;
    }
    return before;
}

static void every_frame_has_the_same_chance(void **state)
{
    (void)state;
    enum { CELLS = 20, SEEDS = 6000 };
    struct fl_session *s = many(12);
    struct fl_audit_ground g;
    struct fl_audit_moment m;
    double count[CELLS] = {0}, frames = 0;
    fl_audit_ground_find(&g, s);
    for (size_t i = 0; i < g.n; i++)
        frames += g.run[i].stratum == FL_STRATUM_ON ? (double)g.run[i].n : 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        assert_int_equal(fl_audit_draw(&m, &g, 1, seed), 1);
        assert_int_equal(m.stratum, FL_STRATUM_ON);
        count[(int)(CELLS * (double)rank(&g, &m) / frames)]++;
    }
    /* Cells hold whole frames of 714: their expectations differ by under 3 %. */
    assert_true(chi2_p(count, CELLS, SEEDS) > 0.001);
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

static void the_order_says_nothing(void **state)
{
    (void)state;
    enum { N = 6, SEEDS = 6000 };
    struct fl_session *s = many(30);
    struct fl_audit_ground g;
    struct fl_audit_moment m[N];
    double at[N] = {0};
    fl_audit_ground_find(&g, s);
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        fl_audit_draw(m, &g, N, seed);
        for (int i = 0; i < N; i++)
            at[i] += m[i].stratum == FL_STRATUM_OFF;
    }
    assert_true(chi2_p(at, N, 2.0 * SEEDS) > 0.001);
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strata_by_hand),
        cmocka_unit_test(unseen_between_is_an_edge),
        cmocka_unit_test(slow_on_and_controls_are_left_out),
        cmocka_unit_test(a_third_each_and_a_stretch_once),
        cmocka_unit_test(too_few_stretches_leave_it_short),
        cmocka_unit_test(the_seed_decides),
        cmocka_unit_test(every_frame_has_the_same_chance),
        cmocka_unit_test(the_order_says_nothing),
    };
    return RUN_TESTS(tests);
}
