#include "state/label.h"

#include <stdlib.h>

#include "base/mem.h"
#include "flip_train.h"
#include "maths/random.h"
#include "test.h"

struct labelled {
    struct train train;
    struct train_film film;
    struct fl_rates_found found;
    struct fl_states states;
    struct fl_flips flips;
    double duration_s;
};

static void label(struct labelled *l, const struct train_plan *plan,
                  const struct train_camera *camera)
{
    train_run(&l->train, plan);
    train_film(&l->film, &l->train, camera);
    /* as fl_rates_find would find them: test_rates */
    l->found = (struct fl_rates_found){
        .rates = {1 / plan->on_hz, 1 / plan->off_hz, {0.5, 0.5}, 0, 0.004, 2},
        .rendered_on_s = 1 / plan->on_hz,
        .rendered_off_s = 1 / plan->off_hz,
        .saw_on = true,
        .saw_off = true,
        .on_counted = true,
        .possible = 1u << 2};
    l->duration_s = train_duration(plan);
    const struct fl_label_settings set = {.duration_s = l->duration_s, .native_height = 1080};
    fl_label(&l->states, &l->flips, &l->film.evidence, &l->film.rows, &l->found, &l->film.scan,
             &set);
}

static void labelled_finish(struct labelled *l)
{
    fl_states_finish(&l->states);
    free(l->flips.v);
    train_film_finish(&l->film);
    train_finish(&l->train);
}

static bool is_span_edge(const struct fl_states *s, double t)
{
    for (size_t k = 0; k < s->n_spans; k++)
        if (fabs(s->span[k].start_s - t) < 1e-6 || fabs(s->span[k].end_s - t) < 1e-6)
            return true;
    return false;
}

/* The state that was seen last before t (step -1) or next after it. */
static enum fl_state seen_beside(const struct fl_states *s, double t, int step)
{
    enum fl_state last = FL_STATE_UNSEEN;
    for (size_t k = 0; k < s->n_spans; k++) {
        const struct fl_state_span *v = &s->span[k];
        if (v->state == FL_STATE_UNSEEN)
            continue;
        if (step < 0 && v->end_s <= t + 1e-9)
            last = v->state;
        if (step > 0 && v->start_s >= t - 1e-9)
            return v->state;
    }
    return last;
}

/* What holds of any take, by the headers of state.h and flip.h. */
static void assert_sound(const struct labelled *l)
{
    const struct fl_states *s = &l->states;
    double at = 0;
    bool on = false;
    assert_true(s->n_spans > 0);
    for (size_t k = 0; k < s->n_spans; k++) {
        const struct fl_state_span *v = &s->span[k];
        assert_true(fabs(v->start_s - at) < 1e-9 && v->end_s > v->start_s);
        assert_true(v->confidence >= 0 && v->confidence <= 1);
        assert_int_equal(v->reason != NULL, v->state == FL_STATE_UNSEEN);
        at = v->end_s;
        on |= v->state == FL_STATE_ON;
    }
    assert_true(fabs(at - l->duration_s) < 1e-9);
    assert_true(on || s->n_lapses == 0);
    double last = 0;
    for (size_t k = 0; k < s->n_lapses; k++) {
        const struct fl_lapse *v = &s->lapse[k];
        assert_true(v->start_s >= last && v->end_s > v->start_s && v->end_s <= l->duration_s);
        assert_true(v->start_range_s[0] <= v->start_s && v->start_s <= v->start_range_s[1]);
        assert_true(v->end_range_s[0] <= v->end_s && v->end_s <= v->end_range_s[1]);
        assert_true(v->start_range_s[0] >= 0 && v->end_range_s[1] <= l->duration_s);
        assert_int_equal(v->has_trip, seen_beside(s, v->start_s, -1) == FL_STATE_ON);
        assert_int_equal(v->has_return, seen_beside(s, v->end_range_s[0], 1) == FL_STATE_ON);
        assert_true(v->confidence >= 0 && v->confidence <= 1);
        assert_true(v->evidence & FL_EVIDENCE_RATE);
        assert_true(is_span_edge(s, v->start_s));
        assert_true(isnan(v->unique_rate_hz) ||
                    (v->unique_rate_hz > 20 && v->unique_rate_hz < 300));
        last = v->end_s;
    }
    assert_int_equal(s->n_frames, l->film.scan.n);
    for (size_t i = 0; i < s->n_frames; i++) {
        double t = l->film.scan.time_s[i] + l->film.scan.period_s / 2;
        assert_int_equal(s->frame_state[i], fl_states_at(s, t));
        assert_true(s->frame_confidence[i] >= 0 && s->frame_confidence[i] <= 1);
        assert_true(isnan(s->unique_rate_hz[i]) ||
                    (s->frame_state[i] != FL_STATE_UNSEEN && s->unique_rate_hz[i] > 0));
        assert_true(isnan(s->changed_share[i]) ||
                    (s->changed_share[i] >= 0 && s->changed_share[i] <= 1));
    }
    for (size_t i = 0; i < l->flips.n; i++) {
        const struct fl_flip *v = &l->flips.v[i];
        assert_true(i == 0 || v->time_s > l->flips.v[i - 1].time_s);
        assert_true(v->frame >= 0 && v->frame < (long)l->film.scan.n);
        assert_true(v->row >= 0 && v->row < 1080 && v->confidence >= 0 && v->confidence <= 1);
        assert_true(!v->in_blank || v->row == 0);
    }
}

