/* Clips of invented takes: movies whose pictures tell their own frame number are written, made into
 * clips, and the clips read back. */
#include "show/clip/clip.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "fake_take.h"
#include "media/encoder.h"
#include "media/footage.h"
#include "show/clip/clip_panel.h"
#include "show/clip/clip_layout.h"
#include "show/clip/clip_window.h"
#include "show/clip/footage_match.h"
#include "test.h"

enum { WIDTH = 384, HEIGHT = 216, LEVELS = 20 };
static const char movie[] = "test-clip-footage.mkv", clip[] = "test-clip.mp4";

static int level_of(long frame)
{
    return 40 + 8 * (int)(frame % LEVELS);
}

static struct fl_take *a_take(const char *game)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = game,
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 100,
                                                          .slope = 3,
                                                          .flicks = 3,
                                                          .seed = 5});
    t->width = WIDTH;
    t->height = HEIGHT;
    t->constant_rate = true;
    t->quantity[FL_IMAGE_CHANGE] = NULL; /* pictures do not move as the take says */
    return t;
}

/* A frame of the take each, at its own time; every picture is one level. */
static void write_movie_as(const struct fl_take *t, const struct fl_encoder_settings *s)
{
    struct fl_encoder *e;
    assert_int_equal(fl_encoder_open(&e, movie, s, NULL), FLINCH_OK);
    for (long k = 0; k < t->frames; k++) {
        struct fl_canvas *c = fl_encoder_canvas(e);
        for (int p = 0; p < 3; p++)
            for (int y = 0; y < s->height / (p ? 2 : 1); y++)
                memset(c->plane[p] + y * c->stride[p], p ? 128 : level_of(k),
                       (size_t)(s->width / (p ? 2 : 1)));
        const double tick_s = (double)s->tick_num / (double)s->tick_den;
        assert_int_equal(fl_encoder_send(e, lrint(t->time_s[k] / tick_s), 1, NULL), FLINCH_OK);
    }
    assert_int_equal(fl_encoder_close(&e, NULL), FLINCH_OK);
}

static void write_movie(const struct fl_take *t, int width, int height)
{
    const struct fl_encoder_settings s = {.width = width,
                                          .height = height,
                                          .tick_num = 1,
                                          .tick_den = lrint(t->capture_rate_hz),
                                          .rate_num = lrint(t->capture_rate_hz),
                                          .rate_den = 1,
                                          .coding = fl_coding_of(1, 1, 1, false, height),
                                          .aspect_num = 1,
                                          .aspect_den = 1,
                                          .crf = 10,
                                          .preset = "ultrafast"};
    write_movie_as(t, &s);
}

static struct fl_clip_settings span(const struct fl_take *t, double from_s, double length_s)
{
    return (struct fl_clip_settings){.a = {t, movie, from_s},
                                     .length_s = length_s,
                                     .crf = FL_UNKNOWN,
                                     .preset = "ultrafast",
                                     .replace = true};
}

static int pixel(const struct fl_frame *f, int x, int y)
{
    return f->luma[y * f->stride + x];
}

/* ---- spans and places ---- */

/* Frames lie at n/120: half-open spans, by hand. */
static void a_span_holds_these_frames(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    long first, n;
    assert_near(t->capture_rate_hz, 120, 1e-9);
    fl_clip_frames(t, 0, 0.1, &first, &n);
    assert_int_equal(first, 0);
    assert_int_equal(n, 12);
    fl_clip_frames(t, 0.1, 0.2, &first, &n);
    assert_int_equal(first, 12);
    assert_int_equal(n, 12);
    fl_clip_frames(t, 0.101, 0.102, &first, &n);
    assert_int_equal(n, 0);
    fl_clip_frames(t, t->duration_s, t->duration_s + 1, &first, &n);
    assert_int_equal(n, 0);
    fl_take_free(&t);
}

static bool apart(const struct fl_clip_box *a, const struct fl_clip_box *b)
{
    return a->x + a->w <= b->x || b->x + b->w <= a->x || a->y + a->h <= b->y || b->y + b->h <= a->y;
}

