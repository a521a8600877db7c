/* Searches thresholds and delays for the rule that agrees best with the seen states. */
#include "study/rule/rule_fit.h"

#include <stdlib.h>

#include "base/mem.h"
#include "maths/robust.h"

/* The search moves in these coordinates: log2 theta_off, log2 theta_on/theta_off, d_off, d_on. */
enum { SPEED, RATIO, TRIP, RETURN, AXES };
struct place {
    double at[AXES];
};

#define LEAST_RATIO (-5.0) /* log2: theta_on at least 1/32 of theta_off */
#define SPEEDS 28          /* of the coarse grid */

static struct fl_cutoff rule_at(const struct place *p)
{
    double theta = exp2(p->at[SPEED]);
    return (struct fl_cutoff){theta, theta * exp2(p->at[RATIO]), p->at[TRIP], p->at[RETURN]};
}

static struct place place_of(const struct fl_cutoff *c)
{
    return (struct place){
        {log2(c->theta_off), log2(c->theta_on / c->theta_off), c->d_off_s, c->d_on_s}};
}

struct fl_disagreement fl_rule_fit_judge(struct fl_rule_fit *f, const struct fl_cutoff *c)
{
    struct fl_disagreement d = {0};
    for (size_t i = 0; i < f->n; i++)
        if (f->track[i].total_on_s + f->track[i].total_off_s > 0)
            fl_track_judge(&f->track[i], c, &f->buffer, &d);
    return d;
}

/* On and off weigh alike by the second: balanced by share, one stray lapse in a take that is seldom
 * off would outweigh many flicks that held, and drag the threshold. */
static double wrong_s(struct fl_rule_fit *f, const struct place *p)
{
    struct fl_cutoff c = rule_at(p);
    struct fl_disagreement d = fl_rule_fit_judge(f, &c);
    return d.on_wrong_s + d.off_wrong_s;
}

/* ---- range and coarse grid ---- */

static bool find_range(struct fl_rule_fit *f)
{
    f->low = INFINITY;
    f->high = 0;
    for (size_t i = 0; i < f->n; i++) {
        const struct fl_track *k = &f->track[i];
        for (size_t j = 0, p = 0; j < k->speeds.n; j++) {
            while (p < k->n_pieces && k->piece[p].end_s <= k->speeds.time_s[j])
                p++;
            bool seen = p < k->n_pieces && k->piece[p].start_s <= k->speeds.time_s[j];
            if (!seen || !(k->q[j] > 0))
                continue;
            f->low = fmin(f->low, k->q[j]);
            f->high = fmax(f->high, k->q[j]);
        }
    }
    f->low = fmax(f->low, f->high / 1024);
    return f->high > f->low;
}

struct grid {
    const double *ratio, *trip, *ret;
    int ratios, trips, returns;
};

/* Best rule of each speed and of each return delay. */
static void scan(struct fl_rule_fit *f, const struct grid *g)
{
    double *least = FL_NEW(double, SPEEDS + (size_t)g->returns);
    f->n_starts = SPEEDS + (size_t)g->returns;
    f->start = FL_NEW(struct fl_cutoff, f->n_starts);
    for (size_t i = 0; i < f->n_starts; i++)
        least[i] = INFINITY;
    for (int v = 0; v < SPEEDS; v++)
        for (int r = 0; r < g->ratios; r++)
            for (int t = 0; t < g->trips; t++)
                for (int d = 0; d < g->returns; d++) {
                    double speed = log2(f->low) + (v + 0.5) / SPEEDS * log2(f->high / f->low);
                    struct place p = {{speed, g->ratio[r], g->trip[t], g->ret[d]}};
                    double wrong = wrong_s(f, &p);
                    size_t slot[2] = {(size_t)v, SPEEDS + (size_t)d};
                    for (int k = 0; k < 2; k++)
                        if (wrong < least[slot[k]]) {
                            least[slot[k]] = wrong;
                            f->start[slot[k]] = rule_at(&p);
                        }
                }
    free(least);
}

bool fl_rule_fit_begin(struct fl_rule_fit *f, struct fl_track *track, size_t n)
{
    static const double ratio[] = {-0.01, -0.6, -1.4, -3};
    static const double trip[] = {0.002, 0.03, 0.08, 0.16, 0.32};
    static const double ret[] = {0.005, 0.05, 0.1, 0.17, 0.26, 0.4, 0.65, 1};
    const struct grid g = {ratio, trip, ret, 4, 5, 8};
    *f = (struct fl_rule_fit){.track = track, .n = n};
    if (!find_range(f))
        return false;
    scan(f, &g);
    return true;
}

void fl_rule_fit_end(struct fl_rule_fit *f)
{
    free(f->start);
    free(f->buffer.v);
    *f = (struct fl_rule_fit){0};
}

/* ---- search by pattern (Hooke and Jeeves 1961), with directions along the known ridges ---- */

/* Steps that leave the range end at its edge. */
static void keep_inside(const struct fl_rule_fit *f, struct place *p)
{
    p->at[SPEED] = fl_clamp(p->at[SPEED], log2(f->low), log2(f->high));
    p->at[RATIO] = fl_clamp(p->at[RATIO], LEAST_RATIO, 0);
    p->at[TRIP] = fl_clamp(p->at[TRIP], 0, FL_RULE_D_OFF_S);
    p->at[RETURN] = fl_clamp(p->at[RETURN], 0, FL_RULE_D_ON_S);
}

/* Both thresholds; theta_off alone; theta_on alone; the delays; a lower threshold with a longer
 * delay on either side: such rules trip or return at nearly the same times. */