static const struct train_part switching[] = {{TRAIN_ON, 1},     {TRAIN_OFF, 1.4}, {TRAIN_ON, 2},
                                              {TRAIN_REST, 2.5}, {TRAIN_ON, 3.2},  {TRAIN_OFF, 3.3},
                                              {TRAIN_ON, 4},     {TRAIN_OFF, 4.7}, {TRAIN_ON, 5}};
enum { PARTS = sizeof switching / sizeof *switching };

/* The k-th true lapse: from the flip of the first rendered frame that no synthesised one follows to
 * that of the first that one follows. */
static struct fl_span true_lapse(const struct train *t, size_t k)
{
    for (size_t i = 1; i < t->n; i++) {
        if (t->flip[i].mode != FL_GAP_OFF || t->flip[i - 1].mode == FL_GAP_OFF || k--)
            continue;
        size_t end = i;
        while (end < t->n && t->flip[end].mode == FL_GAP_OFF)
            end++;
        return (struct fl_span){t->flip[i].time_s, end < t->n ? t->flip[end].time_s : INFINITY};
    }
    return (struct fl_span){NAN, NAN};
}

/* The design's target for starts is 8 ms or half an off-state frame; a perfect film gives them to a
 * few slots of half a millisecond. */
static void assert_lapses(const struct labelled *l, size_t n, double close_s)
{
    assert_sound(l);
    assert_int_equal(l->states.n_lapses, n);
    for (size_t k = 0; k < n; k++) {
        const struct fl_lapse *v = &l->states.lapse[k];
        struct fl_span want = true_lapse(&l->train, k);
        assert_true(v->has_trip && v->has_return);
        assert_true(fabs(v->start_s - want.start_s) < close_s);
        assert_true(fabs(v->end_s - want.end_s) < close_s);
        assert_true(fabs(v->unique_rate_hz / l->train.plan->off_hz - 1) < 0.04);
    }
}

/* No moment near an edge has a rate between the two states' own: gaps jitter by 3 %, so a mean over
 * two of them lies within 8 % of its state's rate with a chance of 0.9998 (normal law). */
