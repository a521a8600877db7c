/* Pans over photographs are cropped: real edges enter and leave. A camera that moves by +d moves
 * the content by -d. */
#include "signal/scene.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/transform.h"
#include "stills.h"
#include "test.h"

#define NEED(s)                                                                           \
    do {                                                                                  \
        if (!(s).luma) {                                                                  \
            print_message("python3-scipy is not installed: no photograph to pan over\n"); \
            skip();                                                                       \
        }                                                                                 \
    } while (0)

/* Phase correlation of two pictures of the same supported size. */
struct bench {
    struct fl_fft2 *plan;
    int w, h;
    float *a, *b, *sa, *sb, *surface;
};

static struct bench bench_new(int w, int h)
{
    struct bench t = {.plan = fl_fft2_new(w, h), .w = w, .h = h};
    size_t n = (size_t)w * (size_t)h;
    assert_non_null(t.plan);
    t.a = FL_NEW(float, n);
    t.b = FL_NEW(float, n);
    t.surface = FL_NEW(float, n);
    t.sa = FL_NEW(float, 2 * fl_fft2_bins(t.plan));
    t.sb = FL_NEW(float, 2 * fl_fft2_bins(t.plan));
    return t;
}

static void bench_free(struct bench *t)
{
    fl_fft2_free(&t->plan);
    free(t->a);
    free(t->b);
    free(t->sa);
    free(t->sb);
    free(t->surface);
}

/* Pixels less their mean, windowed unless the move is circular. */
static void bench_fill(const struct bench *t, float *to, const uint8_t *luma, bool window)
{
    double mean = 0;
    for (int i = 0; i < t->w * t->h; i++)
        mean += (double)luma[i] / (t->w * t->h);
    for (int i = 0; i < t->w * t->h; i++)
        to[i] = (float)(luma[i] - mean);
    if (window)
        fl_hann2(to, t->w, t->h);
}

static struct fl_peak bench_peak(struct bench *t)
{
    struct fl_peak peak = {0};
    fl_phase_surface(t->plan, t->sa, t->sb, t->surface);
    fl_phase_peaks(t->plan, t->surface, &peak, 1, 2);
    return peak;
}

static struct fl_peak bench_match(struct bench *t, const struct still *a, const struct still *b,
                                  bool window)
{
    bench_fill(t, t->a, a->luma, window);
    bench_fill(t, t->b, b->luma, window);
    fl_fft2_forward(t->plan, t->a, t->sa);
    fl_fft2_forward(t->plan, t->b, t->sb);
    return bench_peak(t);
}

/* The check table "open still pictures": mean grey level of the staircase as numpy reads it, and of
 * the raccoon's channels, 110.67604192 117.72977066 102.08241908, in BT.709 luma. */
static void photographs_are_read_right(void **state)
{
    (void)state;
    struct still a = still_staircase(), r = still_raccoon();
    NEED(a);
    NEED(r);
    double sum_a = 0, sum_r = 0;
    for (int i = 0; i < a.width * a.height; i++)
        sum_a += a.luma[i];
    for (int i = 0; i < r.width * r.height; i++)
        sum_r += r.luma[i];
    assert_near(sum_a / (512 * 512), 87.47987366, 1e-10);
    assert_true(fabs(sum_r / (1024 * 768) -
                     (0.2126 * 110.67604192 + 0.7152 * 117.72977066 + 0.0722 * 102.08241908)) <
                0.01); /* luma is rounded to whole levels */
    still_free(&a);
    still_free(&r);
}

/* Circular moves of the staircase, which an independent library (OpenCV 4.6, phaseCorrelate) finds
 * with an error below 1e-12 and a response of 1. */
static void circular_moves_of_a_photograph(void **state)
{
    (void)state;
    const int moves[][2] = {{5, -3}, {40, 17}, {-100, 60}, {200, 0}};
    struct still s = still_staircase();
    NEED(s);
    struct bench t = bench_new(512, 512);
    for (size_t i = 0; i < sizeof moves / sizeof *moves; i++) {
        struct still moved = still_part(&s, -moves[i][0], -moves[i][1], 512, 512);
        struct fl_peak peak = bench_match(&t, &s, &moved, false);
        assert_true(hypotf(peak.x - (float)moves[i][0], peak.y - (float)moves[i][1]) < 1e-3f);
        assert_true(fabsf(peak.height - 1) < 0.01f);
        still_free(&moved);
    }
    bench_free(&t);
    still_free(&s);
}

