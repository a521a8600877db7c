/* Keys become options only as words of their own; what is expected is written by hand. */
#include "show/screen/option_names.h"

#include <stdlib.h>

#include "test.h"

static const struct fl_option_name names[] = {{"horizontal_fov_deg", "--fov"},
                                              {"capture: local", "--local"},
                                              {"counts_per_inch", "--cpi"},
                                              {NULL, NULL}};

static void assert_named(const char *text, const char *want)
{
    char *got = fl_with_option_names(text, names);
    assert_string_equal(got, want);
    free(got);
}

static void keys_become_options(void **state)
{
    (void)state;
    assert_named("camera speed needs horizontal_fov_deg, or counts_per_inch",
                 "camera speed needs --fov, or --cpi");
    assert_named("give capture: local.", "give --local.");
    assert_named("horizontal_fov_deg", "--fov");
    assert_named("", "");
}

static void other_words_stay(void **state)
{
    (void)state;
    static const char *const same[] = {"peak_counts_per_inch", "counts_per_inches",
                                       "horizontal_fov_deg_s", "capture: locally",
                                       "my-counts_per_inch"};
    for (size_t i = 0; i < sizeof same / sizeof *same; i++)
        assert_named(same[i], same[i]);
    char *text = fl_with_option_names("counts_per_inch", NULL);
    assert_string_equal(text, "counts_per_inch");
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_become_options),
        cmocka_unit_test(other_words_stay),
    };
    return RUN_TESTS(tests);
}
