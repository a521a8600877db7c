/* How many flicks a V50 needs: at the speeds that the desk is told to try next, and at log-uniform
 * ones. Simulated settings; both are judged by the same posterior and stop at ±10 %.
 *
 *   next_speed [--settings N]     the page docs/next-speed.md on stdout
 *   next_speed --quick            fewer, as a test: 1 if a target is missed
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/logistic.h"
#include "maths/random.h"
#include "maths/robust.h"
#include "study/plan/forecast.h"
#include "study/plan/next_speed.h"

enum { MOST = 300 };
#define WANTED 0.1

struct setting {
    double v50, slope;
};

struct outcome {
    double *flicks; /* a setting: until ±10 %; MOST + 1: not reached */
    double held;    /* share of settings that were reached whose interval holds the truth */
};

/* V50s from 60 to 900 deg/s, so that a hand can go beyond either; slope NaN: 4 to 64 logits. */
static struct setting draw(struct fl_random *rng, double slope)
{
    const double v50 = 60 * pow(15, fl_random_uniform(rng)),
                 any = 4 * pow(16, fl_random_uniform(rng));
    return (struct setting){v50, isnan(slope) ? any : slope};
}

static bool trips(struct fl_random *rng, const struct setting *s, double v)
{
    const double chance = fl_logistic_p(-s->slope * log2(s->v50), s->slope, log2(v));
    return fl_random_uniform(rng) < FL_STRAY + (1 - 2 * FL_STRAY) * chance;
}

static double play(struct fl_random *rng, const struct setting *s, bool adaptive, bool *held)
{
    struct fl_next_speed n;
    struct fl_next_speed_answer a;
    int flick = 0;
    fl_next_speed_init(&n);
    fl_next_speed_answer(&n, WANTED, &a);
    while (flick < MOST && !a.enough) {
        const double aim =
            adaptive ? log2(a.next)
                     : FL_PLAN_LOWEST + (FL_PLAN_HIGHEST - FL_PLAN_LOWEST) * fl_random_uniform(rng);
        const double v = exp2(aim + FL_HAND_SCATTER * fl_random_normal(rng));
        fl_next_speed_add(&n, v, trips(rng, s, v));
        fl_next_speed_answer(&n, WANTED, &a);
        flick++;
    }
    *held = a.low <= s->v50 && s->v50 <= a.high;
    const bool enough = a.enough;
    fl_next_speed_finish(&n);
    return enough ? flick : MOST + 1;
}

static void study(struct outcome *out, double slope, bool adaptive, int settings)
{
    struct fl_random rng;
    int reached = 0, held = 0;
    fl_random_seed(&rng, 17);
    out->flicks = FL_NEW(double, (size_t)settings);
    for (int i = 0; i < settings; i++) {
        struct fl_random own;
        const struct setting s = draw(&rng, slope);
        bool in = false;
        fl_random_seed(&own, 1000 + (unsigned)i);
        out->flicks[i] = play(&own, &s, adaptive, &in);
        reached += out->flicks[i] <= MOST;
        held += out->flicks[i] <= MOST && in;
    }
    out->held = reached ? (double)held / reached : NAN;
}

static void cell(const struct outcome *o, int n)
{
    printf(" %.0f | %.0f to %.0f | %.1f %% |", fl_quantile(o->flicks, (size_t)n, 0.5),
           fl_quantile(o->flicks, (size_t)n, 0.25), fl_quantile(o->flicks, (size_t)n, 0.75),
           100 * o->held);
}

static void row(const char *words, double slope, int n, double median[2])
{
    struct outcome o[2];
    for (int k = 0; k < 2; k++) {
        study(&o[k], slope, k == 0, n);
        median[k] = fl_quantile(o[k].flicks, (size_t)n, 0.5);
    }
    printf("| %s | %d |", words, n);
    cell(&o[0], n);
    cell(&o[1], n);
    printf(" %.2f |\n", median[0] / median[1]);
    fflush(stdout);
    free(o[0].flicks);
    free(o[1].flicks);
}

int main(int argc, char **argv)
{
    const bool quick = argc > 1 && !strcmp(argv[1], "--quick");
    const int n = quick ? 60 : argc > 2 && !strcmp(argv[1], "--settings") ? atoi(argv[2]) : 1000;
    double any[2], each[2];
    printf(
        "# How many flicks a trip speed needs at the desk\n\n"
        "Simulated settings, V50 log-uniform from 60 to 900 deg/s, outcomes by the logistic curve "
        "of the\nslope given with %.0f %% strays at either end, a hand that misses the speed it "
        "aims at by %.0f %%.\nFlicks until the 95 %% interval is ±%.0f %% or narrower (at most "
        "%d), the middle half of the settings,\nand how often the interval then holds the "
        "truth: at the speeds that `flinch watch` says to try\nnext, and at speeds drawn "
        "log-uniformly from 40 to 1280 deg/s. `ninja -C build next-speed`\nwrites this page.\n\n"
        "| slope | settings | next speed: median | middle half | holds | log-uniform: median | "
        "middle half | holds | ratio |\n|---|---|---|---|---|---|---|---|---|\n",
        100 * FL_STRAY, 100 * (exp2(FL_HAND_SCATTER) - 1), 100 * WANTED, MOST);
    row("4 to 64 logits an octave, log-uniform", NAN, n, any);
    if (quick)
        return any[0] > 24 || any[0] > 0.4 * any[1]; /* of 60 settings the median is some 3 off */
    row("40 (sharp)", 40, n / 4, each);
    row("16", 16, n / 4, each);
    row("8", 8, n / 4, each);
    row("4 (soft)", 4, n / 4, each);
    return any[0] > 20;
}
