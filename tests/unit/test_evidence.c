#include "state/evidence.h"

#include <stdlib.h>

#include "base/mem.h"
#include "maths/random.h"
#include "test.h"

enum { FRAMES = 12 };

/* Rows of n frames in which every band moved by `shift` and all tell. */
static struct fl_rows rows_of(size_t n, int bands, float verdict)
{
    size_t all = n * (size_t)bands;
    struct fl_rows r = {.frames = n,
                        .bands = bands,
                        .verdict = FL_NEW(float, all),
                        .shift = FL_NEW(float, all),
                        .detail = FL_NEW(float, all),
                        .move_x = FL_NEW(float, n),
                        .move_y = FL_NEW(float, n)};
    for (size_t i = 0; i < all; i++) {
        r.verdict[i] = verdict;
        r.shift[i] = verdict > 0 ? 0 : 5;
    }
    return r;
}

/* Gathers rows of a scene that moves at one speed throughout; scan NULL: a local recording. */
static void gather_at(struct fl_evidence *e, const struct fl_rows *r, const struct fl_scan *scan,
                      const double *time_s, float px)
{
    struct fl_scene_speed speed = {r->frames, FL_NEW(float, r->frames), FL_NEW(float, r->frames)};
    for (size_t i = 0; i < r->frames; i++)
        speed.across[i] = speed.beside[i] = px;
    if (scan)
        fl_evidence_gather(e, r, &speed, scan);
    else
        fl_evidence_gather_local(e, r, &speed, time_s);
    fl_scene_speed_finish(&speed);
}

static void gather(struct fl_evidence *e, const struct fl_rows *r, const struct fl_scan *scan)
{
    gather_at(e, r, scan, NULL, 5);
}

struct grid {
    double time_s[FRAMES];
    long number[FRAMES];
    struct fl_scan scan;
};

/* Frames at rate_hz from start_s on; those of which a bit in `lost` is set are missing. */
static void grid_init(struct grid *g, double start_s, double rate_hz, double blank, unsigned lost)
{
    size_t n = 0;
    for (long k = 0; n < FRAMES; k++)
        if (k >= 32 || !(lost >> k & 1)) {
            g->time_s[n] = start_s + (double)k / rate_hz;
            g->number[n++] = k;
        }
    g->scan = (struct fl_scan){FRAMES, g->time_s, g->number, 1 / rate_hz, blank};
}

/* CHECKS §0, trap 5: generators of VESA CVT timings disagree in clock and rate, but not in total
 * lines, and so not in the blank's share, which is all that is used. Total and blank lines of
 * CTA-861 modes 16 and 118 and of VESA CVT reduced blanking version 2, as edid-decode prints them
 * (check table "display timing"); line times in µs beside. */
static const struct mode {
    int lines, total;
    double rate_hz, line_us;
} timings[] = {{1080, 1125, 60, 14.814815}, {2160, 2250, 120, 3.703704},
               {1440, 1525, 120, 5.464481}, {1440, 1543, 143.999784, 4.500619},
               {1080, 1215, 240, 3.429355}, {2160, 2222, 59.999954, 7.500756}};

static void slots_lie_where_their_rows_are_scanned(void **state)
{
    (void)state;
    for (size_t m = 0; m < sizeof timings / sizeof *timings; m++) {
        const struct mode *t = &timings[m];
        int bands = 36, lines = t->lines / bands;
        struct grid g;
        grid_init(&g, 3, t->rate_hz, (double)(t->total - t->lines) / t->total, 0);
        struct fl_rows r = rows_of(FRAMES, bands, -1);
        struct fl_evidence e;
        gather(&e, &r, &g.scan);
        assert_int_equal(e.slots_a_frame, bands + 1);
        assert_int_equal(e.n, FRAMES * (bands + 1));
        assert_near(e.slot_s * (bands + 1), 1 / t->rate_hz, 1e-12);
        for (size_t i = 0; i < FRAMES; i++) {
            const struct fl_slot *s = e.slot + i * (size_t)(bands + 1);
            double blank_us = (t->total - t->lines) * t->line_us;
            assert_true(fabs((s[0].time_s - g.time_s[i]) * 1e6 + blank_us / 2) < 0.01);
            for (int b = 0; b < bands; b++) {
                double want_us = (b + 0.5) * lines * t->line_us;
                assert_true(fabs((s[1 + b].time_s - g.time_s[i]) * 1e6 - want_us) < 0.01);
                assert_int_equal(s[1 + b].frame, i);
            }
        }
        fl_evidence_finish(&e);
        fl_rows_finish(&r);
    }
}

