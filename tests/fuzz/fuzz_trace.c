/* Whatever bytes a trace reader is given: it ends, within its bounds, and what it keeps is a trace.
 * READER names the reader. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "fuzz.h"
#include "trace/reader.h"

extern const struct fl_trace_reader READER;

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const struct fl_trace_columns none;
    struct fl_trace t = {0};
    struct fl_error err;
    if (size == 0)
        return 0;
    FILE *stream = fmemopen((void *)(uintptr_t)data, size, "rb");
    if (!stream || !READER.recognise((const char *)data, size < 4096 ? size : 4096)) {
        if (stream)
            fclose(stream);
        return 0;
    }
    const enum flinch_code code = READER.read(&t, stream, "fuzz", &none, &err);
    fl_fuzz_require(code != FLINCH_OK || t.n > 0);
    for (size_t i = 1; i < t.n && !code; i++)
        fl_fuzz_require(t.events[i].time_s > t.events[i - 1].time_s);
    fl_trace_finish(&t);
    fclose(stream);
    return 0;
}
