/* Movies written and read back: pictures by the footage reader, properties by their definitions. */
#include "media/encoder.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/units.h"
#include "media/footage.h"
#include "media/sound.h"
#include "test.h"

enum { WIDTH = 64, HEIGHT = 48, FRAMES = 30, RATE = 60, HZ = 48000 };

static struct fl_encoder_settings usual(void)
{
    return (struct fl_encoder_settings){.width = WIDTH,
                                        .height = HEIGHT,
                                        .tick_num = 1,
                                        .tick_den = RATE,
                                        .rate_num = RATE,
                                        .rate_den = 1,
                                        .coding = fl_coding_of(1, 1, 1, false, HEIGHT),
                                        .aspect_num = 1,
                                        .aspect_den = 1,
                                        .crf = FL_UNKNOWN};
}

static int level_of(int frame)
{
    return 30 + 6 * frame;
}

/* Pictures of one level each; a click in the sound where frame 15 begins. */
static enum flinch_code write_movie(const char *path, const struct fl_encoder_settings *s,
                                    struct fl_error *err)
{
    struct fl_encoder *e;
    enum flinch_code code = fl_encoder_open(&e, path, s, err);
    for (int k = 0; k < FRAMES && !code; k++) {
        struct fl_canvas *c = fl_encoder_canvas(e);
        assert_non_null(c);
        for (int p = 0; p < 3; p++)
            for (int y = 0; y < (p ? HEIGHT / 2 : HEIGHT); y++)
                memset(c->plane[p] + y * c->stride[p], p ? 128 : level_of(k) + y % 4,
                       p ? WIDTH / 2 : WIDTH);
        code = fl_encoder_send(e, k, 1, err);
        float pair[2 * HZ / RATE] = {0};
        for (int i = 0; k == 15 && i < 48; i++)
            pair[i] = 0.9f;
        if (!code && s->sound_hz)
            code = fl_encoder_sound(e, pair, HZ / RATE, err);
    }
    if (!code)
        return fl_encoder_close(&e, err);
    fl_encoder_abandon(&e);
    return code;
}

static void pictures_come_back(void **state)
{
    (void)state;
    struct fl_encoder_settings s = usual();
    struct fl_footage *f;
    struct fl_frame frame;
    bool got;
    int n = 0;
    s.comment = "careful";
    assert_int_equal(write_movie("test-encoder.mp4", &s, NULL), FLINCH_OK);
    assert_int_equal(fl_footage_open(&f, "test-encoder.mp4", NULL, NULL), FLINCH_OK);
    const struct fl_footage_info *info = fl_footage_info(f);
    assert_int_equal(info->width, WIDTH);
    assert_int_equal(info->height, HEIGHT);
    assert_near(info->nominal_rate_hz, RATE, 1e-9);
    assert_false(info->coding.full_range);
    assert_int_equal(info->coding.matrix, 1);
    assert_string_equal(info->transfer, "bt709");
    while (!fl_footage_next(f, &frame, &got, NULL) && got) {
        assert_near(frame.luma[HEIGHT / 2 * frame.stride + WIDTH / 2], level_of(n) + HEIGHT / 2 % 4,
                    0.06);
        assert_near(frame.pts_s, (double)n / RATE, 1e-4);
        n++;
    }
    assert_int_equal(n, FRAMES);
    fl_footage_close(&f);
    unlink("test-encoder.mp4");
}

static double first_pts(const char *path)
{
    struct fl_footage *f;
    struct fl_frame frame;
    bool got;
    assert_int_equal(fl_footage_open(&f, path, NULL, NULL), FLINCH_OK);
    assert_int_equal(fl_footage_next(f, &frame, &got, NULL), FLINCH_OK);
    assert_true(got);
    fl_footage_close(&f);
    return frame.pts_s;
}

