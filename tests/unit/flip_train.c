#include "flip_train.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/random.h"

double train_duration(const struct train_plan *plan)
{
    return plan->part[plan->n_parts - 1].end_s;
}

static const struct train_part *part_at(const struct train_plan *plan, double time_s)
{
    for (size_t i = 0; i < plan->n_parts; i++)
        if (time_s < plan->part[i].end_s)
            return &plan->part[i];
    return &plan->part[plan->n_parts - 1];
}

static enum train_state planned(const struct train_plan *plan, double time_s)
{
    return part_at(plan, time_s)->state;
}

static int frames_at(const struct train_plan *plan, double time_s)
{
    int part = part_at(plan, time_s)->frames;
    return part ? part : plan->frames ? plan->frames : 2;
}

/* A switch takes hold at the next rendered frame. */
static enum fl_gap_mode next_mode(const struct train_plan *plan, enum fl_gap_mode last, double t,
                                  struct fl_random *r)
{
    int n = fl_gap_frames(last);
    if (n && fl_gap_picture(last) + 1 < n)
        return fl_gap_on(n, fl_gap_picture(last) + 1);
    if (planned(plan, t) == TRAIN_OFF)
        return FL_GAP_OFF;
    return fl_random_uniform(r) < plan->missed ? FL_GAP_MISSED : fl_gap_on(frames_at(plan, t), 0);
}

static double gap_length(const struct train_plan *plan, enum fl_gap_mode mode, struct fl_random *r)
{
    int n = fl_gap_frames(mode);
    double jitter = plan->jitter > 0 ? plan->jitter : 0.03,
           middle = mode == FL_GAP_OFF ? 1 / plan->off_hz : 1 / plan->on_hz;
    if (n) {
        double share = plan->share > 0 ? plan->share : 1.0 / n;
        middle *= fl_gap_picture(mode) == 0 ? share : (1 - share) / (n - 1);
    }
    return middle * exp(jitter * fl_random_normal(r));
}

void train_run(struct train *t, const struct train_plan *plan)
{
    struct fl_random r;
    size_t cap = 0;
    double at = -0.1, end = train_duration(plan) + 0.1;
    enum fl_gap_mode mode = FL_GAP_OFF;
    enum { SLIDES = 5 };
    int off = SLIDES;
    fl_random_seed(&r, plan->seed);
    *t = (struct train){.plan = plan};
    while (at < end) {
        mode = next_mode(plan, mode, at, &r);
        double shown = plan->quantum_s > 0 ? ceil(at / plan->quantum_s) * plan->quantum_s : at;
        if (t->n &&
            shown <= t->flip[t->n - 1].time_s) /* never shown: the one after took its tick */
            t->n--;
        FL_PUSH(t->flip, t->n, cap, ((struct train_flip){shown, mode}));
        off = mode == FL_GAP_OFF ? off + 1 : 0;
        const bool slides = mode == FL_GAP_OFF && off <= SLIDES;
        at += gap_length(plan, mode, &r) * (slides ? 1 - plan->slide : 1);
    }
}

void train_finish(struct train *t)
{
    free(t->flip);
    *t = (struct train){0};
}

size_t train_last_flip(const struct train *t, double time_s)
{
    size_t lo = 0, hi = t->n;
    while (hi - lo > 1) {
        size_t mid = (lo + hi) / 2;
        if (t->flip[mid].time_s <= time_s)
            lo = mid;
        else
            hi = mid;
    }
    return lo;
}

enum train_state train_at(const struct train *t, double time_s)
{
    if (planned(t->plan, time_s) == TRAIN_REST)
        return TRAIN_REST;
    return t->flip[train_last_flip(t, time_s)].mode == FL_GAP_OFF ? TRAIN_OFF : TRAIN_ON;
}

enum { SPEED = 6 }; /* working px a frame */

static double row_time(const struct train_film *f, size_t frame, int band)
{
    return f->time_s[frame] + f->scan.period_s * (1 - f->scan.blank) * (band + 0.5) / f->rows.bands;
}

/* Which of the synthesised pictures after a rendered one this is; 0: it is rendered. */
static int made_up(enum fl_gap_mode mode)
{
    return fl_gap_frames(mode) ? fl_gap_picture(mode) : 0;
}

static double detail_of(const struct train *t, double time_s)
{
    return made_up(t->flip[train_last_flip(t, time_s)].mode) ? -t->plan->softness : 0;
}