static void assert_rates_of_one_state(const struct labelled *l)
{
    const double on = 2 * l->train.plan->on_hz, off = l->train.plan->off_hz;
    size_t known = 0;
    for (size_t i = 0; i < l->states.n_frames; i++) {
        double rate = l->states.unique_rate_hz[i];
        if (isnan(rate))
            continue;
        known++;
        assert_true(fabs(rate / (l->states.frame_state[i] == FL_STATE_OFF ? off : on) - 1) < 0.08);
    }
    assert_true(known > l->states.n_frames / 2);
    for (size_t k = 0; k < l->states.n_spans; k++) {
        const struct fl_state_span *v = &l->states.span[k];
        if (v->state == FL_STATE_UNSEEN) {
            assert_true(isnan(v->unique_rate_hz) && v->evidence == 0);
            continue;
        }
        assert_true(fabs(v->unique_rate_hz / (v->state == FL_STATE_OFF ? off : on) - 1) < 0.04);
        assert_int_equal((v->evidence & FL_EVIDENCE_RATE) != 0, v->state == FL_STATE_OFF);
    }
}

static void lapses_of_a_perfect_film(void **state)
{
    (void)state;
    const double bases[] = {45, 58, 70, 90};
    for (int i = 0; i < 4; i++) {
        const struct train_plan plan = {.on_hz = bases[i],
                                        .off_hz = 1.05 * bases[i],
                                        .part = switching,
                                        .n_parts = PARTS,
                                        .seed = 50 + (uint64_t)i};
        struct labelled l;
        label(&l, &plan, NULL);
        assert_lapses(&l, 3, 0.0015);
        assert_rates_of_one_state(&l);
        assert_near(l.states.base_rate_on_hz, plan.on_hz, 1e-9);
        assert_near(l.states.base_rate_off_hz, plan.off_hz, 1e-9);
        labelled_finish(&l);
    }
}

/* One band in twenty says the opposite, one frame in fifty is missing. */
static void lapses_of_a_poor_film(void **state)
{
    (void)state;
    bool lost[5 * 120] = {0};
    for (int i = 30; i < 5 * 120; i += 50)
        lost[i] = true;
    const struct train_camera camera = {.wrong = 0.05, .lost = lost};
    for (int i = 0; i < 2; i++) {
        const struct train_plan plan = {.on_hz = 55,
                                        .off_hz = 60,
                                        .part = switching,
                                        .n_parts = PARTS,
                                        .seed = 60 + (uint64_t)i};
        struct labelled l;
        label(&l, &plan, &camera);
        assert_lapses(&l, 3, 0.5 / plan.off_hz);
        labelled_finish(&l);
    }
}

/* Off flips are those of the train, at their rows; alternating detail names the others' kinds. */
static void flips_of_a_perfect_film(void **state)
{
    (void)state;
    const struct train_plan plan = {.on_hz = 70,
                                    .off_hz = 70,
                                    .softness = 0.3,
                                    .part = switching,
                                    .n_parts = PARTS,
                                    .seed = 70};
    struct labelled l;
    label(&l, &plan, NULL);
    assert_sound(&l);
    size_t close = 0, off = 0, wrong_kind = 0, named = 0;
    for (size_t i = 0; i < l.flips.n; i++) {
        const struct fl_flip *v = &l.flips.v[i];
        size_t k = train_last_flip(&l.train, v->time_s + 0.0015);
        bool near = fabs(l.train.flip[k].time_s - v->time_s) < 0.0015;
        close += near;
        off += near && l.train.flip[k].mode == FL_GAP_OFF;
        named += near && v->kind != FL_KIND_UNKNOWN;
        wrong_kind +=
            near && v->kind != FL_KIND_UNKNOWN &&
            (v->kind == FL_KIND_SYNTHESISED) != (l.train.flip[k].mode == FL_GAP_AFTER_SYNTHESISED);
        /* the row is the one under the scan at that time */
        double in_frame = (v->time_s - l.film.scan.time_s[v->frame]) / l.film.scan.period_s;
        double row = in_frame / (1 - l.film.scan.blank) * 1080;
        assert_true(v->in_blank || fabs((double)v->row - row) < 1.5 * 1080 / 16);
    }
    assert_true((double)close > 0.95 * (double)l.flips.n);
    assert_true(off > 70); /* 1.2 s at 70/s, less the edges */
    assert_true(named > 300 && (double)wrong_kind < 0.02 * (double)named);
    labelled_finish(&l);
}

