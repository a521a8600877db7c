/* A report descriptor and reports for it: the first byte says how long the descriptor is, the rest
 * is cut into reports of 8 bytes. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "trace/hid_report.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct fl_hid_descriptor d;
    struct fl_hid_state state = {0};
    struct fl_input_report r;
    if (size < 1 || data[0] >= size)
        return 0;
    const size_t n = data[0];
    fl_hid_parse(&d, data + 1, n);
    fl_fuzz_require(d.n >= 0 && d.n <= FL_HID_FIELDS);
    for (size_t at = 1 + n; at < size; at += 8) {
        const size_t part = size - at < 8 ? size - at : 8;
        fl_hid_decode(&d, &state, data + at, part, &r);
        fl_fuzz_require(r.n_buttons <= FL_REPORT_BUTTONS);
    }
    return 0;
}
