/* Digits by the interval, by hand after JCGM 100:2008, 7.2.6, and the Particle Data Group's rule
 * for when one digit of its half-width will do. */
#include "base/figure.h"

#include "base/units.h"
#include "show/text/grouped_number.h"
#include "test.h"

static void reads(double x, double low, double high, const char *at, const char *a, const char *b)
{
    struct fl_interval_text t;
    fl_interval_text(&t, x, low, high);
    assert_string_equal(t.at, at);
    assert_string_equal(t.low, a);
    assert_string_equal(t.high, b);
}

static void the_interval_sets_the_digits(void **state)
{
    (void)state;
    reads(57.0, 32.6, 103, "57", "33", "103");                        /* ± 35 */
    reads(648, 371, 1170, "650", "370", "1170");                      /* ± 400 */
    reads(52.6, 46.3, 60.4, "53", "46", "60");                        /* ± 7.1: one digit */
    reads(44.9, 38.8, 51.6, "45", "39", "52");                        /* ± 6.4 */
    reads(44.9, 41.36, 48.44, "44.9", "41.4", "48.4");                /* ± 3.54: two */
    reads(44.9, 41.34, 48.46, "45", "41", "48");                      /* ± 3.56: one */
    reads(409, 323, 507, "410", "320", "510");                        /* ± 92 */
    reads(0.0875134, 0.08617, 0.08886, "0.0875", "0.0862", "0.0889"); /* ± 0.0013: three digits */
    reads(161.4764, 161.2, 161.7, "161", "161", "162"); /* three digits, however narrow */
    reads(7.2, 0.8, 103, "7", "1", "103");
    reads(-6.8, -11.4, -2.3, "-6.8", "-11.4", "-2.3");
}

static void figures_have_two_digits_or_three(void **state)
{
    (void)state;
    const struct {
        double x;
        const char *three, *two;
    } cases[] = {{0.2154, "0.215", "0.22"},
                 {0.0996, "0.100", "0.10"},
                 {1.499, "1.50", "1.5"},
                 {9.96, "9.96", "10"},
                 {42.04, "42.0", "42"},
                 {123.4, "123", "120"},
                 {0, "0", "0"},
                 {-0.462, "-0.462", "-0.46"}};
    char buf[FL_FIGURE_SIZE];
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_string_equal(fl_figure(buf, cases[i].x), cases[i].three);
        assert_string_equal(fl_rough_figure(buf, cases[i].x), cases[i].two);
    }
    assert_string_equal(fl_rough_figure(buf, FL_UNKNOWN), "–");
}

static void open_ends_stay_open(void **state)
{
    (void)state;
    reads(161.4764, FL_UNKNOWN, FL_UNKNOWN, "161", "–", "–");
    reads(57.04, 32.6, FL_UNKNOWN, "57", "33", "–"); /* 24 below */
    reads(FL_UNKNOWN, 32.64, 103, "–", "33", "103");
    reads(0, 0, 0, "0", "0", "0");
}

static void ratio_reads(double x, double low, double high, const char *at, const char *a,
                        const char *b)
{
    struct fl_interval_text t;
    fl_ratio_text(&t, x, low, high);
    assert_string_equal(t.at, at);
    assert_string_equal(t.low, a);
    assert_string_equal(t.high, b);
}

static void an_error_sets_the_digits_alike(void **state)
{
    (void)state;
    char at[FL_FIGURE_SIZE], se[FL_FIGURE_SIZE];
    assert_string_equal(fl_error_text(at, se, 16.31, 0.812), "16.3");
    assert_string_equal(se, "0.8");
    assert_string_equal(fl_error_text(at, se, 15.6, 4.31), "16");
    assert_string_equal(se, "4");
    assert_string_equal(fl_error_text(at, se, 5.061, 0.216), "5.06");
    assert_string_equal(se, "0.22");
    assert_string_equal(fl_error_text(at, se, 5.061, FL_UNKNOWN), "5.06");
    assert_string_equal(se, "–");
}

/* "1.0 to 1.9" would read as if 1 were not excluded. */
static void no_end_of_a_ratio_reads_as_one_that_is_not(void **state)
{
    (void)state;
    ratio_reads(1.09, 0.661, 1.88, "1.1", "0.7", "1.9");
    ratio_reads(1.4, 1.04, 1.9, "1.40", "1.04", "1.90");
    ratio_reads(0.7, 0.49, 0.996, "0.700", "0.490", "0.996");
    ratio_reads(1.4, 1, 1.9, "1.4", "1.0", "1.9");
    ratio_reads(1.3, 1.02, FL_UNKNOWN, "1.30", "1.02", "–");
    ratio_reads(1.3, FL_UNKNOWN, FL_UNKNOWN, "1.30", "–", "–");
    ratio_reads(3.86, 3.42, 4.41, "3.9", "3.4", "4.4");
}

/* On charts: the same digits, in threes (ISO 80000-1, 7.3). */
static void charts_have_the_same_digits(void **state)
{
    (void)state;
    struct fl_grouped_interval g;
    fl_grouped_interval(&g, 57.0, 32.6, 103);
    assert_string_equal(g.at, "57");
    assert_string_equal(g.range, "33 to 103");
    fl_grouped_interval(&g, 41520, 38970, 43790);
    assert_string_equal(g.at, "41\u202f500");
    assert_string_equal(g.range, "39\u202f000 to 43\u202f800");
    fl_grouped_interval(&g, 57.04, 32.6, FL_UNKNOWN);
    assert_string_equal(g.range, "at least 33");
    fl_grouped_interval(&g, 57.04, FL_UNKNOWN, FL_UNKNOWN);
    assert_string_equal(g.at, "57.0");
    assert_string_equal(g.range, "open at both ends");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_interval_sets_the_digits),
        cmocka_unit_test(figures_have_two_digits_or_three),
        cmocka_unit_test(open_ends_stay_open),
        cmocka_unit_test(an_error_sets_the_digits_alike),
        cmocka_unit_test(no_end_of_a_ratio_reads_as_one_that_is_not),
        cmocka_unit_test(charts_have_the_same_digits),
    };
    return RUN_TESTS(tests);
}