static struct train_plan plan_of(const struct train_part *part, size_t n, double base_hz)
{
    return (struct train_plan){
        .on_hz = base_hz, .off_hz = base_hz, .part = part, .n_parts = n, .seed = 80};
}

static void a_take_that_is_never_on_has_no_lapse(void **state)
{
    (void)state;
    const struct train_part parts[] = {
        {TRAIN_REST, 0.5}, {TRAIN_OFF, 1.5}, {TRAIN_REST, 2}, {TRAIN_OFF, 3}};
    const struct train_plan plan = plan_of(parts, 4, 60);
    struct labelled l;
    label(&l, &plan, NULL);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 0);
    assert_int_equal(fl_states_at(&l.states, 1), FL_STATE_OFF);
    labelled_finish(&l);
}

/* A lapse already on at the first frame has no trip, one on at the last no return. */
static void lapses_at_the_ends_of_the_take(void **state)
{
    (void)state;
    const struct train_part parts[] = {{TRAIN_OFF, 0.8}, {TRAIN_ON, 1.6}, {TRAIN_OFF, 2.4}};
    const struct train_plan plan = plan_of(parts, 3, 60);
    struct labelled l;
    label(&l, &plan, NULL);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 2);
    assert_false(l.states.lapse[0].has_trip);
    assert_true(l.states.lapse[0].has_return && l.states.lapse[1].has_trip);
    assert_false(l.states.lapse[1].has_return);
    labelled_finish(&l);
}

/* Motion ends while off: the return may be anywhere up to the next sight of on, and the range says
 * so. */
static void an_end_that_nothing_shows_is_bracketed(void **state)
{
    (void)state;
    const struct train_part parts[] = {
        {TRAIN_ON, 1}, {TRAIN_OFF, 1.5}, {TRAIN_REST, 2.3}, {TRAIN_ON, 3}};
    const struct train_plan plan = plan_of(parts, 4, 60);
    struct labelled l;
    label(&l, &plan, NULL);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 1);
    const struct fl_lapse *v = &l.states.lapse[0];
    assert_true(v->end_range_s[0] > 1.35 && v->end_range_s[0] < 1.6);
    assert_true(v->end_range_s[1] > 2.2 && v->end_range_s[1] < 2.5);
    assert_int_equal(fl_states_at(&l.states, 1.9), FL_STATE_UNSEEN);
    labelled_finish(&l);
}

/* Off, unseen, off: what they are together is for the study to say. */
static void a_gap_parts_two_runs(void **state)
{
    (void)state;
    const struct train_part parts[] = {
        {TRAIN_ON, 1}, {TRAIN_OFF, 1.5}, {TRAIN_REST, 1.9}, {TRAIN_OFF, 2.4}, {TRAIN_ON, 3}};
    const struct train_plan plan = plan_of(parts, 5, 60);
    struct labelled l;
    label(&l, &plan, NULL);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 2);
    const struct fl_lapse *v = l.states.lapse;
    assert_true(v[0].end_range_s[1] <= v[1].start_s + 1e-9);
    assert_true(v[0].has_trip && !v[0].has_return); /* nobody saw it come on between them */
    assert_true(!v[1].has_trip && v[1].has_return);
    labelled_finish(&l);
}

