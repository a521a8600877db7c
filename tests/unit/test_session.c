#include "study/take/session.h"

#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "fake_take.h"
#include "study/curve/setting.h"
#include "test.h"
#include "study/compare/comparison.h"
#include "study/compare/session_study.h"
#include "study/curve/curve.h"
#include "study/compare/result.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/watched.h"

static int studied(void **state)
{
    struct fl_session *s = fake_session();
    fl_session_study(s);
    *state = s;
    return 0;
}

static int freed(void **state)
{
    struct fl_session *s = *state;
    fl_session_free(&s);
    return s != NULL;
}

static size_t curves_of(const struct fl_session *s, bool pooled, enum fl_quantity q)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_curves; i++)
        n += s->curves[i].pooled == pooled && s->curves[i].quantity == q;
    return n;
}

static void a_curve_stands_for_each_cell_and_quantity(void **state)
{
    const struct fl_session *s = *state;
    for (int q = 0; q < FL_STICK_DEFLECTION; q++) {
        assert_int_equal(curves_of(s, false, q), 4);
        assert_int_equal(curves_of(s, true, q), 2);
    }
    assert_int_equal(s->n_curves, 6 * FL_STICK_DEFLECTION); /* no stick */
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        assert_int_equal(isnan(c->counts_per_inch) != 0, c->pooled);
        assert_int_equal(c->takes, c->pooled ? 4 : 2);
        assert_int_equal(c->flicks + c->not_fitted, 30 * c->takes);
        assert_near(c->kernel_ms, 1000.0 / 60, 1e-12); /* frames take 1/70 s */
    }
}

static void no_control_enters_a_curve(void **state)
{
    const struct fl_session *s = *state;
    for (size_t i = 0; i < s->n_curves; i++)
        for (int k = 0; k < s->curves[i].flicks; k++)
            assert_false(s->curves[i].points[k].take->spec.synthesis_disabled);
}

/* A row a setting, none of them pooled; the control has no curve. */
static void the_hair_trigger_comes_first_and_controls_last(void **state)
{
    const struct fl_session *s = *state;
    assert_int_equal(s->n_results, 5);
    for (size_t i = 0; i < 5; i++) {
        const struct fl_result *r = &s->results[i];
        assert_string_equal(r->game, i < 2 ? "Ember Harbour" : "Glass Canyon");
        assert_true(r->control == (i == 4));
        assert_true(r->control ? !r->curve && !r->rank.first
                               : !r->curve->pooled && r->rank.first > 0);
        if (i && !r->control)
            assert_true(s->results[i - 1].curve->v50 <= r->curve->v50);
        assert_true(!(r->shares.turning_low > r->shares.turning + 1e-12) &&
                    !(r->shares.turning_high < r->shares.turning - 1e-12));
    }
}

static void resolutions_are_compared_within_a_game(void **state)
{
    const struct fl_session *s = *state;
    assert_int_equal(s->n_comparisons, 2 * FL_STICK_DEFLECTION);
    for (size_t i = 0; i < s->n_comparisons; i++) {
        const struct fl_comparison *c = &s->comparisons[i];
        assert_string_equal(c->a->game, c->b->game);
        assert_true(c->a->counts_per_inch != c->b->counts_per_inch);
        assert_string_equal(c->held, "degrees_per_cm");
        assert_non_null(c->verdict);
        assert_true(isnan(c->p) || c->p_adjusted >= c->p);
        assert_true(c->off_share_refused != NULL || c->off_share_a > 0);
    }
}

/* CHECKS L-4 defines the quantities; in this session counts, hand and camera differ by constant
 * factors within a cell, and hand and camera over all: nothing can name one of them. */
static void proportional_quantities_cannot_be_told_apart(void **state)
{
    const struct fl_session *s = *state;
    assert_int_equal(s->n_quantities, 2 * FL_QUANTITIES);
    const struct fl_quantity_rank *r = s->quantities;
    assert_near(r[FL_HAND_SPEED].auc, r[FL_CAMERA_SPEED].auc, 1e-12);
    assert_true(r[FL_CAMERA_SPEED].auc > 0.8 && r[FL_CAMERA_SPEED].auc <= 1);
    assert_true(r[FL_COUNT_RATE].deviance_explained < r[FL_CAMERA_SPEED].deviance_explained);
    for (size_t i = 0; i < s->n_quantities; i++)
        if (r[i].quantity != FL_COUNT_RATE)
            assert_string_equal(r[i].verdict, r[i].quantity >= FL_STICK_DEFLECTION ? "not measured"
                                                                                   : "cannot tell");
    assert_true(isnan(r[FL_STICK_RATE].auc));
    assert_int_equal(r[FL_HAND_SPEED].ratios, 1);
    assert_true(r[FL_HAND_SPEED].stands && r[FL_CAMERA_SPEED].stands);
    assert_true(r[FL_COUNT_RATE].lead < 0 && r[FL_COUNT_RATE].lead_se > 0);
}

