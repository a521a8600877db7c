#include "state/renewal.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "flip_train.h"
#include "maths/random.h"
#include "state/gaps.h"
#include "state/rates_likelihood.h"
#include "test.h"

/* ---- every path by hand ---- */

/* A grid so small that all paths can be walked, each weighed from the definition in the header:
 * a gap from flip s to flip t has the chance of its length, of the switch to its mode, and of the
 * rows in it that no flip changed since their last scan. */
enum { SMALL = 14, LAG = 4, STACK = 32 };

struct walk {
    const struct fl_evidence *e;
    const struct fl_gap_table *table;
    double trans[FL_GAP_MODES][FL_GAP_MODES];
    size_t from, to; /* the segment */
    double sum, best, on[SMALL + 8], off[SMALL + 8];
    struct fl_gap stack[STACK];
    int depth;
};

/* From the end of a base period: another with n frames or (0.01 each) with others, off, missed. */
static void fill_end(double *t, int n, int n_first, const int *first, double miss)
{
    const double trip = 0.01, change = 0.01, rest = 0.003;
    for (int i = 0; i < n_first; i++)
        t[first[i]] = first[i] == (int)fl_gap_on(n, 0)
                          ? 1 - trip - rest - miss - change * (n_first - 1)
                          : change;
    t[FL_GAP_OFF] = trip;
    t[FL_GAP_MISSED] = miss;
    t[FL_GAP_REST] = rest;
}

/* The model's chances of a switch at a flip; fewer: N is `frames` or two. */
static void fill_switches(double t[FL_GAP_MODES][FL_GAP_MODES], int frames, bool fewer, double miss,
                          double again)
{
    const double back = 0.05, rest = 0.003;
    const int first[] = {fl_gap_on(frames, 0), FL_GAP_AFTER_RENDERED}, n_first = fewer ? 2 : 1;
    memset(t, 0, sizeof(double[FL_GAP_MODES][FL_GAP_MODES]));
    for (int i = 0; i < n_first; i++) {
        int n = i ? 2 : frames;
        for (int k = 0; k < n; k++) {
            t[first[i] + k][first[i] + k + 1] = 1 - rest;
            t[first[i] + k][FL_GAP_REST] = rest;
            t[FL_GAP_REST][first[i] + k] = 0.6 / (fewer ? frames + 2 : frames);
        }
        t[first[i] + n - 1][first[i] + n] = 0;
        fill_end(t[first[i] + n - 1], n, n_first, first, miss);
        t[FL_GAP_OFF][first[i]] = back / n_first;
    }
    fill_end(t[FL_GAP_MISSED], frames, n_first, first, miss);
    t[FL_GAP_MISSED][FL_GAP_MISSED] = again;
    t[FL_GAP_OFF][FL_GAP_OFF] = 1 - back - rest;
    t[FL_GAP_OFF][FL_GAP_REST] = rest;
    t[FL_GAP_REST][FL_GAP_OFF] = 0.4;
}

static double gap_weight(const struct walk *w, size_t s, size_t t, int mode)
{
    const struct fl_slot *slot = w->e->slot;
    double v = 0;
    if (mode == FL_GAP_REST) {
        if (t < s + w->table->rest_least)
            return 0;
        for (size_t j = s + 1; j <= t; j++)
            v += log((1 + exp((double)(slot[j].still + slot[j].flip))) / 2);
        v += (double)w->table->rest_stay * (double)(t - s - w->table->rest_least) +
             (double)w->table->rest_leave;
        return exp(v);
    }
    const struct fl_gap_density *d = &w->table->mode[mode];
    if (t - s < d->least || t - s > d->most)
        return 0;
    for (size_t j = s; j < t; j++)
        v += (long)j - slot[j].lag >= (long)s ? (double)slot[j].still : 0;
    return exp(v + (double)d->forward[t - s - d->least] + (double)slot[t].flip);
}

