/* The nearest of several words. Edits are counted by hand: one letter put in, taken out or changed.
 */
#include "test.h"

#include "cli/nearest.h"

static const char *nearest(const char *word)
{
    static const char *const known[] = {"run", "ruin", "check", "checks", NULL};
    struct fl_nearest n = {.word = word};
    for (int i = 0; known[i]; i++)
        fl_nearest_try(&n, known[i]);
    return n.best;
}

static void test_nearest(void **state)
{
    (void)state;
    assert_string_equal(nearest("rn"), "run");      /* one letter short of it, two of ruin */
    assert_string_equal(nearest("ruins"), "ruin");  /* one too many; run is two away */
    assert_string_equal(nearest("chekc"), "check"); /* two changed; checks is three away */
    assert_string_equal(nearest("checkss"), "checks");
}

static void test_none(void **state)
{
    (void)state;
    assert_null(nearest("chickens")); /* three from checks */
    assert_null(nearest("ab"));       /* three from run */
    assert_null(nearest(""));
    assert_null(nearest("a word of forty letters and more than that"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_nearest), cmocka_unit_test(test_none)};
    return RUN_TESTS(tests);
}
