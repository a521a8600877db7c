#include "simulate.h"

#include <stdlib.h>

#include "maths/logistic.h"
#include "maths/random.h"

#define MANY 100000
#define HIDDEN 0.8

static bool trips(const struct scenario *s, struct fl_random *rng, double x, double theta)
{
    double watched = x + s->blur * fl_random_normal(rng);
    bool trip = fl_random_uniform(rng) < fl_logistic_p(-s->slope * theta, s->slope, watched);
    return trip != (fl_random_uniform(rng) < s->stray);
}

static double peak_octaves(struct fl_random *rng)
{
    return log2(SLOWEST) + log2(FASTEST / SLOWEST) * fl_random_uniform(rng);
}

static struct fl_take *take_of(const struct scenario *s, struct fl_random *rng, double theta,
                               double cpi)
{
    struct fl_take *t = fl_take_new();
    t->spec.id = t->spec.game = "invented";
    t->spec.condition = "default";
    t->spec.counts_per_inch = cpi;
    t->spec.degrees_per_count = 35.2 / cpi;
    t->kernel_ms = 14;
    t->visible_floor_deg_s = 15;
    t->n_flicks = (size_t)s->flicks;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, t->n_flicks);
    theta += s->take_sd * fl_random_normal(rng);
    for (int i = 0; i < s->flicks; i++) {
        struct fl_flick *f = &t->flicks[i];
        double x = peak_octaves(rng);
        for (int q = 0; q < FL_QUANTITIES; q++)
            f->peak[q] = FL_UNKNOWN;
        f->peak[FL_CAMERA_SPEED] = exp2(x);
        f->start_s = 1.5 * i;
        f->end_s = f->start_s + 0.3;
        f->at_risk = FL_YES;
        f->tripped = trips(s, rng, x, theta) ? FL_YES : FL_NO;
        if (exp2(x) < s->hidden_below && fl_random_uniform(rng) < HIDDEN)
            f->tripped = FL_ANSWER_UNKNOWN;
    }
    return t;
}

struct fl_session *simulate(const struct scenario *s, uint64_t k, double *v50)
{
    struct fl_random rng;
    fl_random_seed(&rng, k + 1);
    double theta = log2(s->v50_low) + log2(s->v50_high / s->v50_low) * fl_random_uniform(&rng);
    struct fl_session *session = fl_session_new(s->name);
    for (int i = 0; i < s->settings * s->takes; i++) {
        bool second = i >= s->takes;
        fl_session_add(
            session, take_of(s, &rng, theta - (second ? log2(s->ratio) : 0), second ? 1600 : 400));
    }
    *v50 = exp2(theta);
    return session;
}

double offset_of_many(const struct scenario *s)
{
    struct fl_random rng;
    struct fl_logistic fit;
    double *x = FL_NEW(double, MANY), theta = log2(sqrt(s->v50_low * s->v50_high));
    bool *y = FL_NEW(bool, MANY);
    fl_random_seed(&rng, 99);
    for (int i = 0; i < MANY; i++) {
        x[i] = peak_octaves(&rng);
        y[i] = trips(s, &rng, x[i], theta);
    }
    int failed = fl_logistic_fit(&fit, x, y, MANY, false);
    free(x);
    free(y);
    return failed ? FL_UNKNOWN : -fit.alpha / fit.beta - theta;
}
