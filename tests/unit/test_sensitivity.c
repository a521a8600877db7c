#include "study/take/sensitivity.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/kinds.h"
#include "signal/middle.h"
#include "signal/signals.h"
#include "study/take/camera_tilt.h"
#include "study/take/picture_scale.h"
#include "study/take/sensitivity_measure.h"
#include "test.h"

#define RADIANS (FL_PI / 180)
enum { W = 1920, H = 1080, FRAMES = 7200, RATE = 120 };

/* A camera and a hand, 60 s. */
struct stage {
    double fov_deg, per_count, vertical; /* degrees a count; times as many up and down */
    double growth;                       /* a doubling of speed above 1000 counts/s, share */
    double tilt_deg;                     /* where the camera looks at first, down */
    double carried, zoomed, still; /* shares of the time: strafes, another sensitivity, menus */
    bool torn;                     /* every other frame holds two frames' motion, the next none */
};

struct shot {
    struct fl_signals s;
    double *time_s, *across, *down;
    double tilt_deg; /* mean, as the camera turns */
};

/* Flicks of 0.25 s with a bell's speed, to and fro, each 0.75 s, right and down in turns. */
static double bell(double t)
{
    return t > 0 && t < 0.25 ? sin(FL_PI * t / 0.25) * sin(FL_PI * t / 0.25) : 0;
}

static void hand_at(double t, double *across, double *down)
{
    const int k = (int)(t / 0.75);
    const double size = 2000 * exp2(k * 7 % 5 - 2.0) * (k % 2 ? -1 : 1) * bell(t - 0.75 * k);
    *across = k % 3 == 2 ? 0 : size;
    *down = k % 3 == 2 ? size / 2 : 0.1 * size;
}

static bool in_share(double t, double share)
{
    return fmod(t, 3) >= 3 * (1 - share);
}

/* The pinhole's flow in the middle of each strip, for the turn from frame i-1 to i. */
static void show(struct shot *shot, const struct stage *c, size_t i, double right_rad,
                 double down_rad, double tilt)
{
    const struct fl_grid *g = &shot->s.grid;
    const double f = W / 2.0 / tan(c->fov_deg / 2 * RADIANS);
    const double r = right_rad * cos(tilt), clockwise = right_rad * sin(tilt);
    for (int k = 0; k < FL_MIDDLE_STRIPS; k++) {
        const struct fl_strip_box b = fl_middle_box(g, k);
        const double wide = (b.x1 - b.x0) * g->factor / f, high = (b.y1 - b.y0) * g->factor / f,
                     y = ((b.y0 + b.y1) / 2.0 * g->factor - H / 2.0) / f;
        struct fl_middle_strip *m = &fl_middle_of(&shot->s, i)->strip[k];
        m->x = (float)(f * (-(1 + wide * wide / 12) * r + y * clockwise) / g->factor);
        m->y = (float)(-f * (1 + y * y + high * high / 12) * down_rad / g->factor);
        m->fit = 0.97f;
        if (in_share(i / (double)RATE, c->carried))
            m->x += (float)(4 + 6 * (y + 0.3)); /* near things move more */
    }
}

static struct shot film(const struct stage *c)
{
    struct shot shot = {.time_s = FL_NEW(double, FRAMES),
                        .across = FL_NEW(double, FRAMES),
                        .down = FL_NEW(double, FRAMES)};
    struct fl_grid g;
    fl_grid_init(&g, W, H);
    fl_signals_init(&shot.s, &g, fl_signal_kinds);
    double tilt = c->tilt_deg * RADIANS, held[2] = {0, 0}, turned = 0;
    for (size_t i = 0; i < FRAMES; i++) {
        const double t = (double)i / RATE;
        double rate[2];
        fl_signals_add(&shot.s);
        hand_at(t, &rate[0], &rate[1]);
        shot.time_s[i] = t;
        shot.across[i] = (i ? shot.across[i - 1] : 0) + rate[0] / RATE;
        shot.down[i] = (i ? shot.down[i - 1] : 0) + rate[1] / RATE;
        const double speed = hypot(rate[0], rate[1]),
                     gain = c->per_count * RADIANS * (in_share(t, c->zoomed) ? 0.4 : 1) *
                            (in_share(t, c->still) ? 0 : 1) *
                            (speed > 0 ? pow(speed / 1000, log2(1 + c->growth)) : 1);
        held[0] += gain * rate[0] / RATE;
        held[1] += gain * c->vertical * rate[1] / RATE;
        if (c->torn && i % 2) {
            show(&shot, c, i, 0, 0, tilt);
            continue;
        }
        show(&shot, c, i, held[0], held[1], tilt);
        turned += fabs(held[0] * cos(tilt));
        shot.tilt_deg += fabs(held[0] * cos(tilt)) * tilt / RADIANS;
        tilt += held[1];
        held[0] = held[1] = 0;
    }
    shot.tilt_deg /= turned;
    /* What stands on the screen is older by half a flip's interval: the clock takes that in. */
    for (size_t i = FRAMES; c->torn && i-- > 1;) {
        shot.across[i] = (shot.across[i] + shot.across[i - 1]) / 2;
        shot.down[i] = (shot.down[i] + shot.down[i - 1]) / 2;
    }
    return shot;
}