/* Moves t->a by any fraction into the spectrum t->sb: the shift theorem. */
static void turn_phases(struct bench *t, double dx, double dy)
{
    for (int y = 0; y < t->h; y++)
        for (int x = 0; x <= t->w / 2; x++) {
            double turn = -2 * FL_PI * (dx * x / t->w + dy * (2 * y > t->h ? y - t->h : y) / t->h);
            const float *s = t->sa + 2 * (y * (t->w / 2 + 1) + x);
            float *d = t->sb + 2 * (y * (t->w / 2 + 1) + x);
            bool edge = 2 * x == t->w || 2 * y == t->h; /* no fraction is defined there */
            d[0] = edge ? 0 : (float)(s[0] * cos(turn) - s[1] * sin(turn));
            d[1] = edge ? 0 : (float)(s[0] * sin(turn) + s[1] * cos(turn));
        }
}

/* The check table "exact sub-pixel circular moves" of the staircase: the ratio of Foroosh, Zerubia
 * & Berthod 2002 errs by up to 0.0011 px there, OpenCV's centroid by up to 0.33 px. The top of the
 * low-passed peak is held to 0.002 px. */
static void fractional_moves_of_a_photograph(void **state)
{
    (void)state;
    const double moves[][2] = {{0.25, 0}, {0.1, 0.4}, {3.3, -7.7}, {12.75, 0.1}, {0.5, 0.5}};
    struct still s = still_staircase();
    NEED(s);
    struct bench t = bench_new(512, 512);
    bench_fill(&t, t.a, s.luma, false);
    fl_fft2_forward(t.plan, t.a, t.sa);
    for (size_t i = 0; i < sizeof moves / sizeof *moves; i++) {
        turn_phases(&t, moves[i][0], moves[i][1]);
        struct fl_peak peak = bench_peak(&t);
        assert_true(fabs(peak.x - moves[i][0]) < 0.002 && fabs(peak.y - moves[i][1]) < 0.002);
    }
    bench_free(&t);
    still_free(&s);
}

/* The check table "cropped pan": a 512×288 window at (250, 200) of the raccoon. OpenCV with a Hann
 * window is within 0.05 px of each; its figure stands beside. */
static const struct pan {
    int dx, dy;
    double seen_x, seen_y;
} pans[] = {{1, 0, -1.0000, -0.0008},      {2, 1, -1.9988, -1.0007},
            {5, -3, -4.9988, 2.9962},      {20, 5, -19.9894, -5.0049},
            {80, 20, -79.9779, -20.0162},  {160, 40, -159.9519, -40.0063},
            {200, 60, -199.9604, -60.0053}};
enum { PANS = sizeof pans / sizeof *pans, PAN_W = 512, PAN_H = 288 };

static struct still window_at(const struct still *s, int dx, int dy)
{
    return still_part(s, 250 + dx, 200 + dy, PAN_W, PAN_H);
}

static void pans_agree_with_another_library(void **state)
{
    (void)state;
    struct still s = still_raccoon();
    NEED(s);
    struct bench t = bench_new(PAN_W, PAN_H);
    for (int i = 0; i < PANS; i++) {
        struct still a = window_at(&s, 0, 0), b = window_at(&s, pans[i].dx, pans[i].dy);
        struct fl_peak peak = bench_match(&t, &a, &b, true);
        assert_true(fabs(peak.x + pans[i].dx) < 0.1 && fabs(peak.y + pans[i].dy) < 0.1);
        assert_true(fabs(peak.x - pans[i].seen_x) < 0.1 && fabs(peak.y - pans[i].seen_y) < 0.1);
        still_free(&a);
        still_free(&b);
    }
    bench_free(&t);
    still_free(&s);
}

/* Integer pans of the raccoon, reduced by 4: quarter pixels. OpenCV with a Hann window errs there
 * by 0.052 px rms, 0.088 at most (check table "cropped pan", below it). */
