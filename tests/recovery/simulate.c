/* Flicks whose outcomes follow a logistic law, each take with its own threshold. */
#include "simulate.h"

#include <stdlib.h>

#include "maths/logistic.h"
#include "maths/random.h"

#define MANY 100000
#define HIDDEN 0.8
#define PRIOR_SCALE 0.25 /* of the spread where it is drawn: as DESIGN has it */

/* One setting as drawn. */
struct setting {
    double theta, slope, sd;
};

static bool trips(const struct scenario *s, struct fl_random *rng, double x, double theta,
                  double slope)
{
    double watched = x + s->blur * fl_random_normal(rng);
    bool trip = fl_random_uniform(rng) < fl_logistic_p(-slope * theta, slope, watched);
    return trip != (fl_random_uniform(rng) < s->stray);
}

static double peak_octaves(const struct scenario *s, double theta, struct fl_random *rng)
{
    if (s->span > 0)
        return theta + log2(s->span) * (2 * fl_random_uniform(rng) - 1);
    return log2(SLOWEST) + log2(FASTEST / SLOWEST) * fl_random_uniform(rng);
}

/* about: V50 of the setting; theta: of the take. */
static void make_flick(struct fl_flick *f, const struct scenario *s, double about, double theta,
                       double slope, struct fl_random *rng)
{
    double x = peak_octaves(s, about, rng);
    for (int q = 0; q < FL_QUANTITIES; q++)
        f->peak[q] = FL_UNKNOWN;
    f->at_risk = FL_YES;
    f->tripped = trips(s, rng, x, theta, slope) ? FL_YES : FL_NO;
    f->peak[FL_CAMERA_SPEED] = exp2(x);
    if (s->peak_error > 0)
        f->peak[FL_CAMERA_SPEED] *= exp(s->peak_error * fl_random_normal(rng));
    if (exp2(x) < s->hidden_below && fl_random_uniform(rng) < HIDDEN)
        f->tripped = FL_ANSWER_UNKNOWN;
}

static struct fl_take *take_of(const struct scenario *s, int setting, const struct setting *of,
                               double theta, struct fl_random *rng)
{
    struct fl_take *t = fl_take_new();
    double cpi = 400 * exp2(setting);
    t->spec.id = t->spec.game = "invented";
    t->spec.condition = "default";
    t->spec.counts_per_inch = cpi;
    t->spec.degrees_per_count = 35.2 / cpi;
    t->kernel_ms = 14;
    t->visible_floor_deg_s = 15;
    t->n_flicks = (size_t)s->flicks;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, t->n_flicks);
    for (int i = 0; i < s->flicks; i++) {
        t->flicks[i].start_s = 1.5 * i;
        t->flicks[i].end_s = t->flicks[i].start_s + 0.3;
        make_flick(&t->flicks[i], s, of->theta, theta, of->slope, rng);
    }
    return t;
}

static double any_theta(const struct scenario *s, struct fl_random *rng)
{
    double low = s->v50_low > 0 ? s->v50_low : 150, high = s->v50_high > 0 ? s->v50_high : 400;
    return log2(low) + log2(high / low) * fl_random_uniform(rng);
}

/* Half-t of 3 degrees of freedom, cut off. */
static double any_sd(struct fl_random *rng)
{
    double sd;
    do {
        double z = fl_random_normal(rng), chi2 = 0;
        for (int i = 0; i < 3; i++) {
            double y = fl_random_normal(rng);
            chi2 += y * y;
        }
        sd = PRIOR_SCALE * fabs(z) / sqrt(chi2 / 3);
    } while (sd > MOST_SD);
    return sd;
}

static struct setting setting_of(const struct scenario *s, int i, double first,
                                 struct fl_random *rng)
{
    struct setting out = {first, s->slope, s->take_sd};
    if (i && s->ratio > 0)
        out.theta = first - log2(s->ratio);
    else if (i)
        out.theta = any_theta(s, rng);
    if (s->any_sd)
        out.sd = any_sd(rng);
    if (!i && s->odd_sd > 0)
        out.sd = s->odd_sd;
    if (!i && s->odd_slope > 0)
        out.slope = s->odd_slope;
    return out;
}

struct fl_session *simulate(const struct scenario *s, uint64_t k, struct truth *truth)
{
    struct fl_random rng;
    fl_random_seed(&rng, k + 1);
    double first = any_theta(s, &rng);
    struct fl_session *session = fl_session_new(s->name);
    for (int i = 0; i < s->settings; i++) {
        struct setting g = setting_of(s, i, first, &rng);
        int takes = s->ragged ? 1 + i % s->takes : s->takes;
        truth->setting[i] = g.theta;
        for (int t = 0; t < takes; t++) {
            truth->take[i][t] = g.theta + g.sd * fl_random_normal(&rng);
            fl_session_add(session, take_of(s, i, &g, truth->take[i][t], &rng));
        }
        truth->another[i] = g.theta + g.sd * fl_random_normal(&rng);
    }
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
        x[i] = peak_octaves(s, theta, &rng);
        y[i] = trips(s, &rng, x[i], theta, s->slope);
    }
    int failed = fl_logistic_fit(&fit, x, y, MANY, false);
    free(x);
    free(y);
    return failed ? FL_UNKNOWN : -fit.alpha / fit.beta - theta;
}