/* How far a picture rendered for flip k has turned, s of steady turning. */
static double turned(const struct train *t, size_t k)
{
    const double rate = 2 * FL_PI * 3, at = t->flip[k].time_s;
    return at + t->plan->sway / rate * sin(rate * at);
}

/* What a flip shows, s of steady turning: a rendered picture the place of its own time, a
 * synthesised one its part of the way to the next. */
static double place_of(const struct train *t, size_t k)
{
    size_t of = (size_t)made_up(t->flip[k].mode), n = (size_t)fl_gap_frames(t->flip[k].mode);
    if (!of || k < of || k - of + n >= t->n)
        return turned(t, k);
    double from = turned(t, k - of), to = turned(t, k - of + n);
    return from + (to - from) * (double)of / (double)n;
}

static void see_row(struct train_film *f, const struct train *t, const struct train_camera *c,
                    size_t i, int b, struct fl_random *r)
{
    size_t at = i * (size_t)f->rows.bands + (size_t)b;
    double now_s = row_time(f, i, b);
    f->rows.verdict[at] = 0;
    f->rows.shift[at] = f->rows.detail[at] = NAN;
    if (i == 0 || planned(t->plan, now_s) == TRAIN_REST)
        return;
    size_t now = train_last_flip(t, now_s), was = train_last_flip(t, row_time(f, i - 1, b));
    bool still = now == was, wrong = fl_random_uniform(r) < c->wrong;
    f->rows.verdict[at] = still != wrong ? 1 : -1;
    if (!wrong)
        f->rows.shift[at] =
            (float)((place_of(t, now) - place_of(t, was)) / f->scan.period_s * SPEED);
    if (i + 1 < f->rows.frames && t->plan->softness > 0)
        f->rows.detail[at] =
            (float)(detail_of(t, now_s) - 0.5 * detail_of(t, row_time(f, i - 1, b)) -
                    0.5 * detail_of(t, row_time(f, i + 1, b)) + 0.02 * fl_random_normal(r));
}

static void place_frames(struct train_film *f, const struct train *t, const struct train_camera *c,
                         double rate_hz)
{
    size_t all = (size_t)lrint(train_duration(t->plan) * rate_hz), n = 0;
    f->time_s = FL_NEW(double, all);
    f->number = FL_NEW(long, all);
    for (size_t i = 0; i < all; i++) {
        if (c->lost && c->lost[i] && i && i + 1 < all)
            continue;
        f->time_s[n] = (double)i / rate_hz;
        f->number[n++] = (long)i;
    }
    f->scan =
        (struct fl_scan){n, f->time_s, f->number, 1 / rate_hz, c->blank > 0 ? c->blank : 0.045};
}

void train_film(struct train_film *f, const struct train *t, const struct train_camera *camera)
{
    const struct train_camera none = {0}, *c = camera ? camera : &none;
    struct fl_random r;
    fl_random_seed(&r, c->seed + 77);
    *f = (struct train_film){0};
    place_frames(f, t, c, c->rate_hz > 0 ? c->rate_hz : 120);
    size_t frames = f->scan.n, bands = (size_t)(c->bands > 0 ? c->bands : 16), n = frames * bands;
    f->rows = (struct fl_rows){.frames = frames,
                               .bands = (int)bands,
                               .verdict = FL_NEW(float, n),
                               .shift = FL_NEW(float, n),
                               .detail = FL_NEW(float, n),
                               .tile_weight = FL_NEW(float, bands),
                               .move_x = FL_NEW(float, frames),
                               .move_y = FL_NEW(float, frames)};
    f->speed = (struct fl_scene_speed){frames, FL_NEW(float, frames), FL_NEW(float, frames)};
    for (size_t i = 0; i < frames; i++) {
        bool moves = planned(t->plan, f->time_s[i]) != TRAIN_REST &&
                     planned(t->plan, f->time_s[i] - 0.03) != TRAIN_REST &&
                     planned(t->plan, f->time_s[i] + 0.03) != TRAIN_REST;
        f->speed.across[i] = f->speed.beside[i] = moves ? SPEED : 0;
        f->rows.move_x[i] = moves ? SPEED : 0;
        for (int b = 0; b < (int)bands; b++)
            see_row(f, t, c, i, b, &r);
    }
    fl_evidence_gather(&f->evidence, &f->rows, &f->speed, &f->scan);
}

void train_film_finish(struct train_film *f)
{
    fl_rows_finish(&f->rows);
    fl_scene_speed_finish(&f->speed);
    fl_evidence_finish(&f->evidence);
    free(f->time_s);
    free(f->number);
    *f = (struct train_film){0};
}
