/* Every function that can fail hands a code up and one line beside it. The line is made where
 * the fault is seen, since only there all of it is known: what, where, what to do. */
#include "base/error.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char *const texts[FLINCH_ERR_COUNT] = {
    [FLINCH_OK] = "done",
    [FLINCH_ERR_USAGE] = "wrong use",
    [FLINCH_ERR_SESSION] = "session file invalid",
    [FLINCH_ERR_OPEN] = "cannot open file",
    [FLINCH_ERR_FORMAT] = "file is not what it should be",
    [FLINCH_ERR_EMPTY] = "nothing to measure",
    [FLINCH_ERR_WRITE] = "cannot write file",
    [FLINCH_ERR_UNSUPPORTED] = "not supported",
    [FLINCH_ERR_NUMERIC] = "no number can be given",
    [FLINCH_ERR_INTERRUPTED] = "interrupted",
};

const char *flinch_error_text(enum flinch_code code)
{
    return (unsigned)code < FLINCH_ERR_COUNT ? texts[code] : "unknown error";
}

enum flinch_code fl_fail(struct fl_error *err, enum flinch_code code, const char *fmt, ...)
{
    assert(code > FLINCH_OK && code < FLINCH_ERR_COUNT);
    if (err) {
        va_list args;
        va_start(args, fmt);
        err->code = code;
        vsnprintf(err->text, sizeof err->text, fmt, args);
        va_end(args);
        for (char *c = err->text; *c; c++) /* one line, whatever a file name holds */
            if ((unsigned char)*c < 0x20 || *c == 0x7f)
                *c = ' ';
    }
    return code;
}

enum flinch_code fl_fail_in(struct fl_error *err, const char *prefix)
{
    assert(err && err->code != FLINCH_OK);
    char inner[sizeof err->text];
    memcpy(inner, err->text, sizeof inner);
    return fl_fail(err, err->code, "%s: %s", prefix, inner);
}