static void count_path(struct walk *w, double weight)
{
    w->sum += weight;
    w->best = fmax(w->best, weight);
    for (int i = 0; i < w->depth; i++)
        for (size_t k = w->stack[i].from; k < w->stack[i].to; k++) {
            if (w->stack[i].mode < FL_GAP_OFF)
                w->on[k] += weight;
            else if (w->stack[i].mode == FL_GAP_OFF)
                w->off[k] += weight;
        }
}

static void walk_on(struct walk *w, size_t s, int mode, double weight)
{
    for (size_t t = s + 1; t < w->to; t++) {
        double v = weight * gap_weight(w, s, t, mode);
        if (v == 0)
            continue;
        assert_true(w->depth < STACK);
        w->stack[w->depth++] = (struct fl_gap){s, t, (enum fl_gap_mode)mode};
        if (w->to - 1 - t < w->table->longest)
            count_path(w, v);
        for (int m = 0; m < FL_GAP_MODES; m++)
            if (w->trans[mode][m] > 0)
                walk_on(w, t, m, v * w->trans[mode][m]);
        w->depth--;
    }
}

static void walk_all(struct walk *w)
{
    for (size_t s = w->from; s < w->to && s - w->from < w->table->longest; s++)
        for (int m = 0; m < FL_GAP_REST; m++)
            if (m != FL_GAP_MISSED && w->table->mode[m].least)
                walk_on(w, s, m, exp(-1.2));
}

static double path_weight(const struct walk *w, const struct fl_gap *gap, size_t n)
{
    double v = exp(-1.2);
    for (size_t i = 0; i < n; i++) {
        v *= gap_weight(w, gap[i].from, gap[i].to, gap[i].mode);
        if (i) {
            assert_int_equal(gap[i].from, gap[i - 1].to);
            v *= w->trans[gap[i - 1].mode][gap[i].mode];
        }
    }
    return v;
}

static void random_slots(struct fl_slot *slot, size_t n, double slot_s, struct fl_random *r)
{
    for (size_t i = 0; i < n; i++)
        slot[i] = (struct fl_slot){
            .time_s = ((double)i + 0.5) * slot_s,
            .lag = LAG,
            .frame = (int32_t)(i / LAG),
            .still = (float)(fl_random_below(r, 4) ? 1.5 * fl_random_normal(r) : 0),
            .flip = (float)(fl_random_below(r, 3) ? 0 : fl_random_normal(r))};
}

static double loglik_in_plain_numbers(const struct fl_evidence *e, const struct fl_segment *s,
                                      const struct fl_rates *rates)
{
    struct fl_rates_likelihood l;
    fl_rates_likelihood_open(&l, e, s, 1);
    const double v = fl_rates_likelihood_at(&l, rates);
    fl_rates_likelihood_close(&l);
    return v;
}