static void quarter_pixel_pans(void **state)
{
    (void)state;
    const int moves[][2] = {{1, 0},   {2, 1},   {3, -2}, {5, 3},   {7, 6},
                            {10, -5}, {17, 11}, {30, 9}, {42, -23}};
    enum { MOVES = sizeof moves / sizeof *moves, W = 192, H = 120 };
    const struct fl_grid g = {.native_width = 4 * W,
                              .native_height = 4 * H,
                              .factor = 4,
                              .width = W,
                              .height = H,
                              .stride = W,
                              .bands = 1,
                              .tiles = 1};
    struct still s = still_raccoon();
    NEED(s);
    struct bench t = bench_new(W, H);
    uint8_t a[W * H], b[W * H];
    double square = 0;
    for (int i = 0; i < MOVES; i++) {
        fl_picture_reduce(&g, s.luma + 140 * s.width + 120, s.width, a);
        fl_picture_reduce(&g, s.luma + (140 + moves[i][1]) * s.width + 120 + moves[i][0], s.width,
                          b);
        const struct still sa = {W, H, a}, sb = {W, H, b};
        struct fl_peak peak = bench_match(&t, &sa, &sb, true);
        double ex = peak.x + moves[i][0] / 4.0, ey = peak.y + moves[i][1] / 4.0;
        assert_true(fabs(ex) < 0.088 && fabs(ey) < 0.088);
        square += (ex * ex + ey * ey) / (2 * MOVES);
    }
    assert_true(sqrt(square) < 0.052);
    bench_free(&t);
    still_free(&s);
}

/* The scene's own answer to the last of three pictures, which it compares at half size. */
static struct fl_scene_match scene_match(const struct still *a, const struct still *b,
                                         const struct still *c)
{
    const struct still *all[] = {a, b, c};
    struct fl_grid g;
    struct fl_scene_match m;
    fl_grid_init(&g, a->width, a->height);
    assert_int_equal(g.stride, a->width);
    struct fl_scene *s = fl_scene_new(&g);
    assert_non_null(s);
    for (int i = 0; i < 3; i++) {
        fl_scene_push(s, all[i]->luma, &m);
        for (int k = 0; k < FL_SCENE_PEAKS; k++)
            assert_true(i == 2 || m.peak[k].height == 0);
    }
    for (int k = 1; k < FL_SCENE_PEAKS; k++)
        assert_true(m.peak[k].height <= m.peak[k - 1].height);
    fl_scene_free(&s);
    assert_null(s);
    return m;
}

/* Three windows, each (dx, dy) on from the one before. */
static struct fl_scene_match pan_match(const struct still *s, int dx, int dy)
{
    struct still a = window_at(s, -dx, -dy), b = window_at(s, 0, 0), c = window_at(s, dx, dy);
    struct fl_scene_match m = scene_match(&a, &b, &c);
    still_free(&a);
    still_free(&b);
    still_free(&c);
    return m;
}

/* ±0.1 px of the half-size picture is ±0.1 px a frame when they lie two frames apart, ±0.2 px for
 * one. */
static void scene_shift_of_pans(void **state)
{
    (void)state;
    struct still s = still_raccoon();
    NEED(s);
    for (int i = 1; i < PANS; i++) {
        struct fl_scene_match m = pan_match(&s, pans[i].dx, pans[i].dy),
                              back = pan_match(&s, -pans[i].dx, -pans[i].dy);
        float most = m.peak[0].back == 2 ? 0.1f : 0.2f;
        assert_true(fabsf(m.peak[0].x + (float)pans[i].dx) < most);
        assert_true(fabsf(m.peak[0].y + (float)pans[i].dy) < most);
        assert_true(m.peak[0].height > 2 * m.zero.height);
        assert_true(fabsf(back.peak[0].x + m.peak[0].x) < most &&
                    fabsf(back.peak[0].y + m.peak[0].y) < most);
    }
    still_free(&s);
}

/* Two frames of a quarter picture share half of it, and half a picture may be as well one the other
 * way: then the frame before tells. */
static void quarter_pictures_are_told_from_the_frame_before(void **state)
{
    (void)state;
    const int turns[][2] = {{128, 0}, {-128, 0}, {0, 72}, {0, -72}, {128, 72}, {-128, 36}};
    struct still s = still_raccoon();
    NEED(s);
    for (size_t i = 0; i < sizeof turns / sizeof *turns; i++) {
        struct fl_scene_match m = pan_match(&s, turns[i][0], turns[i][1]);
        assert_int_equal(m.peak[0].back, 1);
        assert_true(fabsf(m.peak[0].x + (float)turns[i][0]) < 0.2f &&
                    fabsf(m.peak[0].y + (float)turns[i][1]) < 0.2f);
        assert_true(m.peak[0].height > 0.25f);
    }
    still_free(&s);
}

/* A shift too small to stand clear of zero is the drift of the peak there. */
static void slow_drift_is_the_peak_about_zero(void **state)
{
    (void)state;
    struct still s = still_raccoon();
    NEED(s);
    struct still a = still_part(&s, 100, 100, 512, 288), b = still_part(&s, 101, 100, 512, 288);
    struct fl_scene_match m = scene_match(&a, &a, &b); /* 1 px over two frames */
    assert_true(fabsf(m.zero.x + 0.5f) < 0.05f && fabsf(m.zero.y) < 0.05f && m.zero.height > 0.8f);
    still_free(&a);
    still_free(&b);
    still_free(&s);
}