static void check_layout(const struct fl_clip_settings *s, int side)
{
    struct fl_clip_layout l;
    int w, h;
    fl_clip_frame_size(s, &w, &h);
    fl_clip_lay_out(&l, s, w, h, side);
    assert_int_equal((w | h | l.picture.x | l.picture.y | l.picture.w | l.picture.h) & 1, 0);
    const struct fl_take *t = side ? s->b.take : s->a.take;
    const double shape = (double)l.picture.w / l.picture.h * t->height / t->width;
    assert_near(shape, 1, 0.02);
    assert_true(l.picture.x >= 0 && l.picture.y >= 0 && l.picture.x + l.picture.w <= w &&
                l.picture.y + l.picture.h <= h);
    /* EBU R 95: graphics stay within 90 % of width and height. */
    for (int i = 0; i <= FL_READOUTS; i++) {
        const struct fl_clip_box *b = i < FL_READOUTS ? &l.readout[i] : &l.course;
        assert_true(b->w > 0 && b->h > 0);
        assert_true(b->x >= 0.05 * w - 2 && b->x + b->w <= 0.95 * w + 2);
        assert_true(b->y >= 0.05 * h - 2 && b->y + b->h <= 0.95 * h + 4);
        assert_true(l.see_through || apart(b, &l.picture));
        for (int k = 0; k < i && k < FL_READOUTS; k++)
            assert_true(apart(b, &l.readout[k]));
    }
    if (!s->b.take && s->place != FL_CLIP_INSET)
        assert_int_equal(l.picture.w, w);
    if (!s->b.take && s->place != FL_CLIP_EXTEND && !s->height)
        assert_int_equal(h, t->height & ~1); /* the frame keeps its size */
}

static void nothing_lies_over_anything(void **state)
{
    (void)state;
    static const int sizes[][2] = {{1920, 1080}, {2560, 1440}, {1280, 720}, {3440, 1440},
                                   {640, 480},   {1365, 767},  {1080, 1920}};
    struct fl_take *t = a_take("G"), *u = a_take("G");
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
        for (int place = 0; place < 3; place++)
            for (int height = 0; height <= 540; height += 540) {
                struct fl_clip_settings s = {
                    .a = {t, movie, 0}, .place = (enum fl_clip_place)place, .height = height};
                t->width = sizes[i][0];
                t->height = sizes[i][1];
                check_layout(&s, 0);
                s.b = (struct fl_clip_take){u, movie, 0};
                u->width = sizes[(i + 1) % 5][0];
                u->height = sizes[(i + 1) % 5][1];
                check_layout(&s, 0);
                check_layout(&s, 1);
            }
    fl_take_free(&t);
    fl_take_free(&u);
}

/* ---- the right frame ---- */

/* The mark is a bright line through graph and states: the column whose darkest row is brightest. */
static int mark_column(const struct fl_frame *f, const struct fl_clip_layout *l)
{
    const int top = l->course.y + l->course.h / 4,
              bottom = l->course.y + l->course.h - (int)(50 * l->unit);
    int best = -1, most = 0;
    for (int x = l->course.x; x < l->course.x + l->course.w; x++) {
        int darkest = 255;
        for (int y = top; y < bottom; y++)
            darkest = pixel(f, x, y) < darkest ? pixel(f, x, y) : darkest;
        if (darkest > most) {
            most = darkest;
            best = x;
        }
    }
    return best;
}

static void check_frames(const struct fl_take *t, const struct fl_clip_settings *s,
                         const long *frame, long n)
{
    struct fl_clip_report r;
    struct fl_error err = {0};
    struct fl_footage *f;
    struct fl_frame shown;
    struct fl_clip_layout l;
    bool got;
    const int slow = s->slow > 1 ? s->slow : 1;
    if (fl_clip_write(clip, s, &r, NULL, &err))
        fail_msg("%s", err.text);
    assert_int_equal(r.frames, slow * n);
    fl_clip_lay_out(&l, s, r.width, r.height, 0);
    assert_int_equal(fl_footage_open(&f, clip, NULL, NULL), FLINCH_OK);
    for (long k = 0; k < slow * n; k++) {
        assert_int_equal(fl_footage_next(f, &shown, &got, NULL), FLINCH_OK);
        assert_true(got);
        assert_near(shown.pts_s, (double)k / t->capture_rate_hz, 1e-4);
        const int level =
            pixel(&shown, l.picture.x + l.picture.w / 2, l.picture.y + l.picture.h / 4);
        assert_true(abs(level - level_of(frame[k / slow])) <= 2);
        /* By hand: the course is as wide as its box less the names of lines at the right, 104 of
         * 1080 rows. */
        const double share = (double)(k / slow) / t->capture_rate_hz / s->length_s +
                             (t->time_s[frame[0]] - s->a.from_s) / s->length_s;
        const double want = l.course.x + share * (l.course.w - 104 * l.unit);
        assert_true(fabs(mark_column(&shown, &l) - want) <= 1.5);
    }
    fl_footage_next(f, &shown, &got, NULL);
    assert_false(got);
    fl_footage_close(&f);
    fl_clip_report_finish(&r);
    unlink(clip);
}

