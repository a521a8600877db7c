#include "sound.h"

#include <math.h>
#include <stdlib.h>

#include <sndfile.h>

#include "base/mem.h"
#include "rng.h"

static void add_click(float *x, long n, double at_s, double size, struct st_rng *rng)
{
    long first = (long)ceil(at_s * ST_SOUND_RATE);
    double pitch = st_uniform(rng, 2200, 3400);
    for (long i = first < 0 ? 0 : first; i < n && i < first + ST_SOUND_RATE / 40; i++) {
        double t = (double)i / ST_SOUND_RATE - at_s;
        double ring = sin(2 * FL_PI * pitch * t) * exp(-t / 0.0022);
        double thump = st_uniform(rng, -1, 1) * exp(-t / 0.0012);
        x[i] += (float)(size * (0.55 * ring + 0.45 * thump));
    }
}

static void room_noise(float *x, long n, struct st_rng *rng)
{
    double slow = 0;
    for (long i = 0; i < n; i++) {
        double white = st_uniform(rng, -1, 1);
        slow += 0.05 * (white - slow);
        x[i] = (float)(0.006 * white + 0.02 * slow);
    }
}

enum flinch_code st_sound_write(const char *path, const struct st_scenario *s,
                                const struct st_hand *h, uint64_t seed, struct fl_error *err)
{
    long n = (long)(s->seconds * ST_SOUND_RATE);
    float *x = fl_calloc((size_t)n, sizeof *x);
    struct st_rng rng = st_rng(seed, 8);
    room_noise(x, n, &rng);
    for (size_t i = 0; i < h->n_clicks; i++) {
        double late = s->mic_ms * 1e-3, size = st_uniform(&rng, 0.16, 0.3);
        add_click(x, n, h->clicks[i].press_s + late, size, &rng);
        add_click(x, n, h->clicks[i].release_s + late, 0.6 * size, &rng);
    }
    SF_INFO info = {
        .samplerate = ST_SOUND_RATE, .channels = 1, .format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
    SNDFILE *f = sf_open(path, SFM_WRITE, &info);
    sf_count_t written = f ? sf_writef_float(f, x, n) : 0;
    int closed = f ? sf_close(f) : 0;
    free(x);
    if (written != n || closed)
        return fl_fail(err, FLINCH_ERR_WRITE, "%s: cannot write the sound", path);
    return FLINCH_OK;
}
