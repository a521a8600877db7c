/* Sound read back: files that libsndfile and FFmpeg's tools wrote, any rate and channels; times of
 * a footage's own sound; damage. */
#include "media/sound_stream.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <sndfile.h>

#include "base/mem.h"
#include "test.h"

/* A tone on each channel, of its own loudness; a pulse at 1.25 s. */
static float wanted(int rate, int channel, long i)
{
    const float tone = 0.1F * (float)(channel + 1) * (float)sin(2 * M_PI * 200 * (double)i / rate);
    return i == (long)(1.25 * rate) ? 0.9F : tone;
}

static void write_sound(const char *path, int format, int rate, int channels, double seconds)
{
    SF_INFO info = {.samplerate = rate, .channels = channels, .format = format};
    SNDFILE *f = sf_open(path, SFM_WRITE, &info);
    assert_non_null(f);
    const long n = (long)(seconds * rate);
    float *frames = FL_NEW(float, (size_t)n *(size_t)channels);
    for (long i = 0; i < n; i++)
        for (int c = 0; c < channels; c++)
            frames[i * channels + c] = wanted(rate, c, i);
    assert_int_equal(sf_writef_float(f, frames, n), n);
    sf_close(f);
    free(frames);
}

/* All of it; the caller frees. */
static float *read_all(const char *path, double origin_s, struct fl_sound_info *info, long *n)
{
    struct fl_sound_stream *s;
    struct fl_error err;
    float *x = NULL, block[1000 * FL_SOUND_CHANNELS];
    size_t used = 0, cap = 0;
    if (fl_sound_stream_open(&s, path, origin_s, &err))
        fail_msg("%s", err.text);
    assert_non_null(s);
    *info = *fl_sound_stream_info(s);
    for (int got; (got = fl_sound_stream_read(s, block, 1000)) > 0;)
        for (int i = 0; i < got * info->channels; i++)
            FL_PUSH(x, used, cap, block[i]);
    fl_sound_stream_close(&s);
    assert_null(s);
    *n = (long)used / info->channels;
    return x;
}

static void every_rate_and_channel_count(void **state)
{
    (void)state;
    static const struct {
        int format, rate, channels;
        const char *name;
    } files[] = {{SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 1, "test-sound.wav"},
                 {SF_FORMAT_WAV | SF_FORMAT_FLOAT, 96000, 2, "test-sound.wav"},
                 {SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 48000, 2, "test-sound.flac"},
                 {SF_FORMAT_W64 | SF_FORMAT_PCM_32, 22050, 8, "test-sound.dat"}};
    for (size_t k = 0; k < sizeof files / sizeof *files; k++) {
        struct fl_sound_info info;
        long n;
        write_sound(files[k].name, files[k].format, files[k].rate, files[k].channels, 2);
        float *x = read_all(files[k].name, 0, &info, &n);
        assert_string_equal(info.reader, "libsndfile");
        assert_true(info.rate == files[k].rate && info.channels == files[k].channels);
        assert_int_equal(n, 2 * files[k].rate);
        for (long i = 0; i < n * info.channels; i++)
            assert_true(fabsf(x[i] - wanted(info.rate, (int)(i % info.channels),
                                            i / info.channels)) < 1e-4F);
        free(x);
        unlink(files[k].name);
    }
}

static long loudest(const float *x, long n, int channels)
{
    long at = 0;
    for (long i = 0; i < n; i++)
        if (fabsf(x[i * channels]) > fabsf(x[at * channels]))
            at = i;
    return at;
}

/* A footage's own sound is put at footage time: the container's clock begins at 3.2 s with the
 * picture, the sound 0.5 s later. */
static void a_footages_own_sound_keeps_its_time(void **state)
{
    (void)state;
    struct fl_sound_info info;
    long n;
    write_sound("test-sound.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 48000, 2, 2);
    if (system("ffmpeg -nostdin -v error -y -f lavfi -i testsrc2=size=64x64:rate=30:duration=3 "
               "-itsoffset 0.5 -i test-sound.wav -c:v libx264 -c:a flac -output_ts_offset 3.2 "
               "test-sound.mkv 2>/dev/null")) {
        print_message("no ffmpeg here: left out\n");
        unlink("test-sound.wav");
        return;
    }
    float *x = read_all("test-sound.mkv", 3.2, &info, &n);
    assert_string_equal(info.reader, "FFmpeg");
    assert_true(info.rate == 48000 && info.channels == 2);
    const double at = (double)loudest(x, n, 2) / 48000;
    assert_near(at, 1.75, 0.0011 / 1.75); /* the container's times are whole milliseconds */
    free(x);
    x = read_all("test-sound.mkv", 4.2, &info, &n); /* a picture that begins a second later */
    assert_near((double)loudest(x, n, 2) / 48000, 0.75, 0.0011);
    free(x);
    unlink("test-sound.wav");
    unlink("test-sound.mkv");
}

static void what_is_no_sound(void **state)
{
    (void)state;
    struct fl_sound_stream *s;
    struct fl_error err;
    assert_int_equal(fl_sound_stream_open(&s, "no-such.wav", 0, &err), FLINCH_ERR_OPEN);
    assert_null(s);
    FILE *f = fopen("test-sound.wav", "wb");
    fputs("not sound at all", f);
    fclose(f);
    assert_int_equal(fl_sound_stream_open(&s, "test-sound.wav", 0, &err), FLINCH_ERR_OPEN);
    write_sound("test-sound.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 4000, 1, 1);
    assert_int_equal(fl_sound_stream_open(&s, "test-sound.wav", 0, &err), FLINCH_ERR_UNSUPPORTED);
    unlink("test-sound.wav");
    if (!system("ffmpeg -nostdin -v error -y -f lavfi -i testsrc2=size=64x64:rate=30:duration=1 "
                "-c:v libx264 test-silent.mkv 2>/dev/null")) {
        assert_int_equal(fl_sound_stream_open(&s, "test-silent.mkv", 0, &err), FLINCH_OK);
        assert_null(s);
        unlink("test-silent.mkv");
    }
}

/* Cut anywhere, it ends early and in order. */
static void a_cut_file_ends_early(void **state)
{
    (void)state;
    static char bytes[1 << 20];
    write_sound("test-sound.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 48000, 1, 2);
    FILE *f = fopen("test-sound.flac", "rb");
    const size_t size = fread(bytes, 1, sizeof bytes, f);
    fclose(f);
    for (size_t keep = size - 1; keep > size / 3; keep -= size / 9) {
        struct fl_sound_info info;
        long n;
        f = fopen("test-sound.flac", "wb");
        fwrite(bytes, 1, keep, f);
        fclose(f);
        float *x = read_all("test-sound.flac", 0, &info, &n);
        assert_true(n <= 2 * 48000);
        for (long i = 0; i < n && i < 48000 / 2; i++)
            assert_true(fabsf(x[i] - wanted(48000, 0, i)) < 1e-3F);
        free(x);
    }
    unlink("test-sound.flac");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_rate_and_channel_count),
        cmocka_unit_test(a_footages_own_sound_keeps_its_time),
        cmocka_unit_test(what_is_no_sound),
        cmocka_unit_test(a_cut_file_ends_early),
    };
    return RUN_TESTS(tests);
}