static void every_frame_is_the_one_it_says(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    long frame[400];
    for (long k = 0; k < 400; k++)
        frame[k] = 12 + k;
    write_movie(t, WIDTH, HEIGHT);
    struct fl_clip_settings s = span(t, 0.1, 0.4);
    for (int place = 0; place < 3; place++) {
        s.place = (enum fl_clip_place)place;
        check_frames(t, &s, frame, 48);
    }
    s.place = FL_CLIP_INSET;
    s.slow = 3;
    check_frames(t, &s, frame, 48);
    s.slow = 1;
    s.height = 360;
    check_frames(t, &s, frame, 48);
    s = span(t, 4.1, 0.25); /* far enough to be sought */
    for (long k = 0; k < 30; k++)
        frame[k] = 492 + k;
    check_frames(t, &s, frame, 30);
    fl_take_free(&t);
    unlink(movie);
}

/* By hand: at half the footage's rate every second frame, at a third of that in slow motion by
 * three every second again, at twice the rate each frame twice; at 50 of 120 a second frame k shows
 * what began last before 2.4 k. */
static void another_rate_shows_what_was_on_screen(void **state)
{
    (void)state;
    static const struct {
        struct fl_rate rate;
        int slow;
        long n;
        double step;
    } want[] = {
        {{60, 1}, 1, 24, 2}, {{20, 1}, 3, 24, 2}, {{240, 1}, 1, 96, 0.5}, {{50, 1}, 1, 20, 2.4}};
    struct fl_take *t = a_take("G");
    write_movie(t, WIDTH, HEIGHT);
    for (size_t i = 0; i < sizeof want / sizeof *want; i++) {
        struct fl_clip_settings s = span(t, 0.1, 0.4);
        struct fl_clip_report r;
        struct fl_clip_layout l;
        struct fl_footage *f;
        struct fl_frame shown;
        bool got;
        s.rate = want[i].rate;
        s.slow = want[i].slow;
        assert_int_equal(fl_clip_write(clip, &s, &r, NULL, NULL), FLINCH_OK);
        assert_int_equal(r.frames, want[i].n);
        assert_int_equal(r.lost, 0);
        assert_near(r.rate_hz, fl_rate_hz(want[i].rate), 1e-9);
        assert_near(r.duration_s, 0.4 * want[i].slow, 1e-9);
        fl_clip_lay_out(&l, &s, r.width, r.height, 0);
        assert_int_equal(fl_footage_open(&f, clip, NULL, NULL), FLINCH_OK);
        for (long k = 0; k < want[i].n; k++) {
            assert_int_equal(fl_footage_next(f, &shown, &got, NULL), FLINCH_OK);
            assert_true(got);
            assert_near(shown.pts_s, (double)k / fl_rate_hz(want[i].rate), 1e-4);
            const int level =
                pixel(&shown, l.picture.x + l.picture.w / 2, l.picture.y + l.picture.h / 4);
            assert_true(abs(level - level_of(12 + (long)((double)k * want[i].step + 1e-6))) <= 2);
        }
        fl_footage_close(&f);
        fl_clip_report_finish(&r);
    }
    fl_take_free(&t);
    unlink(movie);
    unlink(clip);
}

/* A picture in which no two places nearby are alike, so that any scaling would show. */
static int pattern(int x, int y)
{
    return 40 + 5 * ((x / 4 * 7 + y / 4 * 11) % 36);
}

