/* The key of a stored take: SHA-256 (FIPS 180-4, by libavutil) over a text that names all that the
 * measurement depends on. Whoever calls is no part of it: the build id stands for the code. */
#include <assert.h>
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

static void put_file(FILE *out, const char *path)
{
    struct stat st;
    if (!path)
        return;
    char *full = realpath(path, NULL);
    fputs(full ? full : path, out);
    if (!stat(path, &st))
        fprintf(out, " %lld %lld.%09ld", (long long)st.st_size, (long long)st.st_mtim.tv_sec,
                st.st_mtim.tv_nsec);
    free(full);
}

static void put_spans(FILE *out, const struct fl_take_spec *s)
{
    for (size_t i = 0; i < s->n_use; i++)
        fprintf(out, " %.17g %.17g", s->use[i].start_s, s->use[i].end_s);
}

static void put_columns(FILE *out, const struct fl_trace_columns *c)
{
    for (int k = 0; c && k < FL_TRACE_COLUMNS; k++)
        if (c->named[k][0])
            fprintf(out, "%s=%s\n", fl_column_names[k], c->named[k]);
}

static void put_key(FILE *out, const struct fl_take_spec *s, const struct fl_take_key *key)
{
    const void *at = (const char *)s + key->offset;
    fprintf(out, "%s ", key->name);
    switch (key->kind) {
    case FL_KEY_ID:
    case FL_KEY_TEXT:
    case FL_KEY_TIME: fputs(*(char *const *)at ? *(char *const *)at : "", out); break;
    case FL_KEY_PATH: put_file(out, *(char *const *)at); break;
    case FL_KEY_NUMBER:
    case FL_KEY_TURN: fprintf(out, "%.17g", *(const double *)at); break;
    case FL_KEY_CHOICE: fprintf(out, "%d", *(const bool *)at); break;
    case FL_KEY_SPANS: put_spans(out, s); break;
    case FL_KEY_COLUMNS: put_columns(out, *(const struct fl_trace_columns *const *)at); break;
    case FL_KEY_NOTES: assert(key->label); break;
    }
    fputc('\n', out);
}

static void put_inputs(FILE *out, const struct fl_take_spec *s,
                       const struct fl_run_settings *settings)
{
    fprintf(out, "flinch %s\n", FLINCH_VERSION);
    fputs("build " FL_BUILD_ID "\n", out); /* other sources may measure otherwise */
    for (int i = 0; i < FL_TAKE_KEYS; i++)
        if (!fl_take_keys[i].label)
            put_key(out, s, &fl_take_keys[i]);
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
