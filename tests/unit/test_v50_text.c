/* What leads: a setting's trip speed from two takes on, of one take that take's own. The numbers
 * are made up; what stands where is DESIGN's. */
#include "show/text/game_groups.h"
#include "study/curve/curve.h"
#include "test.h"

static struct fl_take_v50 own = {.flicks = 30, .trips = 14, .v50 = 123, .low = 97.2, .high = 153};

static struct fl_curve curve_of(int takes)
{
    return (struct fl_curve){.quantity = FL_CAMERA_SPEED,
                             .bound = FL_BOUND_NONE,
                             .takes = takes,
                             .by_take = &own,
                             .v50 = 125,
                             .v50_low = 69,
                             .v50_high = 219,
                             .another_low = 55.6,
                             .another_high = 271};
}

static void says(const struct fl_curve *c, const char *want)
{
    char text[FL_V50_SIZE];
    assert_string_equal(fl_v50_text(text, c), want);
}

static void several_takes_lead_with_the_setting(void **state)
{
    (void)state;
    struct fl_curve c = curve_of(2);
    says(&c, "V50 130 deg/s (95 % interval 70 to 220)");
    c.v50_high = FL_UNKNOWN;
    says(&c, "V50 130 deg/s (95 % interval: at least 70)");
    assert_null(fl_curve_one_take(&c));
}

static void one_take_leads_with_itself(void **state)
{
    (void)state;
    struct fl_curve c = curve_of(1);
    says(&c, "V50 123 deg/s in the one take recorded (95 % interval 97 to 153; another take may "
             "differ: 60 to 270)");
    c.another_high = FL_UNKNOWN;
    says(&c, "V50 123 deg/s in the one take recorded (95 % interval 97 to 153; another take may "
             "differ: at least 55.6)");
    c.bound = FL_BOUND_ABOVE;
    c.bound_at = 300;
    assert_null(fl_curve_one_take(&c));
    says(&c, "V50 above 300 deg/s");
}

static void settings_that_contradict_have_no_one_v50(void **state)
{
    (void)state;
    struct fl_curve c = curve_of(4);
    c.bound = FL_BOUND_NOT_POOLED;
    says(&c, "no one V50 for all settings");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(several_takes_lead_with_the_setting),
        cmocka_unit_test(one_take_leads_with_itself),
        cmocka_unit_test(settings_that_contradict_have_no_one_v50),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