static void write_pattern(const struct fl_take *t)
{
    const struct fl_encoder_settings s = {.width = WIDTH,
                                          .height = HEIGHT,
                                          .tick_num = 1,
                                          .tick_den = 120,
                                          .rate_num = 120,
                                          .rate_den = 1,
                                          .coding = fl_coding_of(1, 1, 1, false, HEIGHT),
                                          .aspect_num = 1,
                                          .aspect_den = 1,
                                          .crf = 1,
                                          .preset = "ultrafast"};
    struct fl_encoder *e;
    assert_int_equal(fl_encoder_open(&e, movie, &s, NULL), FLINCH_OK);
    for (long k = 0; k < t->frames; k++) {
        struct fl_canvas *c = fl_encoder_canvas(e);
        for (int y = 0; y < HEIGHT; y++)
            for (int x = 0; x < WIDTH; x++)
                c->plane[0][y * c->stride[0] + x] = (unsigned char)pattern(x, y);
        for (int p = 1; p < 3; p++)
            for (int y = 0; y < HEIGHT / 2; y++)
                memset(c->plane[p] + y * c->stride[p], 128, WIDTH / 2);
        assert_int_equal(fl_encoder_send(e, k, 1, NULL), FLINCH_OK);
    }
    assert_int_equal(fl_encoder_close(&e, NULL), FLINCH_OK);
}

/* Each pixel of the window is the pixel of the footage that it stands for; away from the frame
 * about it and its name. */
static void check_window(const struct fl_take *t, const struct fl_clip_settings *s)
{
    struct fl_clip_report r;
    struct fl_clip_layout l;
    struct fl_footage *f;
    struct fl_frame shown;
    bool got;
    assert_int_equal(fl_clip_write(clip, s, &r, NULL, NULL), FLINCH_OK);
    fl_clip_lay_out(&l, s, r.width, r.height, 0);
    const struct fl_clip_window_place p = fl_clip_window_place(t, &l, s->window_at);
    assert_true(p.from.w == p.to.w && p.from.h == p.to.h && p.from.w > 80 && p.from.h > 50);
    assert_true(p.from.x >= 0 && p.from.x + p.from.w <= WIDTH && p.from.y >= 0 &&
                p.from.y + p.from.h <= HEIGHT);
    assert_true(p.to.x > l.picture.x && p.to.x + p.to.w < l.picture.x + l.picture.w);
    assert_true(!l.see_through || p.to.y + p.to.h < l.ground[0].y);
    assert_int_equal(fl_footage_open(&f, clip, NULL, NULL), FLINCH_OK);
    assert_int_equal(fl_footage_next(f, &shown, &got, NULL), FLINCH_OK);
    for (int y = 16; y < p.to.h - 4; y++)
        for (int x = 4; x < p.to.w - 4; x++)
            assert_true(abs(pixel(&shown, p.to.x + x, p.to.y + y) -
                            pattern(p.from.x + x, p.from.y + y)) <= 8);
    fl_footage_close(&f);
    fl_clip_report_finish(&r);
    unlink(clip);
}

static void a_window_shows_the_footages_own_pixels(void **state)
{
    (void)state;
    static const double at[][2] = {{0.35, 0.45}, {0, 0}, {1, 1}, {0.8, 0.2}};
    struct fl_take *t = a_take("G");
    write_pattern(t);
    for (int place = 0; place < 3; place++)
        for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
            struct fl_clip_settings s = span(t, 0.1, 0.05);
            s.place = (enum fl_clip_place)place;
            s.crf = 1;
            s.window = true;
            memcpy(s.window_at, at[i], sizeof s.window_at);
            check_window(t, &s);
        }
    fl_take_free(&t);
    unlink(movie);
}

/* Steps of one level of 10 bits are there again in the clip, which 8 bits would make quarters of.
 */
