#include "base/error.h"

#include <string.h>

#include "test.h"

static void every_code_has_its_own_text(void **state)
{
    (void)state;
    for (int a = 0; a < FLINCH_ERR_COUNT; a++) {
        assert_non_null(flinch_error_text(a));
        for (int b = 0; b < a; b++)
            assert_string_not_equal(flinch_error_text(a), flinch_error_text(b));
    }
    assert_string_equal(flinch_error_text(FLINCH_ERR_COUNT), "unknown error");
    assert_string_equal(flinch_error_text(-1), "unknown error");
}

static void a_failure_is_one_line(void **state)
{
    (void)state;
    struct fl_error err;
    assert_int_equal(fl_fail(&err, FLINCH_ERR_OPEN, "%s: gone", "a\nb\x1b"), FLINCH_ERR_OPEN);
    assert_string_equal(err.text, "a b : gone");
    assert_int_equal(fl_fail_in(&err, "take-1"), FLINCH_ERR_OPEN);
    assert_string_equal(err.text, "take-1: a b : gone");
    char longer[2000];
    memset(longer, 'x', sizeof longer);
    longer[sizeof longer - 1] = 0;
    fl_fail(&err, FLINCH_ERR_FORMAT, "%s", longer);
    assert_int_equal(strlen(err.text), sizeof err.text - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_code_has_its_own_text),
        cmocka_unit_test(a_failure_is_one_line),
    };
    return RUN_TESTS(tests);
}