static void sums_agree_with_a_walk_of_every_path(void **state)
{
    (void)state;
    const double small_slot_s = 0.005;
    const struct fl_rates rates[] = {{0.02, 0.02, {0.5, 0.5}, 0, 0.004, 2},
                                     {0.018, 0.022, {0.35, 0.65}, 0, 0.2, 2, 0, 0.2},
                                     {0.02, 0.018, {0.5, 0.5}, 0.01, 0.1, 2},
                                     {0.03, 0.02, {0.3, 0.3, 0.4}, 0, 0.01, 3},
                                     {0.032, 0.03, {0.25, 0.25, 0.25, 0.25}, 0, 0.004, 4},
                                     {0.03, 0.03, {0.4, 0.3, 0.3}, 0, 0.05, 3, 1 << 2},
                                     {0.018, 0.022, {0.4, 0.6}, 0, 0.05, 2, .any_return = true}};
    enum { RATES = sizeof rates / sizeof *rates };
    struct fl_random r;
    fl_random_seed(&r, 5);
    for (int k = 0; k < 2 * RATES; k++) {
        const struct fl_rates *rate = &rates[k % RATES];
        struct fl_slot slot[SMALL + 8];
        size_t offset = (size_t)(k % 2 * 3);
        struct fl_evidence e = {
            .slot = slot, .n = SMALL + 8, .slots_a_frame = LAG, .slot_s = small_slot_s};
        const struct fl_segment segment = {offset, offset + SMALL - (size_t)(k % 3), 0};
        random_slots(slot, e.n, small_slot_s, &r);
        for (int i = 8; k == 4 && i < 16;
             i++) { /* a frame is missing: rows were last seen two frames ago */
            slot[i].lag = i < 12 ? INT32_MAX : 2 * LAG;
            if (i < 12)
                slot[i].still = slot[i].flip = 0;
        }
        struct fl_gap_table table;
        fl_gap_table_init(&table, rate, small_slot_s);
        struct walk w = {.e = &e, .table = &table, .from = segment.from, .to = segment.to};
        fill_switches(w.trans, rate->frames, rate->fewer, rate->missed, rate->missed_again);
        if (rate->any_return)
            w.trans[FL_GAP_OFF][FL_GAP_AFTER_RENDERED] = w.trans[FL_GAP_OFF][FL_GAP_OFF] = 1;
        walk_all(&w);

        struct fl_renewal out;
        fl_renewal_solve(&out, &e, &segment, 1, rate, 2);
        assert_near(out.loglik, log(w.sum), 2e-4);
        assert_near(fl_renewal_loglik(&e, &segment, 1, rate), log(w.sum), 2e-4);
        assert_near(loglik_in_plain_numbers(&e, &segment, rate), log(w.sum), 1e-5);
        for (size_t i = 0; i < e.n; i++) {
            assert_true(fabs((double)out.p_on[i] - w.on[i] / w.sum) < 5e-4);
            assert_true(fabs((double)out.p_off[i] - w.off[i] / w.sum) < 5e-4);
        }
        assert_near(log(path_weight(&w, out.gap, out.n_gaps)), log(w.best), 1e-4);
        fl_renewal_finish(&out);
        fl_gap_table_finish(&table);
    }
}

/* ---- trains of flips with a known state ---- */

static const struct train_part switching[] = {{TRAIN_ON, 0.9},   {TRAIN_OFF, 1.3}, {TRAIN_ON, 1.9},
                                              {TRAIN_REST, 2.4}, {TRAIN_ON, 2.9},  {TRAIN_OFF, 3.4},
                                              {TRAIN_ON, 4}};
enum { PARTS = sizeof switching / sizeof *switching };

static void assert_probabilities(const struct fl_renewal *r, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        assert_true(r->p_on[i] >= 0 && r->p_on[i] <= 1 && r->p_off[i] >= 0 && r->p_off[i] <= 1);
        assert_true(r->p_on[i] + r->p_off[i] <= 1.001f);
    }
}

static bool switches_near(const struct train *t, double time_s, double near_s)
{
    enum train_state s = train_at(t, time_s);
    return train_at(t, time_s - near_s) != s || train_at(t, time_s + near_s) != s;
}

/* Slots of which the more likely state is the true one, of those that move and lie a base period
 * off a switch. */
static double share_right(const struct train *t, const struct fl_evidence *e,
                          const struct fl_renewal *r)
{
    size_t right = 0, all = 0;
    for (size_t i = 0; i < e->n; i++) {
        double at = e->slot[i].time_s;
        enum train_state s = train_at(t, at);
        if (s == TRAIN_REST || switches_near(t, at, 1 / t->plan->off_hz))
            continue;
        all++;
        right += s == TRAIN_ON ? r->p_on[i] > 0.5f : r->p_off[i] > 0.5f;
    }
    return (double)right / (double)all;
}

/* Flips of state off whose time the best path has within a slot and a half, and the other way. */
static double share_of_flips_found(const struct train *t, const struct fl_evidence *e,
                                   const struct fl_renewal *r)
{
    size_t found = 0, all = 0;
    for (size_t i = 1; i + 1 < t->n; i++) {
        double at = t->flip[i].time_s;
        if (t->flip[i].mode != FL_GAP_OFF || t->flip[i - 1].mode != FL_GAP_OFF ||
            train_at(t, at) == TRAIN_REST || switches_near(t, at, 1 / t->plan->off_hz))
            continue;
        all++;
        bool hit = false;
        for (size_t k = 0; k < r->n_gaps && !hit; k++)
            hit = r->gap[k].mode == FL_GAP_OFF &&
                  fabs(e->slot[r->gap[k].from].time_s - e->slot_s / 2 - at) < 1.5 * e->slot_s;
        found += hit;
    }
    return (double)found / (double)all;
}