/* Two runs, of which only the later shows long enough for steps and detail. */
static void each_part_speaks_for_itself(void **state)
{
    (void)state;
    const struct train_part parts[] = {
        {TRAIN_ON, 1}, {TRAIN_OFF, 1.06}, {TRAIN_REST, 1.3}, {TRAIN_OFF, 2.4}, {TRAIN_ON, 3}};
    struct train_plan plan = plan_of(parts, 5, 60);
    struct labelled l;
    plan.softness = 0.3;
    label(&l, &plan, NULL);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 2);
    const struct fl_lapse a = l.states.lapse[0], b = l.states.lapse[1];
    assert_int_equal(a.evidence, FL_EVIDENCE_RATE);
    assert_int_equal(b.evidence, FL_EVIDENCE_RATE | FL_EVIDENCE_SHARPNESS);
    assert_true(fabs(a.confidence - b.confidence) > 1e-4);
    labelled_finish(&l);
}

/* The base rate halves in a heavy scene while synthesis stays on: by rate alone a lapse, but detail
 * still alternates. */
static void a_heavy_scene_is_no_lapse(void **state)
{
    (void)state;
    const struct train_part parts[] = {{TRAIN_ON, 0.8},   {TRAIN_REST, 1.2}, {TRAIN_ON, 2},
                                       {TRAIN_REST, 2.4}, {TRAIN_ON, 3.2},   {TRAIN_OFF, 4},
                                       {TRAIN_ON, 4.6}};
    struct train_plan plan = plan_of(parts, 7, 70);
    struct labelled l;
    plan.softness = 0.3;
    label(&l, &plan, NULL);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 1);
    assert_true(l.states.lapse[0].evidence & FL_EVIDENCE_SHARPNESS);
    labelled_finish(&l);

    train_run(&l.train, &plan); /* the same film, but what was off is on at half the rate */
    size_t in = 0;
    for (size_t i = 0; i < l.train.n; i++)
        if (l.train.flip[i].mode == FL_GAP_OFF)
            l.train.flip[i].mode = in++ % 2 ? FL_GAP_AFTER_SYNTHESISED : FL_GAP_AFTER_RENDERED;
    train_film(&l.film, &l.train, NULL);
    l.found = (struct fl_rates_found){.rates = {1 / 70.0, 1 / 70.0, {0.5, 0.5}, 0, 0.004, 2},
                                      .saw_on = true,
                                      .saw_off = true,
                                      .on_counted = true,
                                      .possible = 1u << 2};
    const struct fl_label_settings set = {.duration_s = l.duration_s, .native_height = 1080};
    fl_label(&l.states, &l.flips, &l.film.evidence, &l.film.rows, &l.found, &l.film.scan, &set);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 0);
    assert_int_equal(fl_states_at(&l.states, 3.6), FL_STATE_ON);
    labelled_finish(&l);
}

static size_t count_off(const struct train *t)
{
    size_t n = 0;
    for (size_t i = 0; i < t->n; i++)
        n += t->flip[i].mode == FL_GAP_OFF;
    return n;
}

/* Off for two base periods, or one base period on that lasts twice as long, between others on:
 * flips come alike, but the camera speeds up, and synthesised pictures halve its steps. */
static void a_hitch_is_no_lapse(void **state)
{
    (void)state;
    for (int k = 0; k < 5; k++) {
        const double at_s = 2.06 + k / 3.0; /* where its speed changes most */
        const struct train_part parts[] = {
            {TRAIN_ON, at_s}, {TRAIN_OFF, at_s + 2 / 70.0}, {TRAIN_ON, 4}};
        struct train_plan plan = plan_of(parts, 3, 70);
        struct labelled l;
        plan.sway = 0.8;
        plan.seed = (uint64_t)k + 1;
        label(&l, &plan, NULL);
        assert_sound(&l);
        assert_int_equal(count_off(&l.train), 2);
        assert_int_equal(l.states.n_lapses, 1);
        assert_true(fabs(l.states.lapse[0].start_s - at_s) < 0.016);
        assert_true(l.states.lapse[0].evidence & FL_EVIDENCE_SHARPNESS);
        labelled_finish(&l);

        train_run(&l.train, &plan); /* the same film, but what was off is a hitch */
        size_t in = 0;
        for (size_t i = 0; i < l.train.n; i++)
            if (l.train.flip[i].mode == FL_GAP_OFF)
                l.train.flip[i].mode = in++ ? FL_GAP_AFTER_SYNTHESISED : FL_GAP_AFTER_RENDERED;
        train_film(&l.film, &l.train, NULL);
        const struct fl_label_settings set = {.duration_s = l.duration_s, .native_height = 1080};
        fl_label(&l.states, &l.flips, &l.film.evidence, &l.film.rows, &l.found, &l.film.scan, &set);
        assert_sound(&l);
        assert_int_equal(l.states.n_lapses, 0);
        labelled_finish(&l);
    }
}

