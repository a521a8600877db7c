#include "signal/view_motion.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/bands.h"
#include "signal/block_shift.h"
#include "signal/stream.h"
#include "stills.h"
#include "test.h"

enum { W = 480, H = 272, FRAMES = 14, TEXELS = 1024 };

/* What the camera does in one frame: degrees right and down, way in depths of the far wall, ln of
 * the zoom. */
struct course {
    double yaw, pitch, right, down, zoom;
};

/* A wall at depth 1, before it, if wanted, posts at depth 0.3: every other stripe of its width. */
struct place {
    struct still wall, posts;
    bool near;
};

static uint8_t texel(const struct still *s, double x, double y)
{
    int i = (int)floor(x), j = (int)floor(y);
    double a = x - i, b = y - j;
    const uint8_t *up = s->luma + (ptrdiff_t)(j & (TEXELS - 1)) * TEXELS,
                  *down = s->luma + (ptrdiff_t)((j + 1) & (TEXELS - 1)) * TEXELS;
    int l = i & (TEXELS - 1), r = (i + 1) & (TEXELS - 1);
    double v = (1 - b) * ((1 - a) * up[l] + a * up[r]) + b * ((1 - a) * down[l] + a * down[r]);
    return (uint8_t)lrint(v);
}

/* Where a ray from the camera meets what stands at a depth. */
static void meet(const struct course *c, const double ray[3], double depth, double *x, double *y)
{
    *x = c->right + depth * ray[0] / ray[2];
    *y = c->down + depth * ray[1] / ray[2];
}

static uint8_t seen_at(const struct place *p, const struct course *c, double x, double y)
{
    const double f = W / 2.0, yaw = c->yaw * FL_PI / 180, pitch = c->pitch * FL_PI / 180;
    double d = y * cos(pitch) + sin(pitch), e = cos(pitch) - y * sin(pitch), wx, wy;
    const double ray[3] = {x * cos(yaw) + e * sin(yaw), d, e * cos(yaw) - x * sin(yaw)};
    meet(c, ray, 0.3, &wx, &wy);
    if (p->near && fabs(remainder(wx, 0.2)) < 0.05)
        return texel(&p->posts, wx * f / 0.3, wy * f / 0.3);
    meet(c, ray, 1, &wx, &wy);
    return texel(&p->wall, wx * f, wy * f);
}

static void draw(uint8_t *luma, const struct place *p, const struct course *c, double focal_px)
{
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++) {
            double scale = 1 / (focal_px * exp(c->zoom));
            luma[y * W + x] =
                seen_at(p, c, (x + 0.5 - W / 2.0) * scale, (y + 0.5 - H / 2.0) * scale);
        }
}

static struct still walls[2]; /* textures, made once */

static struct fl_view_motion film(const struct course *step, double fov_deg, bool near)
{
    const double focal = W / 2.0 / tan(fov_deg / 2 * FL_PI / 180);
    struct place p = {walls[0], walls[1], near};
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    uint8_t *luma = fl_calloc(W, H);
    double time_s[FRAMES];
    for (int i = 0; i < FRAMES; i++) {
        double k = i - FRAMES / 2.0;
        const struct course at = {k * step->yaw, k * step->pitch, k * step->right, k * step->down,
                                  k * step->zoom};
        draw(luma, &p, &at, focal);
        fl_signals_push(stream, luma, W, false);
        time_s[i] = i / 120.0;
    }
    struct fl_signals s;
    struct fl_rows rows;
    struct fl_view_motion all[FRAMES];
    fl_signals_finish(&stream, &s);
    fl_rows_judge(&rows, &s, 1 / 120.0);
    fl_view_motion_find(all, &s, &rows, time_s, 0.05, focal);
    fl_rows_finish(&rows);
    fl_signals_free(&s);
    free(luma);
    return all[FRAMES / 2 + 1];
}

static bool turns(const struct fl_view_motion *m)
{
    struct fl_view_sums s = {0};
    fl_view_sums_add(&s, m, 1);
    return fl_view_turns(&s);
}

/* From definition: the middle of the picture shifts by f tan(turn) against the camera. */
static void a_turn_moves_every_part_along(void **state)
{
    (void)state;
    static const struct course course[] = {
        {.yaw = 0.3}, {.yaw = -1.2}, {.pitch = 0.5}, {.yaw = 0.8, .pitch = -0.4}, {.yaw = 2.5}};
    static const double fov[] = {60, 90, 110, 75, 100};
    for (size_t i = 0; i < sizeof course / sizeof *course; i++) {
        double f = W / 2.0 / tan(fov[i] / 2 * FL_PI / 180);
        struct fl_view_motion m = film(&course[i], fov[i], true);
        double x = -f * tan(course[i].yaw * FL_PI / 180),
               y = -f * tan(course[i].pitch * FL_PI / 180);
        assert_true(m.along > 0.9f && fabsf(m.bend - 1) < 0.1f && turns(&m));
        assert_true(hypot(m.turn_x - x, m.turn_y - y) < 0.1 + 0.03 * hypot(x, y));
        assert_true(fabsf(m.zoom) < 0.002f);
    }
}

static void a_zoom_moves_from_the_middle(void **state)
{
    (void)state;
    static const struct course zooms[] = {{.zoom = 0.02}, {.zoom = -0.02, .yaw = 0.2}};
    for (int i = 0; i < 2; i++) {
        struct fl_view_motion m = film(&zooms[i], 90, true);
        assert_true(m.along > 0.9f);
        assert_near(m.zoom, zooms[i].zoom, 0.002);
    }
}

/* Near things move over three times as far. A wall alone moves as one, but at the edges as well as
 * in the middle. */
static void a_ride_is_no_turn(void **state)
{
    (void)state;
    static const struct {
        struct course course;
        double fov_deg;
        bool near;
    } ride[] = {{{.down = 0.015}, 90, true},
                {{.right = 0.01, .yaw = 0.4}, 90, true},
                {{.right = -0.02}, 90, false},
                {{.down = 0.015}, 60, false},
                {{.right = -0.02, .down = 0.01}, 60, false}};
    for (size_t i = 0; i < sizeof ride / sizeof *ride; i++) {
        struct fl_view_motion m = film(&ride[i].course, ride[i].fov_deg, ride[i].near);
        assert_false(turns(&m));
    }
}

static void rest_goes_along_with_itself(void **state)
{
    (void)state;
    struct fl_view_motion m = film(&(struct course){0}, 90, true);
    assert_true(m.along > 0.99f && m.speed < 0.01f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_turn_moves_every_part_along),
        cmocka_unit_test(a_zoom_moves_from_the_middle),
        cmocka_unit_test(a_ride_is_no_turn),
        cmocka_unit_test(rest_goes_along_with_itself),
    };
    for (int i = 0; i < 2; i++)
        walls[i] = still_texture(TEXELS, TEXELS, 3, 5 + (uint64_t)i);
    int failed = RUN_TESTS(tests);
    for (int i = 0; i < 2; i++)
        still_free(&walls[i]);
    return failed;
}
