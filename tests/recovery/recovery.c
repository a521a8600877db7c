/* Recovery study: does flinch find the trip speeds that were put in? A line of figures a scenario.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"
#include "simulate.h"
#include "target.h"
#include "watched.h"
#include "study/compare/comparisons.h"
#include "study/curve/curve.h"
#include "study/curve/curves.h"
#include "study/compare/comparison.h"

#define FULL 1000
#define QUICK 24
#define WATCHED 200 /* sessions a scenario in which a quantity is watched: they are larger */
#define WATCHED_QUICK 3
#define TARGET 0.94 /* of the intervals hold the truth */
#define FALSE_CLAIMS 0.05
#define BOUND_TARGET 0.95

static const struct scenario scenarios[] = {
    {"sharp", "3 takes of 20 flicks, 40 logits an octave", 1, 3, 20, 40, 0, 150, 400, 1, 0, 0, 0},
    {"soft", "3 takes of 20 flicks, 3 logits an octave", 1, 3, 20, 3, 0, 150, 400, 1, 0, 0, 0},
    {"few_8", "1 take of 8 flicks, 4 logits an octave", 1, 1, 8, 4, 0, 150, 400, 1, 0, 0, 0},
    {"few_15", "1 take of 15 flicks, 4 logits an octave", 1, 1, 15, 4, 0, 150, 400, 1, 0, 0, 0},
    {"few_30", "1 take of 30 flicks, 4 logits an octave", 1, 1, 30, 4, 0, 150, 400, 1, 0, 0, 0},
    {"few_60", "1 take of 60 flicks, 4 logits an octave", 1, 1, 60, 4, 0, 150, 400, 1, 0, 0, 0},
    {"spread_2", "2 takes of 25, 0.2 octaves between takes", 1, 2, 25, 6, 0.2, 150, 400, 1, 0, 0,
     0},
    {"spread_4", "4 takes of 25, 0.2 octaves between takes", 1, 4, 25, 6, 0.2, 150, 400, 1, 0, 0,
     0},
    {"spread_8", "8 takes of 25, 0.2 octaves between takes", 1, 8, 25, 6, 0.2, 150, 400, 1, 0, 0,
     0},
    {"strays", "3 takes of 20, 3 % of outcomes turned round, 12 logits an octave", 1, 3, 20, 12, 0,
     150, 400, 1, 0.03, 0, 0},
    {"hidden", "3 takes of 25, outcome unseen for four in five flicks under 150 deg/s", 1, 3, 25, 5,
     0, 120, 200, 1, 0, 0, 150},
    {"none_trip", "2 takes of 20, V50 beyond the fastest flick", 1, 2, 20, 8, 0, 1500, 4000, 1, 0,
     0, 0},
    {"all_trip", "2 takes of 20, V50 below the slowest flick", 1, 2, 20, 8, 0, 12, 32, 1, 0, 0, 0},
    {"wrong_quantity", "3 takes of 20, the watched quantity strays 0.4 octaves from camera speed",
     1, 3, 20, 12, 0, 250, 250, 1, 0, 0.4, 0},
    {"ratio_1", "400 against 1600 counts/inch, 3 takes of 25 each, 0.1 octaves between takes", 2, 3,
     25, 6, 0.1, 150, 400, 1, 0, 0, 0},
    {"ratio_0.7", "the same, true ratio 0.7", 2, 3, 25, 6, 0.1, 150, 400, 0.7, 0, 0, 0},
    {"ratio_0.7_more", "the same, 6 takes of 25 each", 2, 6, 25, 6, 0.1, 150, 400, 0.7, 0, 0, 0},
};

struct tally {
    int sessions, numbers, held, open, bounds, bounds_right, neither; /* V50 */
    int stray_shown;
    int tested, claims, claims_right, ratio_held; /* ratios */
    double *width, *error;
    size_t widths, errors;
};

static void add_curve(struct tally *t, const struct fl_curve *c, double v50)
{
    t->stray_shown += c->strays > 0;
    if (c->bound == FL_BOUND_ABOVE || c->bound == FL_BOUND_BELOW) {
        t->bounds++;
        t->bounds_right += c->bound == FL_BOUND_ABOVE ? v50 > c->bound_at : v50 < c->bound_at;
    } else if (c->bound == FL_BOUND_NONE) {
        bool open = !fl_known(c->v50_low) || !fl_known(c->v50_high);
        t->numbers++;
        t->held += !(c->v50_low > v50) && !(c->v50_high < v50);
        t->open += open;
        t->width[t->widths++] = open ? INFINITY : log2(c->v50_high / c->v50_low);
        t->error[t->errors++] = fabs(log2(c->v50 / v50));
    } else {
        t->neither++;
    }
}