static void ten_bits_stay_ten(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    struct fl_encoder_settings e = {.width = WIDTH,
                                    .height = HEIGHT,
                                    .tick_num = 1,
                                    .tick_den = 120,
                                    .rate_num = 120,
                                    .rate_den = 1,
                                    .coding = fl_coding_of(1, 1, 1, false, HEIGHT),
                                    .deep = true,
                                    .aspect_num = 1,
                                    .aspect_den = 1,
                                    .crf = 0,
                                    .preset = "ultrafast"};
    struct fl_encoder *out;
    t->pixel_format = "yuv420p10le";
    assert_int_equal(fl_encoder_open(&out, movie, &e, NULL), FLINCH_OK);
    if (fl_encoder_bits(out) < 10) {
        fl_encoder_abandon(&out);
        fl_take_free(&t);
        skip(); /* an FFmpeg whose encoder has no 10 bits */
    }
    for (long k = 0; k < t->frames; k++) {
        struct fl_canvas *c = fl_encoder_canvas(out);
        for (int p = 0; p < 3; p++)
            for (int y = 0; y < HEIGHT / (p ? 2 : 1); y++)
                for (int x = 0; x < WIDTH / (p ? 2 : 1); x++)
                    c->deep[p][y * c->deep_stride[p] + x] = (uint16_t)(p ? 512 : 301 + x / 8);
        assert_int_equal(fl_encoder_send(out, k, 1, NULL), FLINCH_OK);
    }
    assert_int_equal(fl_encoder_close(&out, NULL), FLINCH_OK);
    int *panel = FL_NEW(int, WIDTH *HEIGHT);
    for (int eight = 0; eight < 2; eight++) {
        struct fl_clip_settings s = span(t, 0.1, 0.05);
        struct fl_footage_settings as = {.colour = true};
        struct fl_clip_report r;
        struct fl_error err = {0};
        struct fl_footage *f;
        struct fl_frame shown;
        bool got;
        s.place = FL_CLIP_EXTEND; /* the picture keeps its size */
        s.crf = 0;
        s.eight_bits = eight;
        if (fl_clip_write(clip, &s, &r, NULL, &err))
            fail_msg("%s", err.text);
        assert_int_equal(r.bits, eight ? 8 : 10);
        assert_int_equal(r.reduced, eight);
        assert_int_equal(fl_footage_open(&f, clip, &as, NULL), FLINCH_OK);
        assert_int_equal(fl_footage_info(f)->bit_depth, eight ? 8 : 10);
        assert_int_equal(fl_footage_next(f, &shown, &got, NULL), FLINCH_OK);
        struct fl_canvas c = {.width = r.width, .height = r.height};
        for (int p = 0; p < 3; p++) {
            c.stride[p] = c.deep_stride[p] = 2 * r.width;
            c.plane[p] = FL_NEW(uint8_t, (size_t)(2 * r.width * (r.height + 2)));
            c.deep[p] = FL_NEW(uint16_t, (size_t)(2 * r.width * (r.height + 2)));
        }
        assert_int_equal(fl_footage_paint(f, &c, 0, 0, r.width, r.height, NULL), FLINCH_OK);
        long apart = 0;
        for (int x = 4; x < WIDTH; x += 8)
            apart += labs((long)c.deep[0][40 * c.deep_stride[0] + x] - (301 + x / 8));
        if (eight)
            assert_true(apart > WIDTH / 8 / 2); /* one level apart in the mean, half of them two */
        else
            assert_true(apart < WIDTH / 8 / 8); /* the encoder's own rounding, twice */
        for (int y = HEIGHT; y < r.height; y++) /* the panel is drawn the same in both */
            for (int x = 0; x < WIDTH; x++) {
                const int level = c.deep[0][y * c.deep_stride[0] + x];
                if (eight)
                    assert_true(abs(level - panel[(y - HEIGHT) * WIDTH + x]) <= 8);
                panel[(y - HEIGHT) * WIDTH + x] = level;
            }
        for (int p = 0; p < 3; p++) {
            free(c.plane[p]);
            free(c.deep[p]);
        }
        fl_footage_close(&f);
        fl_clip_report_finish(&r);
        unlink(clip);
    }
    free(panel);
    fl_take_free(&t);
    unlink(movie);
}

/* Two frames that the recorder lost: the one before stays, the mark goes on. */
static void lost_frames_are_filled(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    long frame[48];
    for (long k = 0; k < t->frames; k++)
        t->time_s[k] = (double)(k < 30 ? k : k + 2) / t->capture_rate_hz;
    t->frames -= 2;
    for (long k = 0; k < 48; k++)
        frame[k] = 12 + (k < 18 ? k : k < 20 ? 17 : k - 2);
    write_movie(t, WIDTH, HEIGHT);
    struct fl_clip_settings s = span(t, 0.1, 0.4);
    check_frames(t, &s, frame, 48);
    struct fl_clip_report r;
    assert_int_equal(fl_clip_write(clip, &s, &r, NULL, NULL), FLINCH_OK);
    assert_int_equal(r.lost, 2);
    fl_clip_report_finish(&r);
    fl_take_free(&t);
    unlink(movie);
    unlink(clip);
}