static const struct known {
    double base_hz, share, missed, wrong;
} knowns[] = {{45, 0.5, 0, 0},  {60, 0.5, 0, 0},  {70, 0.5, 0, 0.02}, {100, 0.5, 0, 0},
              {52, 0.35, 0, 0}, {66, 0.65, 0, 0}, {56, 0.5, 0.08, 0}, {80, 0.5, 0, 0.05}};
enum { KNOWNS = sizeof knowns / sizeof *knowns };

static struct train_plan plan_of(const struct known *k, uint64_t seed)
{
    return (struct train_plan){.on_hz = k->base_hz,
                               .off_hz = k->base_hz,
                               .share = k->share,
                               .missed = k->missed,
                               .part = switching,
                               .n_parts = PARTS,
                               .seed = seed};
}

static void assert_the_same_on_one_thread(const struct fl_renewal *r, const struct fl_evidence *e,
                                          const struct fl_segment *segments, size_t n,
                                          const struct fl_rates *rates)
{
    struct fl_renewal alone;
    fl_renewal_solve(&alone, e, segments, n, rates, 1);
    assert_int_equal(alone.n_gaps, r->n_gaps);
    assert_memory_equal(&alone.loglik, &r->loglik, sizeof r->loglik);
    assert_memory_equal(alone.p_on, r->p_on, e->n * sizeof *r->p_on);
    assert_memory_equal(alone.p_off, r->p_off, e->n * sizeof *r->p_off);
    for (size_t k = 0; k < r->n_gaps; k++)
        assert_true(alone.gap[k].from == r->gap[k].from && alone.gap[k].to == r->gap[k].to &&
                    alone.gap[k].mode == r->gap[k].mode);
    fl_renewal_finish(&alone);
}

static void modes_and_flips_are_recovered(void **state)
{
    (void)state;
    for (int i = 0; i < KNOWNS; i++) {
        struct train_plan plan = plan_of(&knowns[i], 100 + (uint64_t)i);
        struct train_camera camera = {.wrong = knowns[i].wrong};
        struct train t;
        struct train_film f;
        struct fl_renewal r;
        struct fl_segment *segments;
        train_run(&t, &plan);
        train_film(&f, &t, &camera);
        const struct fl_rates rates = {1 / plan.on_hz,
                                       1 / plan.off_hz,
                                       {plan.share, 1 - plan.share},
                                       0,
                                       fmax(plan.missed, 0.004),
                                       2};
        size_t n = fl_segments(&f.evidence, &segments);
        fl_renewal_solve(&r, &f.evidence, segments, n, &rates, 2);
        assert_probabilities(&r, f.evidence.n);
        assert_the_same_on_one_thread(&r, &f.evidence, segments, n, &rates);
        double right = share_right(&t, &f.evidence, &r),
               found = share_of_flips_found(&t, &f.evidence, &r);
        if (right < 0.97 || found < 0.95)
            fail_msg("base rate %g/s: %.4f of slots right, %.4f of flips found", plan.off_hz, right,
                     found);
        for (size_t k = 1; k < r.n_gaps; k++)
            assert_true(r.gap[k].from >= r.gap[k - 1].to && r.gap[k].to > r.gap[k].from);
        fl_renewal_finish(&r);
        free(segments);
        train_film_finish(&f);
        train_finish(&t);
    }
}

/* Base periods 4 % apart, from 0.79 to 1.27 of the true one; where on-state flips keep step with
 * the capture (60 at 120/s) the next one may win. */