static void shot_free(struct shot *s)
{
    fl_signals_free(&s->s);
    free(s->time_s);
    free(s->across);
    free(s->down);
}

static struct fl_sensitivity find(const struct stage *c, double *tilt_deg)
{
    struct shot shot = film(c);
    const double focal = W / 2.0 / tan(c->fov_deg / 2 * RADIANS);
    struct fl_frame_turn *turn = fl_turn_frames(&shot.s, focal);
    struct fl_sensitivity out;
    fl_sensitivity_find(&out,
                        &(struct fl_turning){FRAMES, shot.time_s, shot.across, shot.down, turn},
                        1.5 * shot.s.grid.factor / focal);
    if (tilt_deg)
        *tilt_deg = shot.tilt_deg;
    free(turn);
    shot_free(&shot);
    return out;
}

/* CHECKS L-4: 2 × 0.022 = 0.044 degrees a count; f = 960 px at 1920 wide and 90 degrees. */
static void the_gain_is_found(void **state)
{
    (void)state;
    const struct stage cases[] = {{90, 0.044, 1, 0, 0, 0, 0, 0, false},
                                  {90, 0.044, 1, 0, 0, 0, 0, 0, true},
                                  {60, 0.066, 1, 0, 10, 0, 0, 0, true},
                                  {110, 0.022, 1, 0, -18, 0, 0, 0, true},
                                  {103, 0.044, 1, 0, 25, 0, 0, 0, false}};
    for (int i = 0; i < 5; i++) {
        const struct fl_sensitivity s = find(&cases[i], NULL);
        assert_string_equal(s.refused, "");
        assert_near(s.right.degrees / cases[i].per_count, 1, 0.01);
        assert_true(s.right.low < cases[i].per_count && s.right.high > cases[i].per_count);
        assert_true(s.right.high - s.right.low < 0.06 * cases[i].per_count);
        assert_true(!(fabs(s.right.growth) > 0.01));
        assert_true(s.right.agree > 0.95);
    }
}

/* Level ground taken for granted, 25 degrees would be 1 - cos 25° = 9.4 % wrong. */
static void the_tilt_is_found(void **state)
{
    (void)state;
    for (int deg = -40; deg <= 20; deg += 10) {
        const struct stage c = {90, 0.044, 1, 0, deg, 0, 0, 0, false};
        double tilt_deg;
        const struct fl_sensitivity s = find(&c, &tilt_deg);
        assert_true(fabs(s.tilt_deg - tilt_deg) < 1);
        assert_near(s.right.degrees / 0.044, 1, 0.01);
    }
}

static void inversion_and_unlike_axes_are_found(void **state)
{
    (void)state;
    const struct stage c = {90, 0.044, -0.5, 0, 0, 0, 0, 0, false};
    const struct fl_sensitivity s = find(&c, NULL);
    assert_near(s.right.degrees / 0.044, 1, 0.01);
    assert_near(s.down.degrees / 0.044, -0.5, 0.02);
    const struct stage left = {90, -0.044, 1, 0, 5, 0, 0, 0, true};
    const struct fl_sensitivity l = find(&left, NULL);
    assert_near(l.right.degrees / 0.044, -1, 0.01);
    assert_true(l.right.low < l.right.degrees && l.right.degrees < l.right.high);
}

static void acceleration_is_found(void **state)
{
    (void)state;
    const struct stage c = {90, 0.044, 1, 0.15, 0, 0, 0, 0, true};
    struct fl_sensitivity s = find(&c, NULL);
    assert_near(s.right.growth, 0.15, 0.03);
    assert_true(s.right.growth_low > 0.05);
}

/* A quarter of the time on foot, or through a scope, leaves the rest to go by; over half of it does
 * not. */