static struct fl_session *takes_at_one_setting(int n, bool cpi)
{
    struct fl_session *s = fl_session_new("one setting");
    for (int i = 0; i < n; i++)
        fl_session_add(s,
                       fake_take(&(struct fake_settings){.id = "x",
                                                         .game = "g",
                                                         .counts_per_inch = cpi ? 800 : FL_UNKNOWN,
                                                         .degrees_per_count = 0.044,
                                                         .v50_deg_s = 150,
                                                         .slope = 12,
                                                         .flicks = 30,
                                                         .flicks_only = true,
                                                         .seed = 70 + (uint64_t)i}));
    fl_session_study(s);
    return s;
}

/* A cut-off that watches camera speed; all else that was measured goes its own way by up to half an
 * octave. One setting names nothing, but what tells takes left out so badly is unlikely. */
static void one_that_alone_still_fits_is_said_to(void **state)
{
    (void)state;
    struct fl_session *s = takes_at_one_setting(8, true);
    for (size_t i = 0; i < s->n_takes; i++)
        for (size_t k = 0; k < s->takes[i]->n_flicks; k++)
            for (int q = 0; q < FL_STICK_DEFLECTION; q++)
                if (q != FL_CAMERA_SPEED)
                    s->takes[i]->flicks[k].peak[q] *= exp2((double)(k * 37 % 11) / 5 - 1);
    fl_session_study(s);
    const struct fl_quantity_rank *r = s->quantities;
    assert_int_equal(r[FL_CAMERA_SPEED].grade, FL_WATCH_ONLY);
    assert_string_equal(r[FL_CAMERA_SPEED].verdict, "only one that still fits");
    assert_true(r[FL_CAMERA_SPEED].stands && r[FL_CAMERA_SPEED].lead > 0);
    for (int q = 0; q < FL_STICK_DEFLECTION; q++)
        if (q != FL_CAMERA_SPEED) {
            char want[96], lead[FL_FIGURE_SIZE], se[FL_FIGURE_SIZE];
            fl_error_text(lead, se, -r[q].lead, r[q].lead_se);
            snprintf(want, sizeof want, "unlikely by %s ± %s", lead, se);
            assert_int_equal(r[q].grade, FL_WATCH_UNLIKELY);
            assert_string_equal(r[q].verdict, want);
            assert_false(r[q].stands);
        }
    const char *what = r[0].to_record;
    assert_ptr_equal(strstr(what, "Only camera speed still fits, but not yet surely enough."),
                     what);
    assert_non_null(strstr(what, "Count rate and camera speed went together."));
    assert_non_null(strstr(what, "Camera speed and image step went together."));
    assert_null(strstr(what, "Hand speed and count rate went together."));
    fl_session_free(&s);
}

/* Trips follow image step, which strays from camera speed by up to a sixteenth of an octave. With
 * moved the second of two resolutions has it at half, as another field of view would. */
static struct fl_session *image_step_watched(bool moved)
{
    struct fl_session *s = fl_session_new("image step");
    for (int i = 0; i < 8; i++) {
        struct fl_take *t =
            fake_take(&(struct fake_settings){.id = "x",
                                              .game = "g",
                                              .counts_per_inch = i % 2 ? 1600 : 800,
                                              .degrees_per_count = i % 2 ? 0.022 : 0.044,
                                              .v50_deg_s = 150,
                                              .slope = 12,
                                              .flicks = 30,
                                              .flicks_only = true,
                                              .seed = 90 + (uint64_t)i});
        for (size_t k = 0; k < t->n_flicks; k++) {
            struct fl_flick *f = &t->flicks[k];
            double step = f->peak[FL_CAMERA_SPEED] * exp2((double)(k * 37 % 11) / 80 - 5.0 / 80);
            f->peak[FL_IMAGE_STEP] = moved && i % 2 ? step / 2 : step;
            f->tripped = f->peak[FL_IMAGE_STEP] > 150 ? FL_YES : FL_NO;
        }
        fl_session_add(s, t);
    }
    fl_session_study(s);
    return s;
}

/* A lead at settings that move two quantities alike may be the hand's: a result leads with a
 * watched quantity only where the settings could part it from what else stands. */
