/* What every fuzz target has. */
#ifndef FL_FUZZ_H
#define FL_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define fl_fuzz_require(what)                                          \
    do {                                                               \
        if (!(what)) {                                                 \
            fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, #what); \
            abort();                                                   \
        }                                                              \
    } while (0)

#endif
