/* Whatever bytes stand for footage: it is refused in one line, or pictures come of the size that
 * was told, and their times become a timeline or are refused. */
#include <math.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "base/mem.h"
#include "fuzz.h"
#include "media/footage.h"
#include "media/timeline.h"

enum { MOST = 120 };

static void fit(const double *pts_s, size_t n, const struct fl_footage_info *info)
{
    struct fl_timeline t;
    struct fl_error err = {0};
    if (!fl_timeline_fit(&t, pts_s, n, info->nominal_rate_hz, info->tick_s, &err))
        fl_timeline_finish(&t);
    else
        fl_fuzz_require(*err.text);
}

static void watch(struct fl_footage *f)
{
    const struct fl_footage_info *info = fl_footage_info(f);
    double pts_s[MOST];
    struct fl_frame frame;
    struct fl_error err = {0};
    bool got = true;
    size_t n = 0;
    uint64_t sum = 0;
    fl_fuzz_require(info->width > 0 && info->height > 0);
    while (n < MOST && !fl_footage_next(f, &frame, &got, &err) && got) {
        for (int y = 0; y < info->height; y++) /* so that a sanitizer sees every pixel */
            for (int x = 0; x < info->width; x++)
                sum += frame.luma[y * frame.stride + x];
        pts_s[n++] = frame.pts_s;
    }
    fl_fuzz_require(sum <= 255u * (uint64_t)MOST * (uint64_t)info->width * (uint64_t)info->height);
    if (n)
        fit(pts_s, n, info);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct fl_footage *f;
    struct fl_error err = {0};
    char path[64];
    const int file = memfd_create("footage", 0);
    fl_fuzz_require(file >= 0 && write(file, data, size) == (ssize_t)size);
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    if (fl_footage_open(&f, path, &(struct fl_footage_settings){.threads = 1}, &err)) {
        fl_fuzz_require(!f && *err.text && !strchr(err.text, '\n'));
    } else {
        watch(f);
        fl_footage_close(&f);
    }
    close(file);
    return 0;
}