static void a_lead_counts_where_settings_part_the_quantities(void **state)
{
    (void)state;
    for (int moved = 0; moved < 2; moved++) {
        struct fl_session *s = image_step_watched(moved);
        const struct fl_quantity_rank *r = &s->quantities[FL_IMAGE_STEP];
        assert_true(r->stands && r->lead > r->lead_se);
        assert_int_equal(r->parted, moved);
        assert_true(r->agrees);
        assert_true(s->quantities[FL_CAMERA_SPEED].agrees == !moved);
        assert_true(s->n_results == 2);
        for (size_t i = 0; i < s->n_results; i++)
            assert_int_equal(s->results[i].watched.curve != NULL, moved);
        fl_session_free(&s);
    }
}

/* Trips at 150 deg/s at one setting and at 300 at the other: whatever was measured differs. */
static void what_differs_whatever_is_watched_is_said(void **state)
{
    (void)state;
    static const char says[] = "The trip speeds of every measured quantity differ";
    for (int apart = 0; apart < 2; apart++) {
        struct fl_session *s = image_step_watched(false);
        for (size_t i = 0; i < s->n_takes; i++)
            for (size_t k = 0; k < s->takes[i]->n_flicks; k++) {
                struct fl_flick *f = &s->takes[i]->flicks[k];
                f->tripped =
                    f->peak[FL_CAMERA_SPEED] > (apart && i % 2 ? 300 : 150) ? FL_YES : FL_NO;
            }
        fl_session_study(s);
        const char *what = s->quantities[0].to_record;
        assert_int_equal(what && strstr(what, says), apart);
        fl_session_free(&s);
    }
}

/* Which settings part which quantities: DESIGN, which quantity drives it. */
static void what_would_part_the_quantities_is_said(void **state)
{
    (void)state;
    struct fl_session *s = takes_at_one_setting(3, true);
    const char *what = s->quantities[FL_CAMERA_SPEED].to_record;
    assert_non_null(what);
    for (int q = 0; q < FL_QUANTITIES; q++)
        assert_ptr_equal(s->quantities[q].to_record, what);
    assert_non_null(strstr(what, "two counts per inch (800 and 1600, or 400)"));
    assert_non_null(
        strstr(what, "two in-game sensitivities (0.044 and 0.088 degrees per count, or 0.022)"));
    /* 90 degrees: focal length 1 in half widths; 2·atan(1/1.5) = 67, 2·atan(1.5) = 113 degrees */
    assert_non_null(strstr(what, "two fields of view (horizontally 90 and 67 or 113 degrees)"));
    assert_non_null(strstr(what, "four takes"));
    fl_session_free(&s);
}

/* What is not measured could be what is watched. */
static void a_quantity_that_is_not_known_is_asked_for(void **state)
{
    (void)state;
    struct fl_session *s = takes_at_one_setting(3, false);
    assert_string_equal(s->quantities[FL_HAND_SPEED].verdict, "not measured");
    assert_non_null(
        strstr(s->quantities[0].to_record, "Hand speed is not known: give counts_per_inch"));
    fl_session_free(&s);
}

/* Each setting has its own spread between takes: a take far off in one widens that one alone. */
static void a_spread_is_its_settings_own(void **state)
{
    (void)state;
    double width[2][2];
    for (int apart = 0; apart < 2; apart++) {
        struct fl_session *s = fl_session_new("invented");
        for (int k = 0; k < 6; k++)
            fl_session_add(s,
                           fake_take(&(struct fake_settings){.id = "t",
                                                             .game = "g",
                                                             .counts_per_inch = k < 3 ? 800 : 1600,
                                                             .degrees_per_count = 0.044,
                                                             .v50_deg_s = apart && !k ? 600 : 250,
                                                             .slope = 20,
                                                             .flicks = 40,
                                                             .camera_only = true,
                                                             .flicks_only = true,
                                                             .seed = 5 + (uint64_t)k}));
        fl_session_study(s);
        for (int i = 0; i < 2; i++)
            width[apart][i] = log2(s->curves[i].v50_high / s->curves[i].v50_low);
        fl_session_free(&s);
    }
    assert_true(width[1][0] > 2 * width[0][0]);
    assert_near(width[1][1], width[0][1], 0.1);
}

static void failed_takes_are_kept(void **state)
{
    const struct fl_session *s = *state;
    assert_int_equal(s->n_failed, 1);
    assert_string_equal(s->failed[0].id, "harbour-lost");
}

