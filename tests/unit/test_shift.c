/* Pans over photographs and an open hand-held video, from luma frames to the shift that files give.
 */
#include "signal/shift.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "media/footage.h"
#include "signal/stream.h"
#include "stills.h"
#include "test.h"

enum { W = 480, H = 272, N = 40 };

struct seen {
    struct fl_signals signals;
    struct fl_rows rows;
    float *x, *y, *quality;
};

static struct seen see(struct fl_signal_stream *stream, double frame_s)
{
    struct seen v;
    fl_signals_finish(&stream, &v.signals);
    fl_rows_judge(&v.rows, &v.signals, frame_s);
    v.x = FL_NEW(float, v.signals.n);
    v.y = FL_NEW(float, v.signals.n);
    v.quality = FL_NEW(float, v.signals.n);
    fl_shift_combine(&v.signals, &v.rows, v.x, v.y, v.quality);
    return v;
}

static void forget(struct seen *v)
{
    fl_signals_free(&v->signals);
    fl_rows_finish(&v->rows);
    free(v->x);
    free(v->y);
    free(v->quality);
}

/* Paints over a window of the photograph before it is seen; NULL: nothing. */
typedef void painter(struct still *window, int frame);

static struct seen pan(const struct still *s, int dx, int dy, painter *paint)
{
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    for (int i = 0; i < N; i++) {
        struct still w = still_part(s, 3 * s->width + i * dx, 3 * s->height + i * dy, W, H);
        if (paint)
            paint(&w, i);
        fl_signals_push(stream, w.luma, W, i == 0);
        still_free(&w);
    }
    return see(stream, 1 / 120.0);
}

/* Of the frames that claim a quality of 0.5 and more, how many are a working pixel off; and how
 * many claim it. */
static void count(const struct seen *v, double x, double y, size_t *sure, size_t *wrong)
{
    *sure = *wrong = 0;
    for (size_t i = 4; i + 4 < v->signals.n; i++)
        if (v->quality[i] >= 0.5f) {
            ++*sure;
            *wrong += hypot((double)v->x[i] - x, (double)v->y[i] - y) > v->signals.grid.factor;
        }
}

static const int pans[][2] = {{2, 0},   {-5, 0}, {9, 3},   {0, 7},  {0, -12},
                              {-20, 5}, {40, 0}, {-64, 8}, {120, 0}};

/* Whole windows of one photograph: the truth is where they were cut. Turns up to a quarter picture
 * a frame. */
static void pans_of_a_photograph(void **state)
{
    (void)state;
    struct still s = still_raccoon();
    if (!s.luma) {
        print_message("python3-scipy is not installed: no photograph to pan over\n");
        skip();
    }
    for (size_t k = 0; k < sizeof pans / sizeof *pans; k++) {
        struct seen v = pan(&s, pans[k][0], pans[k][1], NULL);
        size_t sure, wrong;
        count(&v, -pans[k][0], -pans[k][1], &sure, &wrong); /* content moves against the camera */
        assert_int_equal(wrong, 0);
        assert_true(10 * sure >= 8 * (N - 8) || abs(pans[k][0]) >= W / 4);
        forget(&v);
    }
    still_free(&s);
}

/* A quarter of the picture stays. */
static void overlay(struct still *w, int frame)
{
    (void)frame;
    for (int y = H / 2; y < H; y++)
        for (int x = 0; x < W / 2; x++)
            w->luma[y * W + x] = (uint8_t)(x * 7 ^ y * 5);
}

static void a_quarter_of_overlay_does_not_pull(void **state)
{
    (void)state;
    struct still s = still_texture(1024, 768, 3, 5);
    for (int k = 1; k < 6; k++) {
        struct seen v = pan(&s, pans[k][0], pans[k][1], overlay);
        size_t sure, wrong;
        count(&v, -pans[k][0], -pans[k][1], &sure, &wrong);
        assert_true(100 * wrong <= sure);
        assert_true(2 * sure >= N - 8);
        forget(&v);
    }
    still_free(&s);
}

