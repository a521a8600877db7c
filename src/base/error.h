/* Errors: one code, one line of text.
 *
 * Every function that can fail returns `enum flinch_code` (0 = done) and, when
 * it fails, has written one line to *err: what went wrong, where, what to do.
 * Thread safety: an `fl_error` belongs to one thread at a time.
 */
#ifndef FL_BASE_ERROR_H
#define FL_BASE_ERROR_H

#include <stdbool.h>
#include <stddef.h>

#include "flinch/error.h"

struct fl_error {
    enum flinch_code code;
    char text[512];
};

/* Writes a formatted line to *err (err may be NULL) and returns code. */
enum flinch_code fl_fail(struct fl_error *err, enum flinch_code code, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

/* Puts "prefix: " before the text that *err already holds; returns its code. */
enum flinch_code fl_fail_in(struct fl_error *err, const char *prefix);

#endif
