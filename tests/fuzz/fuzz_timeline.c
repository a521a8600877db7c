/* Whatever times frames have: they are refused, or become times that rise. The first bytes say what
 * the container declares; the rest are steps of time, in ticks, in two bytes or, where these are
 * the largest, in the eight that follow. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "media/scan.h"
#include "media/timeline.h"

enum { HEAD = 4, MOST = 2048 };

static size_t read_times(double *pts_s, double tick_s, const uint8_t *data, size_t size)
{
    double at = 0;
    size_t n = 0;
    while (size >= 2 && n < MOST) {
        int16_t step;
        int64_t wide;
        memcpy(&step, data, 2);
        data += 2;
        size -= 2;
        if (step == INT16_MAX && size >= 8) {
            memcpy(&wide, data, 8);
            data += 8;
            size -= 8;
            at += (double)wide;
        } else {
            at += step;
        }
        pts_s[n++] = step == INT16_MIN ? NAN : at * tick_s;
    }
    return n;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const double ticks[] = {1e-3, 1e-9, 1.0 / 90000, 1.0 / 15360, 1, 1e9, 1e-6, 1.0 / 48000};
    static double pts_s[MOST];
    struct fl_timeline t;
    struct fl_error err = {0};
    if (size < HEAD)
        return 0;
    const double tick_s = ticks[data[0] % 8];
    const double nominal_hz = data[1] ? ldexp(data[2] + 1, data[3] % 24 - 6) : 0;
    const size_t n = read_times(pts_s, tick_s, data + HEAD, size - HEAD);
    if (fl_timeline_fit(&t, pts_s, n, nominal_hz, tick_s, &err)) {
        fl_fuzz_require(*err.text && !t.time_s && !t.slot);
        return 0;
    }
    fl_fuzz_require(t.n == n && t.mended <= n && t.time_s[0] == 0 && t.slot[0] == 0);
    fl_fuzz_require(t.time_s[n - 1] <= 2 * FL_TIMELINE_LONGEST_S);
    fl_fuzz_require(n == 1 || (t.rate_hz > 0 && isfinite(t.rate_hz)));
    for (size_t i = 1; i < n; i++)
        fl_fuzz_require(t.time_s[i] > t.time_s[i - 1] && t.slot[i] > t.slot[i - 1]);
    struct fl_scan scan;
    fl_scan_init(&scan, &t, FL_USUAL_BLANK);
    fl_scan_finish(&scan);
    fl_timeline_finish(&t);
    return 0;
}
