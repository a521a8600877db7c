/* The key of a stored take: SHA-256 (FIPS 180-4, by libavutil) over a text that names all that the
 * measurement depends on. Whoever calls is no part of it: the build id stands for the code. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <libavutil/mem.h>
#include <libavutil/sha.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "batch.h"
#include "build_id.h"

static void put_file(FILE *out, const char *name, const char *path)
{
    struct stat st;
    if (!path)
        return;
    char *full = realpath(path, NULL);
    fprintf(out, "%s %s", name, full ? full : path);
    if (!stat(path, &st))
        fprintf(out, " %lld %lld.%09ld", (long long)st.st_size, (long long)st.st_mtim.tv_sec,
                st.st_mtim.tv_nsec);
    fputc('\n', out);
    free(full);
}

/* Game, condition, kind of play, date and notes are labels: they change no figure of the take. */
static void put_inputs(FILE *out, const struct fl_take_spec *s,
                       const struct fl_run_settings *settings)
{
    fprintf(out, "flinch %s\n", FLINCH_VERSION);
    fputs("build " FL_BUILD_ID "\n", out); /* other sources may measure otherwise */
    put_file(out, "footage", s->footage);
    put_file(out, "trace", s->trace);
    put_file(out, "sound", s->sound);
    fprintf(out, "id %s\n", s->id);
    fprintf(out, "%.17g %.17g %.17g %.17g %.17g\n", s->sound_offset_s, s->counts_per_inch,
            s->degrees_per_count, s->report_rate_hz, s->horizontal_fov_deg);
    fprintf(out, "%.17g %.17g %.17g %d %d %d\n", s->base_rate_hz, s->refresh_hz, s->cap_hz,
            s->synthesis_disabled, s->capture_local, s->output_variable);
    for (size_t i = 0; i < s->n_use; i++)
        fprintf(out, "use %.17g %.17g\n", s->use[i].start_s, s->use[i].end_s);
    fprintf(out, "first %.17g\n", settings->stop_after_s);
}

static char *sha256(const void *data, size_t size)
{
    enum { BYTES = 32 };
    uint8_t digest[BYTES];
    struct AVSHA *sha = av_sha_alloc();
    if (!sha)
        fl_out_of_memory();
    av_sha_init(sha, 8 * BYTES);
    av_sha_update(sha, data, size);
    av_sha_final(sha, digest);
    av_free(sha);
    char *text = fl_calloc(2 * BYTES + 1, 1);
    for (int i = 0; i < BYTES; i++)
        snprintf(text + 2 * i, 3, "%02x", digest[i]);
    return text;
}

char *fl_measurement_key(const struct fl_take_spec *spec, const struct fl_run_settings *settings)
{
    struct fl_text_stream stream;
    put_inputs(fl_text_begin(&stream), spec, settings);
    char *text = fl_text_end(&stream), *key = sha256(text, stream.size);
    free(text);
    return key;
}