/* A rate that is printed with few digits (120000/1001 as 119.8802) drifts from the frames' own
 * times. */
static void rounded_rates_keep_step(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    long frame[600];
    t->capture_rate_hz = 119.8802;
    for (long k = 0; k < t->frames; k++)
        t->time_s[k] = round(1e6 * (double)k * 1001 / 120000) / 1e6;
    for (long k = 0; k < 600; k++)
        frame[k] = 12 + k;
    struct fl_clip_report r;
    struct fl_encoder_settings s = {.width = WIDTH,
                                    .height = HEIGHT,
                                    .tick_num = 1001,
                                    .tick_den = 120000,
                                    .rate_num = 120000,
                                    .rate_den = 1001,
                                    .coding = fl_coding_of(1, 1, 1, false, HEIGHT),
                                    .aspect_num = 1,
                                    .aspect_den = 1,
                                    .crf = 10,
                                    .preset = "ultrafast"};
    write_movie_as(t, &s);
    struct fl_clip_settings c = span(t, t->time_s[12], 5);
    check_frames(t, &c, frame, 600);
    assert_int_equal(fl_clip_write(clip, &c, &r, NULL, NULL), FLINCH_OK);
    assert_int_equal(r.lost, 0);
    assert_near(r.rate_hz, 120000 / 1001.0, 1e-9);
    fl_clip_report_finish(&r);
    fl_take_free(&t);
    unlink(movie);
    unlink(clip);
}

/* Frames that come when they like keep their own times, three times as long in slow motion. */
static void variable_rates_keep_their_times(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    struct fl_clip_report r;
    struct fl_footage *f;
    struct fl_frame shown;
    bool got;
    t->constant_rate = false;
    for (long k = 0; k < t->frames; k++)
        t->time_s[k] = ((double)k + 0.4 * sin(k * 1.3)) / 120 - 0.4 * sin(0) / 120;
    struct fl_encoder_settings e = {.width = WIDTH,
                                    .height = HEIGHT,
                                    .tick_num = 1,
                                    .tick_den = 1000000,
                                    .coding = fl_coding_of(1, 1, 1, false, HEIGHT),
                                    .aspect_num = 1,
                                    .aspect_den = 1,
                                    .crf = 10,
                                    .preset = "ultrafast"};
    write_movie_as(t, &e);
    struct fl_clip_settings s = span(t, t->time_s[20] - 0.0001, 0.3);
    s.slow = 3;
    assert_int_equal(fl_clip_write(clip, &s, &r, NULL, NULL), FLINCH_OK);
    long first, n;
    fl_clip_frames(t, s.a.from_s, s.a.from_s + s.length_s, &first, &n);
    assert_int_equal(first, 20);
    assert_int_equal(r.frames, 3 * n);
    assert_int_equal(fl_footage_open(&f, clip, NULL, NULL), FLINCH_OK);
    for (long k = 0; k < 3 * n; k++) {
        fl_footage_next(f, &shown, &got, NULL);
        assert_true(got);
        const long i = 20 + k / 3;
        const double lasts_s = t->time_s[i + 1] - t->time_s[i];
        assert_near(shown.pts_s, 3 * (t->time_s[i] - t->time_s[20]) + (double)(k % 3) * lasts_s,
                    2e-5);
        assert_true(abs(pixel(&shown, WIDTH / 3, HEIGHT / 4) - level_of(i)) <= 2);
    }
    fl_footage_close(&f);
    fl_clip_report_finish(&r);
    fl_take_free(&t);
    unlink(movie);
    unlink(clip);
}

/* Off fills the lower half of the patch, on the upper: the level of the filled half is above that
 * of the other. */