static void studying_twice_gives_the_same(void **state)
{
    struct fl_session *s = *state;
    double v50 = s->curves[2].v50, low = s->comparisons[3].low;
    size_t curves = s->n_curves, comparisons = s->n_comparisons;
    fl_session_study(s);
    assert_int_equal(s->n_curves, curves);
    assert_int_equal(s->n_comparisons, comparisons);
    assert_true(s->curves[2].v50 == v50 && (s->comparisons[3].low == low || isnan(low)));
}

/* All that a session and its takes hold in arenas. */
static size_t held(const struct fl_session *s)
{
    size_t bytes = fl_arena_bytes(s->names) + fl_arena_bytes(s->arena);
    for (size_t i = 0; i < s->n_takes; i++)
        bytes += fl_arena_bytes(s->takes[i]->arena);
    return bytes;
}

static void another_study_takes_the_place_of_the_first(void **state)
{
    struct fl_session *s = *state;
    size_t after_one = held(s);
    assert_true(fl_arena_bytes(s->arena) > 0);
    fl_session_study(s);
    assert_int_equal(held(s), after_one);
}

static void nothing_measured_gives_nothing(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("empty");
    fl_session_study(s);
    assert_int_equal(s->n_curves + s->n_comparisons + s->n_quantities + s->n_results, 0);
    fl_session_add(s, fl_take_new());
    s->takes[0]->spec.id = s->takes[0]->spec.game = "still";
    fl_session_study(s);
    assert_int_equal(s->n_curves, 0);
    assert_int_equal(s->n_results, 1);
    assert_true(isnan(s->results[0].shares.turning));
    fl_session_free(&s);
}

/* Conditions are compared at one resolution and sensitivity. */
static void conditions_are_compared_within_a_game(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("conditions");
    for (int i = 0; i < 4; i++)
        fl_session_add(s,
                       fake_take(&(struct fake_settings){.id = "x",
                                                         .game = "g",
                                                         .condition = i < 2 ? "default" : "capped",
                                                         .counts_per_inch = 800,
                                                         .degrees_per_count = 0.044,
                                                         .v50_deg_s = i < 2 ? 150 : 500,
                                                         .slope = 6,
                                                         .flicks = 40,
                                                         .camera_only = true,
                                                         .seed = 50 + (uint64_t)i}));
    fl_session_study(s);
    assert_int_equal(s->n_comparisons, 1);
    const struct fl_comparison *c = s->comparisons;
    assert_string_equal(c->held, "degrees_per_count");
    assert_true(c->ratio < 1 && c->p_adjusted < 0.05);
    assert_non_null(strstr(c->verdict, "with 'default' it trips at "));
    assert_null(c->off_share_refused);
    assert_true(c->off_share_a > c->off_share_b);
    fl_session_free(&s);
}

static void the_table_of_quantities_is_whole(void **state)
{
    (void)state;
    for (int a = 0; a < FL_QUANTITIES; a++) {
        assert_true(strlen(fl_quantity_info(a)->name) && strlen(fl_quantity_info(a)->unit));
        assert_true(strlen(fl_quantity_info(a)->label) && strlen(fl_quantity_info(a)->unit_label));
        for (int b = 0; b < a; b++)
            assert_string_not_equal(fl_quantity_info(a)->name, fl_quantity_info(b)->name);
    }
    assert_string_equal(fl_bound_name(FL_BOUND_NO_RELATION), "no_relation");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_curve_stands_for_each_cell_and_quantity),
        cmocka_unit_test(no_control_enters_a_curve),
        cmocka_unit_test(the_hair_trigger_comes_first_and_controls_last),
        cmocka_unit_test(resolutions_are_compared_within_a_game),
        cmocka_unit_test(proportional_quantities_cannot_be_told_apart),
        cmocka_unit_test(one_that_alone_still_fits_is_said_to),
        cmocka_unit_test(a_lead_counts_where_settings_part_the_quantities),
        cmocka_unit_test(what_differs_whatever_is_watched_is_said),
        cmocka_unit_test(what_would_part_the_quantities_is_said),
        cmocka_unit_test(a_quantity_that_is_not_known_is_asked_for),
        cmocka_unit_test(a_spread_is_its_settings_own),
        cmocka_unit_test(failed_takes_are_kept),
        cmocka_unit_test(studying_twice_gives_the_same),
        cmocka_unit_test(another_study_takes_the_place_of_the_first),
        cmocka_unit_test(nothing_measured_gives_nothing),
        cmocka_unit_test(conditions_are_compared_within_a_game),
        cmocka_unit_test(the_table_of_quantities_is_whole),
    };
    return cmocka_run_group_tests(tests, studied, freed) != 0;
}
