/* Blocks of the sound go to the meter as they are decoded: memory grows by the steps alone. */
#include "clock/hear.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "media/sound_stream.h"

enum { BLOCK = 4096 };

enum flinch_code fl_hear(struct fl_click_energy *out, const char *path,
                         const struct fl_hear_settings *how, const struct fl_progress *progress,
                         struct fl_error *err)
{
    struct fl_sound_stream *s;
    memset(out, 0, sizeof *out);
    enum flinch_code code = fl_sound_stream_open(&s, path, how->origin_s, err);
    if (code || !s)
        return code;
    const struct fl_sound_info *info = fl_sound_stream_info(s);
    const double most_s = how->stop_after_s > 0 ? how->stop_after_s : FL_CLICK_LONGEST_S;
    const double longest = fmin(most_s, FL_CLICK_LONGEST_S) * (double)info->rate;
    struct fl_click_meter *meter = fl_click_meter_new(info->rate, info->channels);
    float *frames = FL_NEW(float, (size_t)BLOCK *(size_t)info->channels);
    double heard = 0;
    for (int n; !code && heard < longest && (n = fl_sound_stream_read(s, frames, BLOCK)) > 0;) {
        fl_click_meter_add(meter, frames, (size_t)n);
        heard += n;
        if (fl_progress_stop(progress))
            code = fl_fail(err, FLINCH_ERR_INTERRUPTED, "%s: stopped", path);
    }
    fl_click_meter_finish(&meter, out);
    free(frames);
    fl_sound_stream_close(&s);
    if (code)
        fl_click_energy_free(out);
    return code;
}