/* Worked in the check table: 1080 lines at 60/s, an update 5.000 ms after the first active line
 * tears at line 337.5: the edge between bands 5 and 6 of 16. */
static void a_worked_tear(void **state)
{
    (void)state;
    struct grid g;
    grid_init(&g, 0, 60, 45 / 1125.0, 0);
    struct fl_rows r = rows_of(FRAMES, 16, -1);
    struct fl_evidence e;
    gather(&e, &r, &g.scan);
    assert_near((e.slot[1 + 4].time_s + e.slot[1 + 5].time_s) / 2, 0.005, 1e-9);
    fl_evidence_finish(&e);
    fl_rows_finish(&r);
}

static void times_increase_and_lags_reach_the_frame_before(void **state)
{
    (void)state;
    const unsigned losses[] = {0, 0x8, 0x30, 0x152};
    for (int k = 0; k < 4; k++) {
        struct grid g;
        grid_init(&g, 0, 120, 0.045, losses[k]);
        struct fl_rows r = rows_of(FRAMES, 16, 1);
        struct fl_evidence e;
        gather(&e, &r, &g.scan);
        assert_int_equal(e.n, (size_t)(g.number[FRAMES - 1] + 1) * 17);
        for (size_t i = 0; i < e.n; i++) {
            long place = (long)(i / 17);
            bool lost = losses[k] >> place & 1;
            assert_true(i == 0 || e.slot[i].time_s > e.slot[i - 1].time_s);
            assert_true(fabs(e.slot[i].time_s - (double)i * e.slot_s) < 17 * e.slot_s);
            long frame = e.slot[i].frame;
            assert_true(g.number[frame] <= place &&
                        (frame + 1 == FRAMES || g.number[frame + 1] > place));
            assert_true(!lost || (e.slot[i].still == 0 && e.slot[i].flip == 0));
            if (!lost && frame > 0)
                assert_int_equal(e.slot[i].lag, 17 * (g.number[frame] - g.number[frame - 1]));
        }
        /* rows that were last scanned later are scanned again later, and empty slots claim nothing
         * that a row after them does not */
        for (size_t i = 1; i < e.n; i++)
            for (size_t j = 0; j < i; j++)
                assert_true((long)j - e.slot[j].lag <= (long)i - e.slot[i].lag ||
                            e.slot[i].still == 0);
        fl_evidence_finish(&e);
        fl_rows_finish(&r);
    }
}

/* Still rows speak for still, changed ones against; a whole frame of either weighs the same however
 * it is cut, blanks and the first frame say nothing, nor does what does not move. */
static void weights_follow_the_verdicts(void **state)
{
    (void)state;
    double whole[2][2];
    for (int v = 0; v < 2; v++)
        for (int cut = 0; cut < 2; cut++) {
            int bands = cut ? 40 : 16;
            struct grid g;
            grid_init(&g, 0, 120, 0.045, 0);
            struct fl_rows r = rows_of(FRAMES, bands, v ? 1 : -1);
            struct fl_evidence e;
            gather(&e, &r, &g.scan);
            double sum = 0;
            for (size_t i = 0; i < e.n; i++) {
                bool blank = i % (size_t)(bands + 1) == 0, first = i < (size_t)(bands + 1);
                assert_true(blank || first ? e.slot[i].still == 0
                            : v            ? e.slot[i].still > 0
                                           : e.slot[i].still < 0);
                sum += (double)e.slot[i].still / (FRAMES - 1);
            }
            whole[v][cut] = sum;
            assert_true(isnan(e.changed_share[0]));
            for (size_t i = 1; i < FRAMES; i++)
                assert_true(e.changed_share[i] == (v ? 0 : 1));
            assert_true(e.mixed == 0);
            fl_evidence_finish(&e);
            gather_at(&e, &r, &g.scan, NULL, 0);
            for (size_t i = 0; i < e.n; i++)
                assert_true(e.slot[i].still == 0 && e.slot[i].flip == 0);
            for (size_t i = 0; i < FRAMES; i++)
                assert_true(isnan(e.changed_share[i]));
            assert_true(isnan(e.mixed));
            fl_evidence_finish(&e);
            fl_rows_finish(&r);
        }
    for (int v = 0; v < 2; v++)
        assert_near(whole[v][0], whole[v][1], 1e-5);
}