static void likelihood_is_largest_at_the_true_rate(void **state)
{
    (void)state;
    for (int i = 0; i < KNOWNS; i++) {
        struct train_plan plan = plan_of(&knowns[i], 200 + (uint64_t)i);
        struct train_camera camera = {.wrong = knowns[i].wrong};
        struct train t;
        struct train_film f;
        struct fl_segment *segments;
        train_run(&t, &plan);
        train_film(&f, &t, &camera);
        size_t n = fl_segments(&f.evidence, &segments);
        double top = -INFINITY;
        int best = 0;
        for (int k = -6; k <= 6; k++) {
            double p = pow(1.04, k) / knowns[i].base_hz;
            const struct fl_rates rates = {
                p, p, {plan.share, 1 - plan.share}, 0, fmax(plan.missed, 0.004), 2};
            double v = fl_renewal_loglik(&f.evidence, segments, n, &rates);
            if (v > top) {
                top = v;
                best = k;
            }
        }
        assert_true(abs(best) <= 1);
        free(segments);
        train_film_finish(&f);
        train_finish(&t);
    }
}

/* A minute without a rest is one segment, with weights of tens of thousands of nats. */
static void long_motion_keeps_its_precision(void **state)
{
    (void)state;
    struct train_part parts[60];
    for (int i = 0; i < 60; i++)
        parts[i] = (struct train_part){i % 3 == 2 ? TRAIN_OFF : TRAIN_ON, i + 1};
    const struct train_plan plan = {
        .on_hz = 55, .off_hz = 55, .part = parts, .n_parts = 60, .seed = 3};
    const struct fl_rates rates = {1 / 55.0, 1 / 55.0, {0.5, 0.5}, 0, 0.004, 2};
    struct train t;
    struct train_film f;
    struct fl_renewal r;
    struct fl_segment *segments;
    train_run(&t, &plan);
    train_film(&f, &t, &(struct train_camera){.bands = 12, .wrong = 0.02});
    size_t n = fl_segments(&f.evidence, &segments);
    fl_renewal_solve(&r, &f.evidence, segments, n, &rates, 2);
    assert_probabilities(&r, f.evidence.n);
    assert_true(share_right(&t, &f.evidence, &r) > 0.99);
    fl_renewal_finish(&r);
    free(segments);
    train_film_finish(&f);
    train_finish(&t);
}

static double loglik_with(const struct train_film *f, struct fl_rates rates)
{
    struct fl_segment *segments;
    size_t n = fl_segments(&f->evidence, &segments);
    double v = fl_renewal_loglik(&f->evidence, segments, n, &rates);
    free(segments);
    return v;
}

/* Flips that alternate 7 and 13 ms, pairs that lack their second flip, flips that wait for the
 * capture's own clock: each is better explained by what it is than by the plain case. */
static void kinds_of_trains_are_told_apart(void **state)
{
    (void)state;
    const double p = 1 / 50.0, tick = 1 / 120.0;
    const struct {
        struct train_plan plan;
        struct fl_rates right;
    } kinds[] = {{{.share = 0.35}, {p, p, {0.35, 0.65}, 0, 0.004, 2}},
                 {{.missed = 0.2}, {p, p, {0.5, 0.5}, 0, 0.2, 2}},
                 {{.quantum_s = tick}, {p, p, {0.5, 0.5}, tick, 0.004, 2}}};
    const struct fl_rates plain = {p, p, {0.5, 0.5}, 0, 0.004, 2};
    for (size_t i = 0; i < 3; i++) {
        struct train_plan plan = kinds[i].plan, even = {0};
        struct train t;
        struct train_film f;
        for (int k = 0; k < 2; k++) {
            struct train_plan *v = k ? &even : &plan;
            v->on_hz = v->off_hz = 50;
            v->part = switching;
            v->n_parts = PARTS;
            v->seed = 300 + i;
            train_run(&t, v);
            train_film(&f, &t, NULL);
            double gain = loglik_with(&f, kinds[i].right) - loglik_with(&f, plain);
            assert_true(k ? gain < 0 : gain > 5);
            train_film_finish(&f);
            train_finish(&t);
        }
    }
}

/* ---- segments ---- */

