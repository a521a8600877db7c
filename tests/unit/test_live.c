/* The online model's own time: streams that jump, lose their times, or never move. What it calls is
 * measured by tests/e2e/test_live.py. */
#include "live.h"

#include <stdlib.h>

#include "stills.h"
#include "test.h"

enum { W = 160, H = 96, RATE = 60 };

static struct fl_live *open_live(bool keep)
{
    const struct fl_footage_info info = {
        .width = W, .height = H, .nominal_rate_hz = RATE, .tick_s = 0.001, .bit_depth = 8};
    struct fl_live *l = fl_live_open(&info, NULL);
    if (keep)
        fl_live_keep(l);
    return l;
}

/* n pictures that pan, from time t on; unknown: without times. */
static void push(struct fl_live *l, const struct still *world, int n, double t, bool unknown)
{
    for (int i = 0; i < n; i++) {
        struct still now = still_part(world, i * 3 % 60, i / 20 % 30, W, H);
        fl_live_push(l,
                     &(struct fl_frame){now.luma, W, unknown ? NAN : t + (double)i / RATE, i == 0});
        still_free(&now);
    }
}

static int jumps(struct fl_live *l, double *lost, double *seen)
{
    struct fl_live_event e;
    int n = 0;
    *lost = 0;
    while (fl_live_poll(l, &e)) {
        assert_true(e.seen_at_s >= *seen - 1e-9); /* in the order of being called */
        *seen = e.seen_at_s;
        n += e.kind == FL_LIVE_JUMP;
        *lost += e.kind == FL_LIVE_JUMP ? e.jump_s : 0;
    }
    return n;
}

static void time_goes_on_over_jumps(void **state)
{
    (void)state;
    struct still world = still_texture(W + 64, H + 64, 8, 3);
    struct fl_live *l = open_live(false);
    struct fl_live_now now;
    double lost, seen = 0;
    push(l, &world, 2 * RATE, 100, false); /* a stream need not start at 0 */
    fl_live_now(l, &now);
    assert_near(now.time_s, 2 - 1.0 / RATE, 1e-9);
    assert_int_equal(jumps(l, &lost, &seen), 0);
    push(l, &world, RATE, 110, false); /* eight seconds are missing */
    assert_int_equal(jumps(l, &lost, &seen), 1);
    assert_near(lost, 8 + 1.0 / RATE, 1e-9);
    fl_live_now(l, &now);
    assert_near(now.time_s, 11 - 1.0 / RATE, 1e-9);
    push(l, &world, RATE, 3, false); /* times begin anew */
    assert_int_equal(jumps(l, &lost, &seen), 1);
    assert_near(lost, 0, 1e-12);
    fl_live_now(l, &now);
    assert_near(now.time_s, 12 - 1.0 / RATE, 1e-9);
    push(l, &world, RATE, 0, true); /* no times at all */
    assert_int_equal(jumps(l, &lost, &seen), 0);
    fl_live_now(l, &now);
    assert_near(now.time_s, 13 - 1.0 / RATE, 1e-9);
    assert_int_equal(now.frames, 5 * RATE);
    fl_live_end(l);
    fl_live_free(&l);
    assert_null(l);
    still_free(&world);
}

static void a_take_is_made_once_of_what_was_kept(void **state)
{
    (void)state;
    struct still world = still_texture(W + 64, H + 64, 8, 3);
    struct fl_error err;
    struct fl_take *take;
    struct fl_live *l = open_live(false);
    push(l, &world, RATE, 0, false);
    assert_int_equal(fl_live_take(l, 1, &take, &err), FLINCH_ERR_USAGE);
    fl_live_free(&l);
    l = open_live(true);
    push(l, &world, 5 * RATE, 7, false);
    assert_int_equal(fl_live_take(l, 1, &take, &err), 0);
    assert_int_equal(take->frames, 5 * RATE);
    assert_near(take->duration_s, 5, 1e-3);
    fl_take_free(&take);
    assert_int_equal(fl_live_take(l, 1, &take, &err), FLINCH_ERR_USAGE);
    fl_live_free(&l);
    l = open_live(true);
    push(l, &world, 1, 0, false);
    assert_int_equal(fl_live_take(l, 1, &take, &err), FLINCH_ERR_EMPTY);
    assert_null(take);
    fl_live_free(&l);
    still_free(&world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(time_goes_on_over_jumps),
        cmocka_unit_test(a_take_is_made_once_of_what_was_kept),
    };
    return RUN_TESTS(tests);
}
