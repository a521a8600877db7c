/* A camera that follows a trace exactly, filmed by rows that see everything. */
#include "state/motion_prior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "test.h"

enum { FRAMES = 360, BANDS = 8 };
static const double period_s = 1 / 120.0, counts_per_s = 6000, px_per_count = 0.2, factor = 2;

/* The hand rests in the first second, turns right in the second, rests again in the third. */
static double rate_at(double t_s)
{
    return t_s >= 1 && t_s < 2 ? counts_per_s : 0;
}

struct film {
    struct fl_trace trace;
    struct fl_motion *motion;
    struct fl_rows rows;
    struct fl_scan scan;
    struct fl_clock clock;
    double time_s[FRAMES];
    long number[FRAMES];
};

static void film_open(struct film *f)
{
    memset(f, 0, sizeof *f);
    enum { EVENTS = 3000 };
    f->trace.events = FL_NEW(struct fl_event, EVENTS);
    for (int i = 0; i < EVENTS; i++)
        f->trace.events[i] =
            (struct fl_event){.time_s = 0.001 * i, .dx = (float)(0.001 * rate_at(0.001 * i))};
    f->trace.n = EVENTS;
    f->trace.has_motion = true;
    f->trace.end_s = 3;
    f->motion = fl_motion_new(&f->trace, 0.02);
    size_t n = FRAMES * BANDS;
    f->rows = (struct fl_rows){.frames = FRAMES,
                               .bands = BANDS,
                               .verdict = FL_NEW(float, n),
                               .shift = FL_NEW(float, n),
                               .detail = FL_NEW(float, n),
                               .move_x = FL_NEW(float, FRAMES),
                               .move_y = FL_NEW(float, FRAMES)};
    for (int i = 0; i < FRAMES; i++) {
        f->time_s[i] = i * period_s;
        f->number[i] = i;
        f->rows.move_x[i] =
            (float)(-rate_at((i - 0.5) * period_s) * period_s * px_per_count / factor);
    }
    f->scan = (struct fl_scan){FRAMES, f->time_s, f->number, period_s, 0.045};
    f->clock = (struct fl_clock){
        .known = true, .error_ms = 1, .gain_x = -px_per_count, .gain_y = FL_UNKNOWN};
}

static void film_close(struct film *f)
{
    fl_motion_free(&f->motion);
    fl_rows_finish(&f->rows);
    free(f->trace.events);
}

static bool find(struct fl_motion_prior *k, struct film *f)
{
    const struct fl_motion_prior_settings set = {factor, 0, 3, 1 / 60.0};
    return fl_motion_prior_find(k, &f->rows, &f->scan, &f->clock, f->motion, &set);
}

static const float speed = 6000 / 120.0f * 0.2f / 2; /* working px a frame */

static void speeds_are_the_hands(void **state)
{
    (void)state;
    struct film f;
    struct fl_motion_prior k;
    film_open(&f);
    assert_true(find(&k, &f));
    for (int i = 130; i < 230; i++) { /* well inside the turn */
        assert_true(fabsf(k.least[i] - speed) < 0.05f * speed &&
                    fabsf(k.most[i] - speed) < 0.05f * speed);
    }
    for (int i = 20; i < 100; i++)
        assert_true(k.most[i] < 0.05f);
    assert_true(k.least[120] < k.usual[120] + 1e-6f &&
                k.usual[120] <= k.most[120]); /* as it sets in */
    fl_motion_prior_finish(&k);
    film_close(&f);
}

/* The picture goes its own way for half a second: there the trace is silent, elsewhere not. */
static void where_picture_and_trace_part_nothing_is_known(void **state)
{
    (void)state;
    struct film f;
    struct fl_motion_prior k;
    film_open(&f);
    for (int i = 60; i < 100; i++)
        f.rows.move_x[i] = 8;
    assert_true(find(&k, &f));
    for (int i = 75; i < 88; i++)
        assert_true(isnan(k.least[i]) && isnan(k.most[i]));
    assert_true(!isnan(k.usual[180]));
    fl_motion_prior_finish(&k);
    film_close(&f);
}

/* The trace bounds what the rows around had suggested, both ways. */
static void the_trace_bounds_the_rows_guess(void **state)
{
    (void)state;
    struct film f;
    struct fl_motion_prior k;
    film_open(&f);
    assert_true(find(&k, &f));
    float across[FRAMES] = {0}, beside[FRAMES] = {0}; /* at 180 hidden by a flip */
    const struct fl_scene_speed seen = {FRAMES, across, beside};
    struct fl_scene_speed told;
    across[50] = beside[50] = 9; /* a chance peak at rest */
    k.least[60] = k.usual[60] = k.most[60] = NAN;
    across[60] = beside[60] = 7;
    fl_motion_prior_bound(&told, &k, &seen);
    assert_true(fabsf(told.across[180] - speed) < 0.1f * speed);
    assert_true(told.across[50] < 0.05f && told.beside[50] < 0.05f);
    assert_true(told.across[60] == 7 && told.beside[60] == 7); /* where the trace is silent */
    assert_true(across[180] == 0 && across[50] == 9);          /* what was seen stays */
    fl_scene_speed_finish(&told);
    fl_motion_prior_finish(&k);
    film_close(&f);
}

static void without_a_clock_nothing_is_known(void **state)
{
    (void)state;
    struct film f;
    struct fl_motion_prior k;
    film_open(&f);
    f.clock.known = false;
    assert_false(find(&k, &f));
    f.clock.known = true;
    for (int i = 0; i < FRAMES; i++)
        f.rows.move_x[i] = NAN; /* no frame to learn a scale from */
    assert_false(find(&k, &f));
    assert_null(k.least);
    film_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(speeds_are_the_hands),
        cmocka_unit_test(where_picture_and_trace_part_nothing_is_known),
        cmocka_unit_test(the_trace_bounds_the_rows_guess),
        cmocka_unit_test(without_a_clock_nothing_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