/* Where a quarter of the picture or less is shared the height is that of chance, as OpenCV's
 * response is (0.015 at 27 %). */
static void low_overlap_gives_low_height(void **state)
{
    (void)state;
    const int apart[][2] = {{384, 100}, {384, 300}, {384, 408}, {20, 400}};
    struct still s = still_raccoon();
    NEED(s);
    struct still a = still_part(&s, 0, 0, 640, 360);
    for (size_t i = 0; i < sizeof apart / sizeof *apart; i++) {
        struct still b = still_part(&s, apart[i][0], apart[i][1], 640, 360);
        struct fl_scene_match m = scene_match(&a, &a, &b);
        assert_true(m.peak[0].height < 0.1f);
        assert_true(fabsf(m.zero.height) < 0.1f);
        still_free(&b);
    }
    still_free(&a);
    still_free(&s);
}

static void one_and_the_same_picture_has_no_shift(void **state)
{
    (void)state;
    struct still s = still_texture(512, 288, 4, 7), dark = still_part(&s, 0, 0, 512, 288);
    struct fl_scene_match m = scene_match(&s, &s, &s);
    assert_true(m.zero.height == 1 && m.zero.x == 0 && m.zero.y == 0 && m.peak[0].height == 0);
    for (int i = 0; i < 512 * 288; i++) /* brightness does not count */
        dark.luma[i] = (uint8_t)(s.luma[i] / 2);
    m = scene_match(&s, &s, &dark);
    assert_true(m.zero.height > 0.9f && m.peak[0].height < 0.05f);
    memset(dark.luma, 128, 512 * 288);
    m = scene_match(&s, &s, &dark);
    assert_true(m.peak[0].height < 0.1f && m.zero.height < 0.1f);
    still_free(&s);
    still_free(&dark);
}

/* An overlay over the middle of a moving scene says "no motion" until it is known for what it is.
 */
static void overlay_is_learned(void **state)
{
    (void)state;
    enum { FRAMES = 90 };
    struct still world = still_texture(1536, 288, 4, 8), overlay = still_texture(512, 288, 3, 9);
    struct fl_grid g;
    fl_grid_init(&g, 512, 288);
    struct fl_scene *s = fl_scene_new(&g);
    struct fl_scene_match first = {0}, last = {0};
    for (int i = 0; i < FRAMES; i++) {
        struct fl_scene_match m;
        struct still now = still_part(&world, 6 * i, 0, 512, 288);
        for (int y = 72; y < 216; y++)
            memcpy(now.luma + y * 512 + 156, overlay.luma + y * 512 + 156, 200);
        fl_scene_push(s, now.luma, &m);
        if (i >= 2) {
            assert_true(fabsf(m.peak[0].x + 6) < 0.15f && fabsf(m.peak[0].y) < 0.15f);
            *(i < 20 ? &first : &last) = m;
        }
        still_free(&now);
    }
    assert_true(first.zero.height > 0.2f);
    assert_true(last.zero.height < 0.25f * first.zero.height);
    assert_true(last.peak[0].height > 1.2f * first.peak[0].height);
    fl_scene_free(&s);
    still_free(&world);
    still_free(&overlay);
}

static void too_small_for_a_shift(void **state)
{
    (void)state;
    const int sizes[][2] = {{16, 16}, {60, 400}, {400, 30}, {2, 2}};
    for (int i = 0; i < 4; i++) {
        struct fl_grid g;
        fl_grid_init(&g, sizes[i][0], sizes[i][1]);
        assert_null(fl_scene_new(&g));
    }
    struct fl_scene *none = NULL;
    fl_scene_free(&none);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(photographs_are_read_right),
        cmocka_unit_test(circular_moves_of_a_photograph),
        cmocka_unit_test(fractional_moves_of_a_photograph),
        cmocka_unit_test(pans_agree_with_another_library),
        cmocka_unit_test(quarter_pixel_pans),
        cmocka_unit_test(scene_shift_of_pans),
        cmocka_unit_test(quarter_pictures_are_told_from_the_frame_before),
        cmocka_unit_test(slow_drift_is_the_peak_about_zero),
        cmocka_unit_test(low_overlap_gives_low_height),
        cmocka_unit_test(one_and_the_same_picture_has_no_shift),
        cmocka_unit_test(overlay_is_learned),
        cmocka_unit_test(too_small_for_a_shift),
    };
    return RUN_TESTS(tests);
}
