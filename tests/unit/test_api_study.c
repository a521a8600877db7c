/* What a study found, through the public library: an invented session whose cut-off rules are
 * known. "Canyon" watches camera speed at two resolutions; "Vale" never trips. */
#include <string.h>

#include "api.h"
#include "ruled_take.h"
#include "test.h"

enum { TAKES = 4 };
static const double off_above = 150, on_below = 100, after_s = 0.03;

static flinch_session *studied(void)
{
    static const char *const id[] = {"a", "b", "c", "d"};
    flinch_session *s = flinch_session_new("known");
    struct ruled_settings t = {.game = "Canyon",
                               .key = FL_CAMERA_SPEED,
                               .theta_off = off_above,
                               .theta_on = on_below,
                               .d_off_s = after_s,
                               .d_on_s = after_s,
                               .seen_above_deg_s = 8,
                               .flicks = 16};
    for (int i = 0; i < TAKES; i++) {
        t.id = id[i];
        t.seed = 20 + (uint64_t)i;
        t.counts_per_inch = i % 2 ? 1600 : 400;
        t.degrees_per_count = i % 2 ? 0.022 : 0.066;
        fl_session_add(s->session, ruled_take(&t));
    }
    t.game = "Vale";
    t.id = "vale";
    t.theta_off = 1e6;
    fl_session_add(s->session, ruled_take(&t));
    assert_int_equal(flinch_session_study(s), FLINCH_OK);
    return s;
}

static void within(const struct flinch_estimate *e, double truth)
{
    if (!(e->low <= truth && truth <= e->high && e->low <= e->value && e->value <= e->high))
        fail_msg("%g (%g to %g) for %g", e->value, e->low, e->high, truth);
}

/* The game looks once a rendered frame, so that a delay ends up to one later. */
static void after(const struct flinch_estimate *e)
{
    assert_true(e->low <= e->value && e->value <= e->high);
    assert_true(e->high >= after_s && e->low <= after_s + 1.0 / 70);
}

static void the_rule_is_the_one_at_work(const flinch_session *s)
{
    struct flinch_rule r;
    int leads = 0, refused = 0;
    const size_t n = flinch_session_rule_count(s);
    assert_true(n > 1);
    for (size_t i = 0; i < n; i++) {
        assert_true(flinch_session_rule(s, i, &r));
        refused += r.refused != NULL;
        if (r.refused) {
            assert_true(isnan(r.off_above.value) && isnan(r.agreement) && *r.refused);
        } else if (r.lead) {
            leads++;
            assert_string_equal(r.game, "Canyon");
            assert_int_equal(r.quantity, FLINCH_CAMERA_SPEED);
            assert_int_equal(r.takes, TAKES);
            within(&r.off_above, off_above);
            within(&r.on_below, on_below);
            after(&r.off_after_s);
            after(&r.on_after_s);
            assert_true(r.agreement > 0.9 && r.agreement <= 1);
        }
    }
    assert_int_equal(leads, 1);
    assert_true(refused > 0); /* of the game that never trips */
    assert_false(flinch_session_rule(s, n, &r));
    assert_false(flinch_session_rule(s, 0, NULL));
}

/* From theta_off to the trip it takes d_off, and up to a rendered frame of 1/70 s more. */
static void delays_are_those_of_the_rule(const flinch_session *s)
{
    struct flinch_delay d;
    bool seen = false;
    const size_t n = flinch_session_delay_count(s);
    assert_true(n > 0);
    for (size_t i = 0; i < n; i++) {
        assert_true(flinch_session_delay(s, i, &d));
        if (!d.trip || strcmp(d.game, "Canyon") != 0)
            continue;
        seen = true;
        assert_int_equal(d.quantity, FLINCH_CAMERA_SPEED);
        assert_true(d.switched > 5);
        assert_true(fabs(d.threshold / off_above - 1) < 0.2);
        assert_true(d.median_s.value > 0.015 && d.median_s.value < after_s + 2.0 / 70);
    }
    assert_true(seen);
    assert_false(flinch_session_delay(s, n, &d));
}

/* The two resolutions trip at one camera speed; a comparison names its curves. */
static void comparisons_name_their_curves(const flinch_session *s)
{
    struct flinch_comparison c;
    struct flinch_curve a, b;
    bool seen = false;
    const size_t n = flinch_session_comparison_count(s);
    assert_true(n > 0);
    for (size_t i = 0; i < n; i++) {
        assert_true(flinch_session_comparison(s, i, &c));
        assert_true(flinch_session_curve(s, c.a, &a) && flinch_session_curve(s, c.b, &b));
        assert_int_equal(a.quantity, c.quantity);
        assert_int_equal(b.quantity, c.quantity);
        assert_string_equal(a.game, c.game);
        assert_true(a.counts_per_inch != b.counts_per_inch);
        if (c.quantity != FLINCH_CAMERA_SPEED)
            continue;
        seen = true;
        assert_string_equal(c.differ_in, "resolution");
        assert_near(c.ratio.value, a.v50 / b.v50, 0.1 * c.ratio.value);
        assert_true(!(c.ratio.low > 1) && !(c.ratio.high < 1));
        assert_true(c.p_adjusted >= c.p);
    }
    assert_true(seen);
    assert_false(flinch_session_comparison(s, n, &c));
}

static void a_study_is_read(void **state)
{
    (void)state;
    flinch_session *s = studied();
    the_rule_is_the_one_at_work(s);
    delays_are_those_of_the_rule(s);
    comparisons_name_their_curves(s);
    flinch_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_study_is_read)};
    return RUN_TESTS(tests);
}