/* Half a frame changed: half a share, and a mixed frame. */
static void shares_of_torn_frames(void **state)
{
    (void)state;
    struct grid g;
    grid_init(&g, 0, 120, 0.045, 0);
    struct fl_rows r = rows_of(FRAMES, 16, 1);
    for (size_t i = 0; i < FRAMES; i += 2)
        for (int b = 4; b < 16; b++)
            r.verdict[i * 16 + (size_t)b] = -1;
    struct fl_evidence e;
    gather(&e, &r, &g.scan);
    for (size_t i = 1; i < FRAMES; i++)
        assert_near((double)e.changed_share[i], i % 2 ? 0 : 0.75, 1e-6);
    assert_near(e.mixed, 5 / 11.0, 1e-9);
    fl_evidence_finish(&e);
    fl_rows_finish(&r);
}

/* A flip in the middle of each frame: rows below it moved on by one step, rows above by none more.
 */
static void a_rising_shift_marks_the_flip(void **state)
{
    (void)state;
    struct grid g;
    grid_init(&g, 0, 120, 0.045, 0);
    struct fl_rows r = rows_of(FRAMES, 16, -1);
    for (size_t i = 0; i < FRAMES; i++)
        for (int b = 0; b < 16; b++) /* the flip of a frame ago drops out of sight in the blank */
            r.shift[i * 16 + (size_t)b] = b < 8 ? 2.5f : 7.5f;
    struct fl_evidence e;
    gather(&e, &r, &g.scan);
    for (size_t i = 2; i + 1 < FRAMES; i++) {
        size_t best = i * 17 + 3;
        for (size_t k = i * 17 + 3; k < i * 17 + 15; k++)
            best = e.slot[k].flip > e.slot[best].flip ? k : best;
        assert_true(e.slot[i * 17 + 1 + 8].flip > 0);
        assert_true(e.slot[i * 17 + 1 + 8].flip == e.slot[best].flip);
        assert_true(e.slot[i * 17 + 4].flip < 0 && e.slot[i * 17 + 14].flip < 0);
    }
    fl_evidence_finish(&e);
    fl_rows_finish(&r);
}

static void coarse_evidence_adds_up(void **state)
{
    (void)state;
    struct grid g;
    struct fl_random rng;
    fl_random_seed(&rng, 6);
    grid_init(&g, 0, 120, 0.045, 0x20);
    struct fl_rows r = rows_of(FRAMES, 23, 1);
    for (size_t i = 0; i < FRAMES * 23; i++)
        r.verdict[i] = (float)(2 * fl_random_uniform(&rng) - 1);
    struct fl_evidence e, c;
    gather(&e, &r, &g.scan);
    for (int by = 1; by <= 4; by++) {
        fl_evidence_coarsen(&c, &e, by);
        assert_int_equal(c.n, e.n / (size_t)by);
        assert_near(c.slot_s, e.slot_s * by, 1e-15);
        for (size_t i = 0; i < c.n; i++) {
            double still = 0, flip = 0;
            for (size_t k = i * (size_t)by; k < (i + 1) * (size_t)by; k++) {
                still += (double)e.slot[k].still;
                flip += (double)e.slot[k].flip;
            }
            assert_near((double)c.slot[i].still, still, 1e-5);
            assert_near((double)c.slot[i].flip, flip, 1e-5);
            if (e.slot[i * (size_t)by + (size_t)by / 2].lag < INT32_MAX)
                assert_true(abs(c.slot[i].lag * by - e.slot[i * (size_t)by + (size_t)by / 2].lag) <=
                            by / 2);
        }
        fl_evidence_finish(&c);
    }
    fl_evidence_finish(&e);
    fl_rows_finish(&r);
}

/* A local recording holds each output frame once, at its own time: every frame that changed is a
 * flip, and nothing else is. */