/* About the middle a zoom has no shift: what is claimed must be near none. */
static void a_zoom_is_not_taken_for_a_turn(void **state)
{
    (void)state;
    struct still s = still_texture(1024, 768, 6, 6);
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    uint8_t *luma = FL_NEW(uint8_t, W * H);
    for (int i = 0; i < N; i++) {
        double scale = pow(0.985, i); /* the field of view narrows by 1.5 % a frame */
        for (int y = 0; y < H; y++)
            for (int x = 0; x < W; x++)
                luma[y * W + x] = s.luma[(int)(400 + (y - H / 2) * scale) * s.width +
                                         (int)(500 + (x - W / 2) * scale)];
        fl_signals_push(stream, luma, W, i == 0);
    }
    struct seen v = see(stream, 1 / 120.0);
    size_t wrong = 0;
    for (size_t i = 4; i + 4 < v.signals.n; i++)
        wrong += v.quality[i] >= 0.5f && hypotf(v.x[i], v.y[i]) > 2;
    assert_true(wrong <= 1);
    free(luma);
    still_free(&s);
    forget(&v);
}

/* An open hand-held video, 1280×720 at 20/s (package python3-imageio, BSD-2-Clause), whose
 * background sways about frames 183 to 210 behind a bird. Beside it: OpenCV 4.6's phase correlation
 * of successive frames at 640×360 with a Hann window, times two, where its response is 0.55 and
 * more. Far and near move apart, so the two need not be alike to a pixel. */
static const struct {
    int frame;
    float x, y;
} sway[] = {{184, 2.0f, -9.0f},  {185, 3.3f, -13.8f}, {186, 7.1f, -9.3f}, {187, 9.2f, -1.3f},
            {188, 13.0f, 0.6f},  {189, 11.3f, 4.4f},  {190, 10.7f, 1.9f}, {191, 10.5f, 1.0f},
            {203, 17.9f, -0.3f}, {204, 11.0f, 1.3f},  {206, -1.8f, 3.9f}, {207, -4.3f, 5.8f},
            {208, -8.6f, 9.5f},  {209, -3.8f, 10.4f}, {210, -3.7f, 3.6f}};
enum { SWAY = sizeof sway / sizeof *sway };

static void an_open_hand_held_video(void **state)
{
    (void)state;
    static const char path[] =
        "/usr/lib/python3/dist-packages/imageio/resources/images/cockatoo.mp4";
    struct fl_footage *f;
    struct fl_error err;
    const struct fl_footage_settings set = {.threads = 1};
    if (fl_footage_open(&f, path, &set, &err)) {
        print_message("python3-imageio is not installed: no open video to follow\n");
        skip();
    }
    struct fl_signal_stream *stream = fl_signals_open(1280, 720);
    struct fl_frame frame;
    bool got;
    while (!fl_footage_next(f, &frame, &got, &err) && got)
        fl_signals_push(stream, frame.luma, frame.stride, frame.key);
    fl_footage_close(&f);
    struct seen v = see(stream, 1 / 20.0);
    assert_int_equal(v.signals.n, 280);
    size_t claimed = 0;
    for (int k = 0; k < SWAY; k++) {
        int i = sway[k].frame;
        if (v.quality[i] < 0.5f)
            continue;
        claimed++;
        assert_true(hypotf(v.x[i] - sway[k].x, v.y[i] - sway[k].y) <
                    3 + 0.2f * hypotf(sway[k].x, sway[k].y));
    }
    assert_true(claimed >= SWAY - 2);
    forget(&v);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pans_of_a_photograph),
        cmocka_unit_test(a_quarter_of_overlay_does_not_pull),
        cmocka_unit_test(a_zoom_is_not_taken_for_a_turn),
        cmocka_unit_test(an_open_hand_held_video),
    };
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