/* Seconds from from_s to the loudest sample. */
static double click_after(const char *path, double from_s)
{
    struct fl_sound *sound;
    static float pair[2 * HZ / 2];
    int loudest = 0;
    assert_int_equal(fl_sound_open(&sound, path, from_s, NULL), FLINCH_OK);
    assert_non_null(sound);
    assert_int_equal(fl_sound_rate(sound), HZ);
    fl_sound_read(sound, pair, HZ / 2);
    fl_sound_close(&sound);
    for (int k = 0; k < HZ / 2; k++)
        if (fabsf(pair[2 * k]) > fabsf(pair[2 * loudest]))
            loudest = k;
    return (double)loudest / HZ;
}

/* The sound encoder delays; the containers make up for it (ISO/IEC 14496-12: edit lists; Matroska:
 * here by later pictures). The click lies as far behind the first picture as it was put, within the
 * millisecond that Matroska rounds to. */
static void sound_stays_in_step(void **state)
{
    (void)state;
    static const char *const names[] = {"test-sound.mp4", "test-sound.mkv"};
    for (int i = 0; i < 2; i++) {
        struct fl_encoder_settings s = usual();
        s.sound_hz = HZ;
        assert_int_equal(write_movie(names[i], &s, NULL), FLINCH_OK);
        const double start_s = first_pts(names[i]);
        assert_near(click_after(names[i], start_s), 15.0 / RATE, 0.0015);
        assert_near(click_after(names[i], start_s + 0.2), 15.0 / RATE - 0.2,
                    0.0015); /* read from the middle */
        unlink(names[i]);
    }
}

static void silence_where_there_is_no_sound(void **state)
{
    (void)state;
    struct fl_encoder_settings s = usual();
    struct fl_sound *sound;
    float pair[2 * 4800];
    assert_int_equal(write_movie("test-encoder.mkv", &s, NULL), FLINCH_OK);
    assert_int_equal(fl_sound_open(&sound, "test-encoder.mkv", 0, NULL), FLINCH_OK);
    assert_null(sound);
    s.sound_hz = HZ;
    assert_int_equal(write_movie("test-encoder.mkv", &s, NULL), FLINCH_OK);
    assert_int_equal(fl_sound_open(&sound, "test-encoder.mkv", -0.1, NULL), FLINCH_OK);
    fl_sound_read(sound, pair, 4800); /* before the first picture */
    for (int k = 0; k < 2 * 4700; k++)
        assert_true(fabsf(pair[k]) < 1e-3);
    fl_sound_close(&sound);
    assert_int_equal(fl_sound_open(&sound, "test-encoder.mkv", 5, NULL), FLINCH_OK);
    fl_sound_read(sound, pair, 4800); /* behind the end */
    for (int k = 0; k < 2 * 4800; k++)
        assert_true(pair[k] == 0);
    fl_sound_close(&sound);
    unlink("test-encoder.mkv");
}

static void refused(const char *path, const struct fl_encoder_settings *s, enum flinch_code code,
                    const char *word)
{
    struct fl_error err = {0};
    assert_int_equal(write_movie(path, s, &err), code);
    if (!strstr(err.text, word))
        print_error("no '%s' in: %s\n", word, err.text);
    assert_non_null(strstr(err.text, word));
    unlink(path);
}