static const double direction[][AXES] = {{1, 0, 0, 0}, {1, -1, 0, 0},  {0, 1, 0, 0}, {0, 0, 1, 0},
                                         {0, 0, 0, 1}, {1, -1, -1, 0}, {0, 1, 0, 1}};
enum { DIRECTIONS = sizeof direction / sizeof *direction };
static const double first_step[AXES] = {0.15, 0.15, 0.024, 0.032};

static bool improve(struct fl_rule_fit *f, struct place *p, double *least, double scale)
{
    bool better = false;
    for (int k = 0; k < 2 * DIRECTIONS; k++) {
        struct place next = *p;
        double sign = k % 2 ? -scale : scale;
        for (int a = 0; a < AXES; a++)
            next.at[a] += sign * direction[k / 2][a] * first_step[a];
        keep_inside(f, &next);
        double wrong = wrong_s(f, &next);
        if (wrong < *least - 1e-9) {
            *least = wrong;
            *p = next;
            better = true;
        }
    }
    return better;
}

/* The best start that is worse than bar; returns its disagreement, INFINITY if there is none. */
static double start_after(struct fl_rule_fit *f, double bar, struct place *from)
{
    double least = INFINITY;
    for (size_t i = 0; i < f->n_starts; i++) {
        struct place p = place_of(&f->start[i]);
        double wrong = wrong_s(f, &p);
        if (wrong > bar && wrong < least) {
            least = wrong;
            *from = p;
        }
    }
    return least;
}

static double search(struct fl_rule_fit *f, struct place *p, int halvings)
{
    enum { SWEEPS = 12 };
    double least = wrong_s(f, p);
    for (int h = 0; h <= halvings; h++)
        for (int s = 0; s < SWEEPS && improve(f, p, &least, ldexp(1, -h)); s++)
            ;
    return least;
}

/* ---- rules that agree with the states just as well ---- */

/* A step along an axis, theta_on held, and a smaller or larger one along another. */
static struct place moved(const struct fl_rule_fit *f, struct place p, int axis, double by,
                          int other, double with)
{
    p.at[axis] += by;
    p.at[RATIO] -= axis == SPEED ? by : 0;
    p.at[other] += with;
    p.at[RATIO] -= other == SPEED ? with : 0;
    keep_inside(f, &p);
    return p;
}

/* Moves p a step on along the axis if some rule there stays within the bar. */
static bool step_on(struct fl_rule_fit *f, struct place *p, int axis, double by, double scale,
                    double bar)
{
    static const double with[] = {0, 0.5, -0.5, 1, -1, 2, -2, 4, -4, 8, -8};
    for (int o = 0; o < AXES; o++)
        for (size_t k = 0; k < sizeof with / sizeof *with; k++) {
            if (o == axis ? k > 0 : k == 0)
                continue; /* alone, then with each other axis */
            struct place next = moved(f, *p, axis, by, o, with[k] * scale * first_step[o]);
            bool forward = (next.at[axis] - p->at[axis]) * by > 0;
            if (forward && wrong_s(f, &next) <= bar) {
                *p = next;
                return true;
            }
        }
    return false;
}

/* The furthest rule along an axis within the bar. */
static struct place slide(struct fl_rule_fit *f, struct place p, int axis, double sign, double bar)
{
    enum { MOST_STEPS = 60 };
    int steps = 0;
    for (double scale = 1; scale > 1.0 / 32 && steps < MOST_STEPS;) {
        if (step_on(f, &p, axis, sign * scale * first_step[axis], scale, bar))
            steps++;
        else
            scale /= 2;
    }
    return p;
}

/* Where several rules agree equally well, the middle one. */
static void centre(struct fl_rule_fit *f, struct place *p, double bar)
{
    for (int a = AXES - 1; a >= 0; a--) {
        if (a == RATIO)
            continue;
        struct place up = slide(f, *p, a, 1, bar), down = slide(f, *p, a, -1, bar), middle;
        for (int k = 0; k < AXES; k++)
            middle.at[k] = (up.at[k] + down.at[k]) / 2;
        if (wrong_s(f, &middle) <= bar)
            *p = middle;
    }
}

struct fl_cutoff fl_rule_fit_best(struct fl_rule_fit *f)
{
    double bar = -INFINITY, best = INFINITY;
    struct place found = {{0}};
    enum { STARTS = 3 };
    for (int s = 0; s < STARTS; s++) { /* from the best start, then the second best … */
        struct place from;
        bar = start_after(f, bar, &from);
        if (isinf(bar))
            break;
        double wrong = search(f, &from, 5);
        if (wrong < best) {
            best = wrong;
            found = from;
        }
    }
    centre(f, &found, best + 1e-9);
    return rule_at(&found);
}

struct fl_cutoff fl_rule_fit_quick(struct fl_rule_fit *f)
{
    struct place p = {{0}};
    if (!isinf(start_after(f, -INFINITY, &p)))
        search(f, &p, 4);
    return rule_at(&p);
}

void fl_rule_fit_alike(struct fl_rule_fit *f, const struct fl_cutoff *c, double slack_s,
                       struct fl_cutoff alike[FL_RULE_ALIKE])
{
    struct place p = place_of(c);
    double bar = wrong_s(f, &p) + slack_s;
    for (int k = 0; k < FL_RULE_ALIKE; k++) {
        struct place end = slide(f, p, k / 2, k % 2 ? 1 : -1, bar);
        alike[k] = rule_at(&end);
    }
}