/* Every output frame of 40/s, then 80/s, with its own time: flips have no row. Bands are fewer than
 * the slots of a frame. */
static void local_recordings_are_labelled(void **state)
{
    (void)state;
    const struct train_part parts[] = {{TRAIN_OFF, 2}, {TRAIN_ON, 2.3}, {TRAIN_OFF, 4}};
    const struct train_plan plan = plan_of(parts, 3, 40);
    enum { BANDS = 12 };
    struct labelled l = {0};
    train_run(&l.train, &plan);
    size_t n = 0, first = train_last_flip(&l.train, 0) + 1;
    double *time_s = FL_NEW(double, l.train.n);
    long *number = FL_NEW(long, l.train.n);
    for (size_t i = first; i < l.train.n && l.train.flip[i].time_s < 4; i++) {
        number[n] = (long)n;
        time_s[n++] = l.train.flip[i].time_s - l.train.flip[first].time_s;
    }
    struct fl_rows rows = {.frames = n,
                           .bands = BANDS,
                           .verdict = FL_NEW(float, n *BANDS),
                           .shift = FL_NEW(float, n *BANDS),
                           .detail = FL_NEW(float, n *BANDS),
                           .move_x = FL_NEW(float, n),
                           .move_y = FL_NEW(float, n)};
    for (size_t i = 0; i < n * BANDS; i++) {
        rows.verdict[i] = -1;
        rows.shift[i] = 5;
    }
    l.film.speed = (struct fl_scene_speed){n, FL_NEW(float, n), FL_NEW(float, n)};
    for (size_t i = 0; i < n; i++)
        l.film.speed.across[i] = l.film.speed.beside[i] = 5;
    double period_s = time_s[n - 1] / (double)(n - 1);
    l.film.rows = rows;
    l.film.time_s = time_s;
    l.film.number = number;
    l.film.scan = (struct fl_scan){n, time_s, number, period_s, 0.045};
    l.duration_s = time_s[n - 1] + period_s;
    fl_evidence_gather_local(&l.film.evidence, &rows, &l.film.speed, time_s);
    l.found = (struct fl_rates_found){.rates = {1 / 40.0, 1 / 40.0, {0.5, 0.5}, 0, 0.08, 2},
                                      .saw_on = true,
                                      .saw_off = true,
                                      .on_counted = true,
                                      .possible = 1u << 2};
    const struct fl_label_settings set = {.duration_s = l.duration_s, .native_height = 1080};
    fl_label(&l.states, &l.flips, &l.film.evidence, &rows, &l.found, &l.film.scan, &set);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 2);
    for (size_t i = 0; i < l.flips.n; i++)
        assert_true(l.flips.v[i].row == 0 && !l.flips.v[i].in_blank);
    labelled_finish(&l);
}