static void what_goes_its_own_way_is_left_out_or_refused(void **state)
{
    (void)state;
    const struct stage few[] = {{90, 0.044, 1, 0, 0, 0.2, 0, 0, true},
                                {90, 0.044, 1, 0, 0, 0, 0.2, 0, true},
                                {90, 0.044, 1, 0, 0, 0, 0, 0.2, true}};
    for (int i = 0; i < 3; i++) {
        const struct fl_sensitivity s = find(&few[i], NULL);
        if (!s.refused[0])
            assert_near(s.right.degrees / 0.044, 1, 0.02);
    }
    const struct stage much = {90, 0.044, 1, 0, 0, 0, 0.5, 0, true};
    const struct fl_sensitivity s = find(&much, NULL);
    assert_true(s.refused[0]);
    assert_true(isnan(s.right.degrees));
}

static void without_turns_it_is_refused(void **state)
{
    (void)state;
    const struct stage c = {90, 0.0004, 1, 0, 0, 0, 0, 0, true};
    const struct fl_sensitivity s = find(&c, NULL);
    assert_non_null(strstr(s.refused, "only"));
    assert_true(isnan(s.right.degrees) && isnan(s.down.degrees));
}

/* ---- a take ---- */

static struct fl_take *take_of(struct shot *shot, struct fl_motion **motion)
{
    struct fl_trace trace = {.has_motion = true, .report_rate_hz = 1000, .end_s = 80};
    struct fl_take *t = fl_take_new();
    float x = 0, y = 0;
    double path[2] = {0, 0};
    t->width = W;
    t->height = H;
    t->frames = FRAMES;
    t->time_s = FL_ARENA(t->arena, double, FRAMES);
    memcpy(t->time_s, shot->time_s, FRAMES * sizeof *t->time_s);
    t->clock = (struct fl_clock){.known = true, .offset_s = 5, .off_minus_on_ms = FL_UNKNOWN};
    trace.n = 1000 * FRAMES / RATE;
    trace.events = FL_NEW(struct fl_event, trace.n);
    for (size_t i = 0; i < trace.n; i++) {
        double rate[2];
        const double at = (double)i / 1000;
        hand_at(at, &rate[0], &rate[1]);
        path[0] += rate[0] / 1000;
        path[1] += rate[1] / 1000;
        const float dx = (float)rint(path[0]) - x, dy = (float)rint(path[1]) - y;
        x += dx;
        y += dy;
        trace.events[i] =
            (struct fl_event){.time_s = 5 + at, .dx = dx, .dy = dy, .stick_x = NAN, .stick_y = NAN};
    }
    *motion = fl_motion_new(&trace, 0.02);
    free(trace.events);
    return t;
}

static bool warned(const struct fl_take *t, const char *code)
{
    for (size_t i = 0; i < t->n_warnings; i++)
        if (!strcmp(t->warnings[i].code, code))
            return true;
    return false;
}

struct said {
    double fov_deg, per_count;
};

static struct fl_take *measured(const struct stage *c, const struct said *said)
{
    struct shot shot = film(c);
    struct fl_motion *motion;
    struct fl_take *t = take_of(&shot, &motion);
    t->spec.horizontal_fov_deg = said->fov_deg;
    t->spec.degrees_per_count = said->per_count;
    fl_sensitivity_measure(t, motion, &shot.s, 0);
    fl_sensitivity_warn(t);
    fl_motion_free(&motion);
    shot_free(&shot);
    return t;
}

static const struct stage usual = {90, 0.044, 1, 0, 8, 0, 0, 0, false};

static void what_is_said_is_compared(void **state)
{
    (void)state;
    struct fl_take *t = measured(&usual, &(struct said){90, 0.044});
    assert_near(t->sensitivity.right.degrees, 0.044, 0.0006);
    assert_int_equal(t->n_warnings, 0);
    assert_true(fl_take_degrees_per_count(t) == 0.044);
    assert_true(fl_take_vertical_ratio(t) == 1);
    fl_take_free(&t);
    t = measured(&usual, &(struct said){90, 0.05});
    assert_true(warned(t, "sensitivity_differs"));
    assert_non_null(strstr(t->warnings[0].text, "0.05"));
    assert_true(fl_take_degrees_per_count(t) == 0.05);
    fl_take_free(&t);
}

