#include "show/page/page_columns.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "test.h"

/* RFC 4648, section 10. */
static void base64_is_that_of_the_standard(void **state)
{
    (void)state;
    static const char *const vector[][2] = {{"", ""},
                                            {"f", "Zg=="},
                                            {"fo", "Zm8="},
                                            {"foo", "Zm9v"},
                                            {"foob", "Zm9vYg=="},
                                            {"fooba", "Zm9vYmE="},
                                            {"foobar", "Zm9vYmFy"}};
    for (size_t i = 0; i < sizeof vector / sizeof *vector; i++) {
        char *text = fl_base64(vector[i][0], strlen(vector[i][0]));
        assert_string_equal(text, vector[i][1]);
        free(text);
    }
}

static void column_is(json_t *column, const char *expected)
{
    char *text = json_dumps(column, JSON_COMPACT | JSON_SORT_KEYS);
    assert_string_equal(text, expected);
    free(text);
    json_decref(column);
}

/* By hand: 1.5, unknown, -0.2 in tenths are 15, -128 (the least of a byte), -2: 0F 80 FE. */
static void figures_take_one_decimal_step(void **state)
{
    (void)state;
    const double v[] = {1.5, NAN, -0.2};
    column_is(fl_column_figures(v, 3), "{\"base64\":\"D4D+\",\"bytes\":1,\"decimals\":1}");
    const double wide[] = {140, 76.5, INFINITY}; /* 1400, 765, -32768: 78 05 FD 02 00 80 */
    column_is(fl_column_figures(wide, 3), "{\"base64\":\"eAX9AgCA\",\"bytes\":2,\"decimals\":1}");
    const double least[] = {-128}; /* the least of a byte is taken: 80 FF */
    column_is(fl_column_figures(least, 1), "{\"base64\":\"gP8=\",\"bytes\":2,\"decimals\":0}");
    column_is(fl_column_figures(NULL, 0), "{\"base64\":\"\",\"bytes\":1,\"decimals\":0}");
}

/* By hand: 1234567 and 1e-07 have no common step in four bytes. (1234567 + 2^24)·128 + 64 =
 * 2305508288 = 896B43C0h; (1 + 2^24)·128 - 7 + 64 = 2147483833 = 800000B9h. */
static void figures_far_apart_carry_their_exponents(void **state)
{
    (void)state;
    const double v[] = {1234567, 1e-7, NAN};
    column_is(fl_column_figures(v, 3),
              "{\"base64\":\"wENribkAAIAAAAAA\",\"bytes\":4,\"packed\":true}");
}

/* Microseconds: 1000000, then steps of 0, 8333 (8D 20), 8334 (8E 20). */
static void times_are_steps_of_microseconds(void **state)
{
    (void)state;
    const double v[] = {1, 1.008333, 1.016667};
    column_is(fl_column_times(v, 3), "{\"base64\":\"AACNII4g\",\"bytes\":2,\"first\":1000000}");
    const double gap[] = {0, 2147.5};
    column_is(json_pack("[o]", fl_column_times(gap, 2)), "[null]");
    const double lost[] = {0, NAN};
    column_is(json_pack("[o]", fl_column_times(lost, 2)), "[null]");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(base64_is_that_of_the_standard),
        cmocka_unit_test(figures_take_one_decimal_step),
        cmocka_unit_test(figures_far_apart_carry_their_exponents),
        cmocka_unit_test(times_are_steps_of_microseconds),
    };
    return RUN_TESTS(tests);
}