static void the_patch_shows_the_state(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    struct fl_clip_report r;
    struct fl_clip_layout l;
    struct fl_footage *f;
    struct fl_frame shown;
    bool got;
    assert_true(t->states.n_lapses > 0);
    const double trip_s = t->states.lapse[0].start_s;
    write_movie(t, WIDTH, HEIGHT);
    struct fl_clip_settings s = span(t, floor(trip_s * 120) / 120 - 0.05, 0.1);
    s.height = 540;
    assert_int_equal(fl_clip_write(clip, &s, &r, NULL, NULL), FLINCH_OK);
    fl_clip_lay_out(&l, &s, r.width, r.height, 0);
    assert_int_equal(fl_footage_open(&f, clip, NULL, NULL), FLINCH_OK);
    int seen[2] = {0, 0};
    for (int k = 0; !fl_footage_next(f, &shown, &got, NULL) && got; k++) {
        const enum fl_state now = fl_states_at(&t->states, s.a.from_s + k / 120.0);
        const int x = l.readout[FL_READOUT_STATE].x + 10,
                  bottom = l.readout[FL_READOUT_STATE].y + l.readout[FL_READOUT_STATE].h;
        const int low = pixel(&shown, x, bottom - 16), high = pixel(&shown, x, bottom - 42);
        if (now == FL_STATE_UNSEEN)
            continue;
        assert_true(now == FL_STATE_OFF ? low > high + 60 : high > low + 60);
        seen[now == FL_STATE_OFF]++;
    }
    assert_true(seen[0] > 2 && seen[1] > 2);
    fl_footage_close(&f);
    fl_clip_report_finish(&r);
    fl_take_free(&t);
    unlink(movie);
    unlink(clip);
}

/* ---- refusals ---- */

static void refused(const struct fl_clip_settings *s, const char *path, enum flinch_code code,
                    const char *word)
{
    struct fl_clip_report r;
    struct fl_error err = {0};
    assert_int_equal(fl_clip_write(path, s, &r, NULL, &err), code);
    if (!strstr(err.text, word))
        fail_msg("no '%s' in: %s", word, err.text);
}

static void the_wrong_footage_is_refused(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    struct fl_clip_settings s = span(t, 0.1, 0.4);
    write_movie(t, WIDTH / 2, HEIGHT / 2);
    refused(&s, clip, FLINCH_ERR_USAGE, "192 x 108, not 384 x 216");
    write_movie(t, WIDTH, HEIGHT);
    t->codec = "hevc";
    refused(&s, clip, FLINCH_ERR_USAGE, "not hevc");
    t->codec = "h264";
    t->duration_s += 2;
    refused(&s, clip, FLINCH_ERR_USAGE, "s long, not");
    t->duration_s -= 2;
    s.a.footage = "no-such-file.mkv";
    refused(&s, clip, FLINCH_ERR_OPEN, "no-such-file.mkv");
    s.a.footage = movie;
    s.a.from_s = 1000;
    refused(&s, clip, FLINCH_ERR_USAGE, "1000.000");
    s.a.from_s = 0.1;
    refused(&s, "no-such-folder/a.mp4", FLINCH_ERR_WRITE, "no-such-folder");
    assert_int_equal(access(clip, F_OK), -1);
    FILE *old = fopen(clip, "w");
    fputs("mine", old);
    fclose(old);
    s.replace = false;
    refused(&s, clip, FLINCH_ERR_USAGE, "--again");
    char text[8] = "";
    old = fopen(clip, "r");
    assert_non_null(fgets(text, sizeof text, old));
    fclose(old);
    assert_string_equal(text, "mine");
    unlink(clip);
    fl_take_free(&t);
    unlink(movie);
}

static bool at_once(void *ctx)
{
    return --*(int *)ctx < 0;
}

static int parts_here(void)
{
    int n = 0;
    DIR *d = opendir(".");
    for (const struct dirent *e; d && (e = readdir(d));)
        n += !strncmp(e->d_name, ".part-", 6);
    closedir(d);
    return n;
}

/* Not even a clip that may replace an older one, nor by another name. */
static void a_clip_spares_what_it_is_made_from(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    struct fl_clip_settings s = span(t, 0.1, 0.4);
    struct fl_clip_report r;
    struct fl_error err;
    struct stat before, after;
    write_movie(t, WIDTH, HEIGHT);
    s.replace = true;
    assert_int_equal(link(movie, "same.mkv"), 0);
    assert_int_equal(symlink(movie, "link.mkv"), 0);
    assert_int_equal(stat(movie, &before), 0);
    const char *const names[] = {movie, "same.mkv", "link.mkv"};
    for (int i = 0; i < 3; i++) {
        assert_int_equal(fl_clip_write(names[i], &s, &r, NULL, &err), FLINCH_ERR_USAGE);
        assert_non_null(strstr(err.text, names[i]));
        assert_int_equal(stat(movie, &after), 0);
        assert_true(before.st_ino == after.st_ino && before.st_size == after.st_size);
    }
    unlink("same.mkv");
    unlink("link.mkv");
    fl_take_free(&t);
    unlink(movie);
}

