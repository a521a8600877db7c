/* What every unit test includes: cmocka with its own prerequisites, and a runner. */
#ifndef FL_TEST_H
#define FL_TEST_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/* Relative to the larger of |want| and floor. */
#define assert_near(got, want, tol) assert_near_at((got), (want), (tol), #got, __FILE__, __LINE__)

static inline void assert_near_at(double got, double want, double tol, const char *what,
                                  const char *file, int line)
{
    double scale = fabs(want) > 1 ? fabs(want) : 1;
    if (!(fabs(got - want) <= tol * scale)) {
        print_error("%s = %.15g, want %.15g (tolerance %g)\n", what, got, want, tol);
        _fail(file, line);
    }
}

/* cmocka returns the number of failures; 256 of them must not read as success. */
#define RUN_TESTS(tests) (cmocka_run_group_tests((tests), NULL, NULL) != 0)

#endif