static void local_recordings_have_flips_at_their_frames(void **state)
{
    (void)state;
    const double time_s[FRAMES] = {0,      0.007, 0.015,  0.0221, 0.03,   0.0472,
                                   0.0548, 0.062, 0.0703, 0.0781, 0.0852, 0.094};
    struct fl_rows r = rows_of(FRAMES, 16, -1);
    for (int b = 0; b < 16; b++)
        r.verdict[7 * 16 + b] = 1; /* the same picture again */
    struct fl_evidence e;
    gather_at(&e, &r, NULL, time_s, 5);
    assert_true(e.local && isnan(e.mixed));
    size_t flips = 0;
    for (size_t k = 0; k < e.n; k++) {
        assert_true(e.slot[k].still == 0 && e.slot[k].flip != 0);
        assert_true(k == 0 || e.slot[k].time_s > e.slot[k - 1].time_s);
        if (e.slot[k].flip < 0)
            continue;
        flips++;
        double off = INFINITY;
        for (size_t i = 0; i < FRAMES; i++)
            off = i == 7 ? off : fmin(off, fabs(e.slot[k].time_s - e.slot_s / 2 - time_s[i]));
        assert_true(off <= e.slot_s);
    }
    assert_int_equal(flips, FRAMES - 1);
    struct fl_evidence c; /* lags stay "never", whatever the slots */
    fl_evidence_coarsen(&c, &e, 2);
    for (size_t k = 0; k < c.n; k++)
        assert_true(c.slot[k].lag > INT32_MAX / 4);
    fl_evidence_finish(&c);
    assert_true(isnan(e.changed_share[0]) && e.changed_share[7] == 0 && e.changed_share[8] == 1);
    fl_evidence_finish(&e);
    fl_rows_finish(&r);
}

/* Frames of 120/s, of which the second half comes 26.5 hours later: slots for the frames and a
 * second between them, at the frames' own times. */
static void a_jump_of_hours_takes_no_memory(void **state)
{
    (void)state;
    const double jump_s = 8589934592.0 / 90000;
    double time_s[FRAMES];
    for (int i = 0; i < FRAMES; i++)
        time_s[i] = i / 120.0 + (i < FRAMES / 2 ? 0 : jump_s);
    long slot[FRAMES];
    const struct fl_timeline line = {.n = FRAMES, .time_s = time_s, .slot = slot, .rate_hz = 120};
    struct fl_rows r = rows_of(FRAMES, 16, -1);
    struct fl_scan scan;
    struct fl_evidence e;
    fl_scan_init(&scan, &line, 0.045);
    for (int local = 0; local < 2; local++) {
        gather_at(&e, &r, local ? NULL : &scan, time_s, 5);
        assert_true((double)e.n * e.slot_s < 1.2);
        assert_true(e.slots_a_frame < 200);
        for (size_t k = 1; k < e.n; k++)
            assert_true(e.slot[k].time_s > e.slot[k - 1].time_s);
        size_t last = e.n - 1;
        assert_true(e.slot[last].frame == FRAMES - 1);
        assert_true(fabs(e.slot[last].time_s - time_s[FRAMES - 1]) < 1 / 120.0);
        fl_evidence_finish(&e);
    }
    fl_scan_finish(&scan);
    fl_rows_finish(&r);
}

static void nothing_to_gather(void **state)
{
    (void)state;
    struct fl_rows r = rows_of(0, 16, 1), one = rows_of(1, 16, 1);
    struct grid g;
    struct fl_evidence e;
    grid_init(&g, 0, 120, 0.045, 0);
    g.scan.n = 0;
    gather(&e, &r, &g.scan);
    assert_int_equal(e.n, 0);
    fl_evidence_finish(&e);
    g.scan.n = 1;
    gather(&e, &one, &g.scan);
    assert_int_equal(e.n, 17);
    fl_evidence_finish(&e);
    gather_at(&e, &one, NULL, g.time_s, 5);
    fl_evidence_finish(&e);
    assert_null(e.slot);
    fl_rows_finish(&r);
    fl_rows_finish(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slots_lie_where_their_rows_are_scanned),
        cmocka_unit_test(a_worked_tear),
        cmocka_unit_test(times_increase_and_lags_reach_the_frame_before),
        cmocka_unit_test(weights_follow_the_verdicts),
        cmocka_unit_test(shares_of_torn_frames),
        cmocka_unit_test(a_rising_shift_marks_the_flip),
        cmocka_unit_test(coarse_evidence_adds_up),
        cmocka_unit_test(local_recordings_have_flips_at_their_frames),
        cmocka_unit_test(a_jump_of_hours_takes_no_memory),
        cmocka_unit_test(nothing_to_gather),
    };
    return RUN_TESTS(tests);
}