static void interrupted_clips_leave_nothing(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    struct fl_clip_settings s = span(t, 0.1, 0.4);
    struct fl_clip_report r;
    int left = 10;
    const struct fl_progress stop = {.stop = at_once, .ctx = &left};
    write_movie(t, WIDTH, HEIGHT);
    assert_int_equal(fl_clip_write(clip, &s, &r, &stop, NULL), FLINCH_ERR_INTERRUPTED);
    assert_int_equal(access(clip, F_OK), -1);
    assert_int_equal(parts_here(), 0);
    fl_take_free(&t);
    unlink(movie);
}

/* ---- same footage? ---- */

static void motion_tells_whose_footage_it_is(void **state)
{
    (void)state;
    struct fl_take *t = a_take("G");
    float said[240];
    double r;
    t->quantity[FL_IMAGE_CHANGE] = said;
    t->kernel_ms = 1000 / 70.0;
    for (int k = 0; k < 240; k++)
        said[k] = (float)(k / 40 % 2 ? 0.05 + 0.03 * sin(k * 0.3) : 0.0005);
    for (int kind = 0; kind < 3; kind++) {
        struct fl_footage_match *p = fl_footage_match_new(t);
        for (int k = 20; k < 200; k++) {
            const int as = kind == 1 ? k + 37 : k; /* 1: somebody else's hand */
            fl_footage_match_add(
                p, k,
                kind == 2 ? 0.01 : 150 * (as / 40 % 2 ? 0.05 + 0.03 * sin(as * 0.3) : 0.0005));
        }
        const enum fl_match match = fl_footage_match_tell(p, &r);
        assert_int_equal(match, kind == 0 ? FL_MATCH_SAME : FL_MATCH_OTHER);
        fl_footage_match_free(&p);
    }
    for (int k = 0; k < 240; k++)
        said[k] = 0.0004f;
    struct fl_footage_match *p = fl_footage_match_new(t); /* nothing moves: nothing is told */
    for (int k = 20; k < 200; k++)
        fl_footage_match_add(p, k, 0.02 * (k % 3));
    assert_int_equal(fl_footage_match_tell(p, &r), FL_MATCH_UNTOLD);
    fl_footage_match_free(&p);
    fl_take_free(&t);
}

static void any_name_is_text(void **state)
{
    (void)state;
    char game[400];
    snprintf(game, sizeof game, "<b>&\"'\xff\xe2\x80\xae %0300d", 1);
    struct fl_take *t = a_take(game);
    struct fl_clip_settings s = span(t, 0.1, 0.1);
    struct fl_clip_report r;
    write_movie(t, WIDTH, HEIGHT);
    assert_int_equal(fl_clip_write(clip, &s, &r, NULL, NULL), FLINCH_OK);
    assert_int_equal(r.frames, 12);
    fl_clip_report_finish(&r);
    fl_take_free(&t);
    unlink(movie);
    unlink(clip);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_span_holds_these_frames),
        cmocka_unit_test(nothing_lies_over_anything),
        cmocka_unit_test(every_frame_is_the_one_it_says),
        cmocka_unit_test(another_rate_shows_what_was_on_screen),
        cmocka_unit_test(a_window_shows_the_footages_own_pixels),
        cmocka_unit_test(ten_bits_stay_ten),
        cmocka_unit_test(lost_frames_are_filled),
        cmocka_unit_test(rounded_rates_keep_step),
        cmocka_unit_test(variable_rates_keep_their_times),
        cmocka_unit_test(the_patch_shows_the_state),
        cmocka_unit_test(the_wrong_footage_is_refused),
        cmocka_unit_test(a_clip_spares_what_it_is_made_from),
        cmocka_unit_test(interrupted_clips_leave_nothing),
        cmocka_unit_test(motion_tells_whose_footage_it_is),
        cmocka_unit_test(any_name_is_text),
    };
    return RUN_TESTS(tests);
}