static void what_cannot_be_told_is_unseen_throughout(void **state)
{
    (void)state;
    const struct train_part parts[] = {{TRAIN_ON, 1}, {TRAIN_OFF, 1.5}, {TRAIN_ON, 2}};
    const struct train_plan plan = plan_of(parts, 3, 60);
    struct labelled l;
    label(&l, &plan, NULL);
    fl_states_finish(&l.states);
    free(l.flips.v);
    l.found.ambiguous = "ambiguous";
    const struct fl_span use = {0.5, 1.25};
    const struct fl_label_settings set = {
        .duration_s = l.duration_s, .native_height = 1080, .use = &use, .n_use = 1};
    fl_label(&l.states, &l.flips, &l.film.evidence, &l.film.rows, &l.found, &l.film.scan, &set);
    assert_sound(&l);
    assert_int_equal(l.states.n_lapses, 0);
    assert_true(isnan(l.states.base_rate_on_hz) && isnan(l.states.base_rate_off_hz));
    const char *const reasons[] = {"use", "ambiguous", "use"};
    assert_int_equal(l.states.n_spans, 3);
    for (size_t k = 0; k < 3; k++)
        assert_string_equal(l.states.span[k].reason, reasons[k]);
    assert_near(l.states.span[1].start_s, 0.5, 1e-9);
    assert_near(l.states.span[1].end_s, 1.25, 1e-9);
    labelled_finish(&l);
}

/* Whatever the rows say: random verdicts in random stretches. */
static void any_evidence_gives_a_sound_answer(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 90);
    for (int k = 0; k < 24; k++) {
        const struct train_part parts[] = {{TRAIN_ON, 0.6}, {TRAIN_OFF, 1.2}};
        struct train_plan plan = plan_of(parts, 2, 40 + 80 * fl_random_uniform(&r));
        struct labelled l;
        plan.seed = (uint64_t)k;
        plan.softness = k % 2 ? 0.2 : 0;
        train_run(&l.train, &plan);
        train_film(&l.film, &l.train, &(struct train_camera){.bands = 5 + k});
        l.duration_s = train_duration(&plan);
        struct fl_rows *rows = &l.film.rows;
        float lean = (float)(fl_random_uniform(&r) - 0.5);
        bool moves = true;
        for (size_t i = 0; i < rows->frames; i++) {
            moves = fl_random_uniform(&r) < 0.03 ? !moves : moves;
            if (!moves)
                l.film.speed.across[i] = l.film.speed.beside[i] = 0;
            for (int b = 0; b < rows->bands; b++)
                if (fl_random_below(&r, 2))
                    rows->verdict[i * (size_t)rows->bands + (size_t)b] =
                        fmaxf(-1, fminf(1, lean + 2 * (float)fl_random_uniform(&r) - 1));
        }
        fl_evidence_finish(&l.film.evidence);
        fl_evidence_gather(&l.film.evidence, rows, &l.film.speed, &l.film.scan);
        l.found = (struct fl_rates_found){.rates = {1 / plan.on_hz,
                                                    1 / plan.off_hz,
                                                    {k % 3 ? 0.5 : 0.35, k % 3 ? 0.5 : 0.65},
                                                    0,
                                                    0.01,
                                                    2},
                                          .saw_on = k % 2,
                                          .saw_off = k % 3,
                                          .on_counted = k % 4};
        const struct fl_label_settings set = {.duration_s = l.duration_s, .native_height = 1080};
        fl_label(&l.states, &l.flips, &l.film.evidence, rows, &l.found, &l.film.scan, &set);
        assert_sound(&l);
        labelled_finish(&l);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lapses_of_a_perfect_film),
        cmocka_unit_test(lapses_of_a_poor_film),
        cmocka_unit_test(flips_of_a_perfect_film),
        cmocka_unit_test(a_take_that_is_never_on_has_no_lapse),
        cmocka_unit_test(lapses_at_the_ends_of_the_take),
        cmocka_unit_test(an_end_that_nothing_shows_is_bracketed),
        cmocka_unit_test(a_gap_parts_two_runs),
        cmocka_unit_test(each_part_speaks_for_itself),
        cmocka_unit_test(a_heavy_scene_is_no_lapse),
        cmocka_unit_test(a_hitch_is_no_lapse),
        cmocka_unit_test(local_recordings_are_labelled),
        cmocka_unit_test(what_cannot_be_told_is_unseen_throughout),
        cmocka_unit_test(any_evidence_gives_a_sound_answer),
    };
    return RUN_TESTS(tests);
}