static void add_comparison(struct tally *t, const struct fl_comparison *c, double ratio)
{
    if (!fl_known(c->p_adjusted))
        return;
    bool claim = c->p_adjusted < 0.05;
    t->tested++;
    t->claims += claim;
    t->claims_right += claim && ratio != 1 && (c->ratio < 1) == (ratio < 1);
    t->ratio_held += !(c->low > ratio) && !(c->high < ratio);
}

static struct tally run(const struct scenario *s, int sessions)
{
    struct tally t = {.sessions = sessions,
                      .width = FL_NEW(double, 2 * (size_t)sessions),
                      .error = FL_NEW(double, 2 * (size_t)sessions)};
    double offset = s->blur > 0 ? offset_of_many(s) : 0;
    for (int k = 0; k < sessions; k++) {
        double v50;
        struct fl_session *session = simulate(s, (uint64_t)k, &v50);
        fl_study_curves(session);
        for (size_t i = 0; i < session->n_curves; i++) {
            const struct fl_curve *c = &session->curves[i];
            if (!c->pooled && c->quantity == FL_CAMERA_SPEED)
                add_curve(&t, c, v50 * exp2(offset) / (c->counts_per_inch > 400 ? s->ratio : 1));
        }
        if (s->settings > 1)
            fl_study_comparisons(session);
        for (size_t i = 0; i < session->n_comparisons; i++)
            add_comparison(&t, &session->comparisons[i], s->ratio);
        fl_session_free(&session);
    }
    return t;
}

/* What the figures of one scenario say against the targets (DESIGN: targets); NULL: nothing. */
static const char *missed(const struct scenario *s, const struct tally *t)
{
    if (too_few(t->held, t->numbers, TARGET))
        return "intervals hold the truth too seldom";
    if (too_few(t->bounds_right, t->bounds, BOUND_TARGET))
        return "bounds lie on the wrong side too often";
    if (s->settings > 1 && s->ratio == 1 && too_many(t->claims, t->tested, FALSE_CLAIMS))
        return "a resolution effect is claimed without cause too often";
    if (s->settings > 1 && too_few(t->ratio_held, t->tested, TARGET))
        return "ratio intervals hold the truth too seldom";
    if (s->settings > 1 && s->ratio != 1 && t->claims != t->claims_right)
        return "an effect is claimed with the wrong sign";
    return NULL;
}

static void print(const struct scenario *s, const struct tally *t)
{
    double width = t->widths ? fl_median(t->width, t->widths) : FL_UNKNOWN;
    double error = t->errors ? fl_median(t->error, t->errors) : FL_UNKNOWN;
    printf("%s\t%s\t%d\t%d\t%d\t%d\t%.4f\t%.4f\t%d\t%d\t%d\t%d\t%d\t%d\t%d\t%d\n", s->name, s->text,
           t->sessions, t->numbers, t->held, t->open, width, error, t->bounds, t->bounds_right,
           t->neither, t->stray_shown, t->tested, t->claims, t->ratio_held, s->settings);
    fflush(stdout);
}

int main(int argc, char **argv)
{
    bool quick = argc > 1 && !strcmp(argv[1], "--quick");
    const char *only = argc > 2 ? argv[2] : NULL;
    int sessions = quick ? QUICK : FULL, failures = 0;
    for (size_t i = 0; i < sizeof scenarios / sizeof *scenarios; i++) {
        const struct scenario *s = &scenarios[i];
        if (only && strcmp(only, s->name))
            continue;
        struct tally t = run(s, sessions);
        print(s, &t);
        const char *why = missed(s, &t);
        if (why)
            fprintf(stderr, "%s: %s\n", s->name, why);
        failures += why != NULL;
        free(t.width);
        free(t.error);
    }
    failures += watched(argc > 3 ? atoi(argv[3]) : quick ? WATCHED_QUICK : WATCHED, only);
    return failures > 0;
}