static void segments_hold_all_that_tells(void **state)
{
    (void)state;
    enum { SLOTS = 20000 };
    struct fl_random r;
    fl_random_seed(&r, 9);
    struct fl_slot *slot = FL_NEW(struct fl_slot, SLOTS);
    struct fl_evidence e = {.slot = slot, .n = SLOTS, .slots_a_frame = 10, .slot_s = 0.001};
    double nats = 0, sum = 0;
    bool quiet = true;
    for (size_t i = 0; i < SLOTS; i++) {
        quiet = fl_random_uniform(&r) < 0.004 ? !quiet : quiet;
        slot[i] = (struct fl_slot){.time_s = ((double)i + 0.5) * 0.001, .lag = 10};
        if (!quiet && fl_random_below(&r, 3))
            *(fl_random_below(&r, 2) ? &slot[i].still : &slot[i].flip) =
                (float)fl_random_normal(&r);
        nats += fabs((double)slot[i].still) + fabs((double)slot[i].flip);
    }
    struct fl_segment *v;
    size_t n = fl_segments(&e, &v), at = 0;
    assert_true(n > 3);
    for (size_t k = 0; k < n; k++) {
        assert_true(v[k].from >= at && v[k].from < v[k].to && v[k].to <= SLOTS);
        for (; at < v[k].from; at++)
            assert_true(slot[at].still == 0 && slot[at].flip == 0);
        at = v[k].to;
        sum += v[k].nats;
    }
    for (; at < SLOTS; at++)
        assert_true(slot[at].still == 0 && slot[at].flip == 0);
    assert_near(sum, nats, 1e-9);

    /* what one segment weighs does not depend on the others */
    const struct fl_rates rates = {0.02, 0.02, {0.5, 0.5}, 0, 0.004, 2};
    sum = 0;
    for (size_t k = 0; k < n; k++)
        sum += fl_renewal_loglik(&e, &v[k], 1, &rates);
    assert_near(fl_renewal_loglik(&e, v, n, &rates), sum, 1e-9);
    free(v);

    for (size_t i = 0; i < SLOTS; i++)
        slot[i].still = slot[i].flip = 0;
    assert_int_equal(fl_segments(&e, &v), 0);
    assert_true(fl_renewal_loglik(&e, v, 0, &rates) == 0);
    free(v);
    free(slot);
}

static void nothing_is_known_outside_segments(void **state)
{
    (void)state;
    const struct train_part parts[] = {{TRAIN_REST, 1}, {TRAIN_ON, 1.5}, {TRAIN_REST, 3}};
    const struct train_plan plan = {
        .on_hz = 60, .off_hz = 60, .part = parts, .n_parts = 3, .seed = 1};
    const struct fl_rates rates = {1 / 60.0, 1 / 60.0, {0.5, 0.5}, 0, 0.004, 2};
    struct train t;
    struct train_film f;
    struct fl_renewal r;
    struct fl_segment *segments;
    train_run(&t, &plan);
    train_film(&f, &t, NULL);
    size_t n = fl_segments(&f.evidence, &segments);
    assert_int_equal(n, 1);
    fl_renewal_solve(&r, &f.evidence, segments, n, &rates, 2);
    for (size_t i = 0; i < f.evidence.n; i++)
        if (i < segments[0].from || i >= segments[0].to)
            assert_true(r.p_on[i] == 0 && r.p_off[i] == 0);
    fl_renewal_finish(&r);
    fl_renewal_solve(&r, &f.evidence, NULL, 0, &rates, 2);
    assert_true(r.loglik == 0 && r.n_gaps == 0);
    fl_renewal_finish(&r);
    fl_renewal_finish(&r);
    free(segments);
    train_film_finish(&f);
    train_finish(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sums_agree_with_a_walk_of_every_path),
        cmocka_unit_test(modes_and_flips_are_recovered),
        cmocka_unit_test(likelihood_is_largest_at_the_true_rate),
        cmocka_unit_test(long_motion_keeps_its_precision),
        cmocka_unit_test(kinds_of_trains_are_told_apart),
        cmocka_unit_test(segments_hold_all_that_tells),
        cmocka_unit_test(nothing_is_known_outside_segments),
    };
    return RUN_TESTS(tests);
}