static void nothing_need_be_typed_in(void **state)
{
    (void)state;
    struct fl_take *t = measured(&usual, &(struct said){90, FL_UNKNOWN});
    assert_true(warned(t, "sensitivity_found"));
    assert_near(fl_take_degrees_per_count(t) / 0.044, 1, 0.01);
    fl_take_free(&t);
    t = measured(&usual, &(struct said){FL_UNKNOWN, FL_UNKNOWN});
    assert_true(t->sensitivity.refused[0] && isnan(fl_take_degrees_per_count(t)));
    fl_take_free(&t);
}

static void the_field_of_view_is_found_from_the_sensitivity(void **state)
{
    (void)state;
    const double fov[] = {55, 90, 106.260205}; /* CHECKS L-4: 90 at 4:3, widened to 16:9 */
    for (int i = 0; i < 3; i++) {
        struct stage c = usual;
        c.fov_deg = fov[i];
        struct fl_take *t = measured(&c, &(struct said){FL_UNKNOWN, 0.044});
        assert_near(t->sensitivity.fov_deg, fov[i], 0.012);
        assert_true(t->sensitivity.fov_low_deg < fov[i] && t->sensitivity.fov_high_deg > fov[i]);
        fl_take_free(&t);
    }
}

/* A picture whose edges move more than its middle shifts, as a whole, by a tenth more than a turn
 * would at the middle (by the way its shift is put together here). */
static void the_pictures_shift_is_scaled_by_its_middle(void **state)
{
    (void)state;
    const struct stage c = {.fov_deg = 100, .per_count = 0.03, .vertical = 1};
    struct shot shot = film(&c);
    const double px_rad = W / 2.0 / tan(c.fov_deg / 2 * RADIANS);
    struct fl_take *t = fl_take_new();
    t->frames = FRAMES;
    t->width = W;
    t->time_s = shot.time_s;
    t->spec.horizontal_fov_deg = c.fov_deg;
    fl_picture_scale_measure(t, &shot.s);
    assert_true(isnan(t->picture_scale)); /* no shifts */
    for (size_t i = 0; i < fl_signal_column_count(); i++)
        t->signal[i] = FL_ARENA(t->arena, float, FRAMES);
    const struct fl_take_shift s = fl_take_shift(t);
    for (size_t i = 1; i < FRAMES; i++) {
        const double px_count = 1.1 * px_rad * c.per_count * RADIANS;
        s.x_px[i] = (float)(-px_count * (shot.across[i] - shot.across[i - 1]));
        s.y_px[i] = (float)(-px_count * (shot.down[i] - shot.down[i - 1]));
        s.quality[i] = 1;
    }
    fl_picture_scale_measure(t, &shot.s);
    assert_near(t->picture_scale, 1 / 1.1, 0.02);
    assert_near(fl_picture_degrees(t, 8), fl_shift_degrees(8, W, c.fov_deg) / 1.1, 0.01);
    t->spec.horizontal_fov_deg = FL_UNKNOWN;
    fl_picture_scale_measure(t, &shot.s);
    assert_true(isnan(t->picture_scale));
    fl_take_free(&t);
    shot_free(&shot);
}

static void odd_axes_are_said(void **state)
{
    (void)state;
    struct stage c = usual;
    c.vertical = -0.6;
    struct fl_take *t = measured(&c, &(struct said){90, 0.044});
    assert_true(warned(t, "axis_inverted") && warned(t, "axes_differ"));
    assert_near(fl_take_vertical_ratio(t), 0.6, 0.02);
    fl_take_free(&t);
    c = usual;
    c.growth = 0.2;
    t = measured(&c, &(struct said){90, FL_UNKNOWN});
    assert_true(warned(t, "sensitivity_grows") || t->sensitivity.refused[0]);
    assert_true(isnan(fl_take_degrees_per_count(t))); /* no one number */
    fl_take_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_gain_is_found),
        cmocka_unit_test(the_tilt_is_found),
        cmocka_unit_test(inversion_and_unlike_axes_are_found),
        cmocka_unit_test(acceleration_is_found),
        cmocka_unit_test(what_goes_its_own_way_is_left_out_or_refused),
        cmocka_unit_test(without_turns_it_is_refused),
        cmocka_unit_test(what_is_said_is_compared),
        cmocka_unit_test(nothing_need_be_typed_in),
        cmocka_unit_test(the_field_of_view_is_found_from_the_sensitivity),
        cmocka_unit_test(the_pictures_shift_is_scaled_by_its_middle),
        cmocka_unit_test(odd_axes_are_said),
    };
    return RUN_TESTS(tests);
}