static void wrong_wishes_are_named(void **state)
{
    (void)state;
    struct fl_encoder_settings s = usual();
    refused("test-encoder.txt", &s, FLINCH_ERR_USAGE, "test-encoder.txt");
    refused("test-encoder", &s, FLINCH_ERR_USAGE, ".mp4");
    refused("no-such-folder/a.mp4", &s, FLINCH_ERR_WRITE, "no-such-folder");
    s.codec = "no-such-codec";
    refused("test-encoder.mp4", &s, FLINCH_ERR_USAGE, "no-such-codec");
    s.codec = "aac";
    refused("test-encoder.mp4", &s, FLINCH_ERR_USAGE, "aac");
    s.codec = "libx264";
    refused("test-encoder.webm", &s, FLINCH_ERR_USAGE, "libx264");
    s.preset = "no-such-preset";
    refused("test-encoder.mp4", &s, FLINCH_ERR_USAGE, "no-such-preset");
    s.preset = NULL;
    s.options = "no-such-key=1";
    refused("test-encoder.mp4", &s, FLINCH_ERR_USAGE, "no-such-key");
    s.options = "without a value";
    refused("test-encoder.mp4", &s, FLINCH_ERR_USAGE, "key=value");
    s.options = NULL;
    s.codec = "mpeg4";
    s.crf = 20;
    refused("test-encoder.mp4", &s, FLINCH_ERR_USAGE, "crf");
}

static long size_at(double crf)
{
    struct fl_encoder_settings s = usual();
    s.crf = crf;
    s.codec = fl_known(crf) ? "libx264" : NULL;
    assert_int_equal(write_movie("test-encoder.mkv", &s, NULL), FLINCH_OK);
    FILE *f = fopen("test-encoder.mkv", "rb");
    assert_non_null(f);
    fseek(f, 0, SEEK_END);
    const long size = ftell(f);
    fclose(f);
    unlink("test-encoder.mkv");
    return size;
}

/* The x264 documentation: 18 is close to transparent, smaller is better. */
static void quality_is_passed_on(void **state)
{
    (void)state;
    assert_true(size_at(45) < size_at(18));
    assert_true(size_at(18) < size_at(0));
    assert_int_equal(size_at(18), size_at(FL_UNKNOWN));
}

/* A half-clear orange over grey, by hand: ITU-R BT.709, 219 and 224 steps. Premultiplied, as cairo
 * draws. */
static void covers_lie_over_pictures(void **state)
{
    (void)state;
    uint8_t luma[8 * 8], chroma[2][4 * 4];
    struct fl_canvas c = {{luma, chroma[0], chroma[1]}, {8, 4, 4}, 8, 8};
    const struct fl_coding coding = fl_coding_of(1, 1, 1, false, 1080);
    uint32_t argb[4 * 4];
    struct fl_cover cover = {0};
    memset(luma, 100, sizeof luma);
    memset(chroma, 128, sizeof chroma);
    for (int k = 0; k < 16; k++)
        argb[k] = k % 4 < 2 ? 0x80804d2e : 0; /* ff9a5c at 50 %; clear */
    fl_cover_set(&cover, &coding, (const uint8_t *)argb, 16, 4, 4);
    fl_cover_lay(&cover, &c, 2, 2);
    const double r = 1, g = 154 / 255.0, b = 92 / 255.0, y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    assert_near(luma[3 * 8 + 3], 50 + (16 + 219 * y) / 2, 0.015);
    assert_near(chroma[0][1 * 4 + 1], 64 + (128 + 224 * (b - y) / 1.8556) / 2, 0.015);
    assert_near(chroma[1][1 * 4 + 1], 64 + (128 + 224 * (r - y) / 1.5748) / 2, 0.015);
    assert_int_equal(luma[3 * 8 + 5], 100); /* clear */
    assert_int_equal(luma[1 * 8 + 3], 100); /* outside */
    assert_int_equal(chroma[0][1 * 4 + 2], 128);
    fl_cover_lay(&cover, &c, -2, 6); /* partly outside: nothing else is touched */
    fl_cover_lay(&cover, &c, 7 & ~1, -2);
    assert_int_equal(luma[7 * 8 + 3], 100);
    fl_cover_finish(&cover);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pictures_come_back),
        cmocka_unit_test(sound_stays_in_step),
        cmocka_unit_test(silence_where_there_is_no_sound),
        cmocka_unit_test(wrong_wishes_are_named),
        cmocka_unit_test(quality_is_passed_on),
        cmocka_unit_test(covers_lie_over_pictures),
    };
    return RUN_TESTS(tests);
}
