/* Whatever bytes stand for a sound: it ends, within its bounds, and every step of it is a ratio. */
#include <math.h>
#include <sys/mman.h>
#include <unistd.h>

#include "clock/click_peaks.h"
#include "clock/hear.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct fl_click_energy energy = {0};
    struct fl_error err;
    char path[64];
    const int file = memfd_create("sound", 0);
    fl_fuzz_require(file >= 0 && write(file, data, size) == (ssize_t)size);
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    const enum flinch_code code =
        fl_hear(&energy, path, &(struct fl_hear_settings){.stop_after_s = 5}, NULL, &err);
    fl_fuzz_require(code == FLINCH_OK || energy.n == 0);
    fl_fuzz_require(energy.n <= (size_t)FL_CLICK_LONGEST_S * FL_CLICK_HZ);
    size_t n;
    struct fl_click_peak *peak = fl_click_peaks(&energy, &n);
    for (size_t i = 0; i < n; i++)
        fl_fuzz_require(peak[i].weight > 0 && isfinite(peak[i].weight) &&
                        (!i || peak[i].time_s > peak[i - 1].time_s));
    free(peak);
    fl_click_energy_free(&energy);
    close(file);
    return 0;
}
