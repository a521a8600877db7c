#include "base/parallel.h"

#include <stdatomic.h>
#include <string.h>

#include "test.h"

enum { PARTS = 1000 };

struct tally {
    atomic_int done[PARTS + 1];
    atomic_int all;
};

static void count(void *ctx, size_t i)
{
    struct tally *t = ctx;
    atomic_fetch_add(&t->done[i], 1);
    atomic_fetch_add(&t->all, 1);
}

/* Each part once, whatever the number of threads: none, more than parts, more than are ever
 * started. */
static void each_part_is_done_once(void **state)
{
    (void)state;
    static const int threads[] = {-3, 0, 1, 2, 7, 5000};
    static const size_t parts[] = {0, 1, 2, 3, PARTS};
    for (size_t k = 0; k < sizeof threads / sizeof *threads; k++)
        for (size_t m = 0; m < sizeof parts / sizeof *parts; m++) {
            static struct tally t;
            memset(&t, 0, sizeof t);
            fl_parallel(parts[m], threads[k], count, &t);
            assert_int_equal(t.all, (int)parts[m]);
            for (size_t i = 0; i <= PARTS; i++)
                assert_int_equal(t.done[i], i < parts[m]);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_part_is_done_once)};
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
