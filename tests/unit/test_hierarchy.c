#include "study/curve/hierarchy.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "maths/logistic.h"
#include "test.h"

#define MOST 64
#define MOST_TAKES 12

/* Flicks of one take, evenly spread or drawn. */
struct flicks {
    double x[MOST];
    bool tripped[MOST];
    size_t n;
};

static struct flicks drawn(struct fl_random *rng, size_t n, double theta, double slope, double low,
                           double high)
{
    struct flicks f = {.n = n};
    for (size_t i = 0; i < n; i++) {
        f.x[i] = low + (high - low) * fl_random_uniform(rng);
        f.tripped[i] = fl_random_uniform(rng) < fl_logistic_p(-slope * theta, slope, f.x[i]);
    }
    f.tripped[0] = f.x[0] > theta; /* some of each, whatever is drawn */
    f.tripped[1] = !f.tripped[0];
    f.x[1] = 2 * theta - f.x[0];
    return f;
}

static struct fl_hierarchy_take take_of(const struct flicks *f)
{
    return (struct fl_hierarchy_take){f->x, f->tripped, f->n};
}

static const struct fl_hierarchy_prior as_is = {FL_SPREAD_SCALE, NULL, false};

static struct fl_hierarchy_figures figures_of(const struct fl_hierarchy_setting *s, size_t n,
                                              size_t i, struct fl_arena *arena)
{
    struct fl_hierarchy_figures out;
    struct fl_hierarchy *h = fl_hierarchy_new(&as_is, s, n);
    fl_hierarchy_figures(h, i, &out, arena);
    fl_hierarchy_free(&h);
    return out;
}

/* ---- against plain integration ---- */

/* The model written down once more and integrated by the GNU Scientific Library's Gauss-Legendre
 * rules: no grid, no blurring and no lookup. */
enum { EIGHT = 8, SLOPES = 32, ATOMS = SLOPES + 2, MEANS = 24, PIECES = 6, LEGS = 3 };
static const double SLOPE_LOW = -1, SLOPE_HIGH = 6.5, MEAN_HIGH = 6;

static double likelihood(const struct fl_hierarchy_take *t, double theta, double slope)
{
    double product = 1;
    for (size_t i = 0; i < t->n; i++) {
        double p = 0.01 + 0.98 * fl_logistic_p(-slope * theta, slope, t->x[i]);
        product *= t->tripped[i] ? p : 1 - p;
    }
    return product;
}

/* Over the take's own theta, five standard deviations to either side, one at a time. */
static double of_take(gsl_integration_glfixed_table *rule, const struct fl_hierarchy_take *t,
                      double theta, double slope, double sd)
{
    double sum = 0, z, w;
    for (int piece = -5; piece < 5; piece++)
        for (size_t i = 0; i < EIGHT; i++) {
            gsl_integration_glfixed_point(piece, piece + 1, i, &z, &w, rule);
            sum += w * exp(-z * z / 2) * likelihood(t, theta + sd * z, slope);
        }
    return sum;
}

/* Over the spread, by shares of its half-t law of 3 degrees of freedom and scale 0.25. */
static double of_setting(gsl_integration_glfixed_table *rule, const struct fl_hierarchy_setting *s,
                         double theta, double slope)
{
    static const double edge[LEGS + 1] = {0, 0.5, 0.9, 1};
    double sum = 0, share, w;
    for (int leg = 0; leg < LEGS; leg++)
        for (size_t i = 0; i < EIGHT; i++) {
            gsl_integration_glfixed_point(edge[leg], edge[leg + 1], i, &share, &w, rule);
            double sd = 0.25 * gsl_cdf_tdist_Pinv((1 + share) / 2, 3);
            for (size_t k = 0; k < s->n; k++)
                w *= of_take(rule, &s->take[k], theta, slope, sd);
            sum += w;
        }
    return sum;
}

/* Slopes that are integrated over, and P of each given the mean: normal about it with 1.5; what
 * lies beyond an end counts as that end. */
static double slope_at(gsl_integration_glfixed_table *rule, size_t i, double mean, double *w)
{
    double b = i == SLOPES ? SLOPE_LOW : SLOPE_HIGH;
    if (i < SLOPES) {
        gsl_integration_glfixed_point(SLOPE_LOW, SLOPE_HIGH, i, &b, w, rule);
        *w *= exp(-(b - mean) * (b - mean) / 4.5) / (1.5 * sqrt(2 * FL_PI));
    } else {
        *w = gsl_cdf_gaussian_P(i == SLOPES ? b - mean : mean - b, 1.5);
    }
    return exp2(b);
}

/* Evidence of one setting between each two neighbours of `cut`, given each slope. */
static void evidence(const struct fl_hierarchy_setting *s, const double cut[PIECES + 1],
                     double out[PIECES][ATOMS])
{
    gsl_integration_glfixed_table *eight = gsl_integration_glfixed_table_alloc(EIGHT),
                                  *slopes = gsl_integration_glfixed_table_alloc(SLOPES);
    for (int piece = 0; piece < PIECES; piece++)
        for (size_t b = 0; b < ATOMS; b++) {
            double unused, slope = slope_at(slopes, b, 0, &unused), theta, w;
            out[piece][b] = 0;
            for (size_t i = 0; i < EIGHT; i++) {
                gsl_integration_glfixed_point(cut[piece], cut[piece + 1], i, &theta, &w, eight);
                out[piece][b] += w * of_setting(eight, s, theta, slope);
            }
        }
    gsl_integration_glfixed_table_free(eight);
    gsl_integration_glfixed_table_free(slopes);
}

static double sum_given(double e[ATOMS], const double *weight)
{
    double sum = 0;
    for (int b = 0; b < ATOMS; b++)
        sum += weight[b] * e[b];
    return sum;
}

/* Probability that theta of the first setting lies in each piece; the second, if any, has a say in
 * the mean slope. */
static void by_integration(double (*e)[PIECES][ATOMS], int settings, double p[PIECES])
{
    gsl_integration_glfixed_table *slopes = gsl_integration_glfixed_table_alloc(SLOPES),
                                  *means = gsl_integration_glfixed_table_alloc(MEANS);
    double all = 0, mean, w, weight[ATOMS];
    for (int k = 0; k < PIECES; k++)
        p[k] = 0;
    for (size_t m = 0; m < MEANS; m++) {
        gsl_integration_glfixed_point(0, MEAN_HIGH, m, &mean, &w, means);
        for (size_t b = 0; b < ATOMS; b++)
            slope_at(slopes, b, mean, &weight[b]);
        for (int s = 1; s < settings; s++) {
            double other = 0;
            for (int k = 0; k < PIECES; k++)
                other += sum_given(e[s][k], weight);
            w *= other;
        }
        for (int k = 0; k < PIECES; k++) {
            double here = w * sum_given(e[0][k], weight);
            p[k] += here;
            all += here;
        }
    }
    for (int k = 0; k < PIECES; k++)
        p[k] /= all;
    gsl_integration_glfixed_table_free(slopes);
    gsl_integration_glfixed_table_free(means);
}

/* The far ends, the quantiles that the grid gave, and a third of an octave off the outer ones. */
static void cuts(const struct fl_hierarchy_figures *f, double low, double high,
                 double cut[PIECES + 1])
{
    const double at[PIECES + 1] = {low,         f->v50.low - 1,  f->v50.low, f->v50.middle,
                                   f->v50.high, f->v50.high + 1, high};
    memcpy(cut, at, sizeof at);
}

static void the_grid_agrees_with_integration_by_gsl(void **state)
{
    (void)state;
    struct fl_random rng;
    struct fl_arena *arena = fl_arena_new();
    fl_random_seed(&rng, 4);
    for (int settings = 1; settings <= 2; settings++) {
        struct flicks f[4] = {drawn(&rng, 7, 7.5, 5, 6, 9), drawn(&rng, 6, 7.8, 5, 6, 9),
                              drawn(&rng, 12, 8.2, 40, 7, 9), drawn(&rng, 12, 8.3, 40, 7, 9)};
        struct fl_hierarchy_take take[4];
        for (int k = 0; k < 4; k++)
            take[k] = take_of(&f[k]);
        struct fl_hierarchy_setting s[2] = {{take, 2}, {take + 2, 2}};
        static double e[2][PIECES][ATOMS];
        double p[PIECES], cut[PIECES + 1];
        struct fl_hierarchy_figures g = figures_of(s, (size_t)settings, 0, arena);
        assert_true(isfinite(g.v50.low) && isfinite(g.v50.high));
        cuts(&g, 3, 12, cut);
        for (int i = 0; i < settings; i++)
            evidence(&s[i], cut, e[i]);
        by_integration(e, settings, p);
        assert_near(p[0] + p[1], 0.025, 0.002);
        assert_near(p[2], 0.475, 0.004);
        assert_near(p[3], 0.475, 0.004);
        assert_near(p[4] + p[5], 0.025, 0.002);
    }
    fl_arena_free(&arena);
}

/* ---- closed forms ---- */

static double normal(double x, double sd)
{
    return exp(-x * x / (2 * sd * sd)) / sd;
}

/* A normal law blurred by a normal law is one, of the root of the summed squares; between rows its
 * logarithm is a parabola, which a cubic hits. */
static void blurring_and_refining_keep_a_normal_law(void **state)
{
    (void)state;
    enum { ROWS = 161, MIDDLE = 80 };
    static fl_trip_grid_row table[ROWS], blurred[ROWS];
    static double line[ROWS], fine[2 * ROWS - 1];
    for (int i = 0; i < ROWS; i++)
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            table[i][b] = line[i] = normal(i - MIDDLE, 6);
    fl_trip_grid_blur(blurred, (const fl_trip_grid_row *)table, ROWS, 8);
    for (int i = 40; i < 120; i++)
        assert_near(blurred[i][3], normal(i - MIDDLE, 10), 2e-5);
    fl_trip_grid_refine(fine, line, ROWS);
    for (int i = 80; i < 240; i++)
        assert_near(fine[i] / normal(i / 2.0 - MIDDLE, 6), 1, 1e-9);
    assert_int_equal(fl_trip_grid_halve(table, ROWS), 81);
    assert_near(table[40][0], normal(0, 6), 0);
    assert_near(table[43][0], normal(6, 6), 1e-15);
}

/* The median and 95 % of a normal law: 0, ±1.959963985 standard deviations (CHECKS A). A plateau
 * that goes on to the last row leaves that end open. */
static void intervals_of_known_densities(void **state)
{
    (void)state;
    enum { ROWS = 481 };
    double at[ROWS];
    for (int i = 0; i < ROWS; i++)
        at[i] = normal((i - 240) / 48.0, 0.5);
    struct fl_trip_density d = {{3, ROWS}, at};
    struct fl_trip_interval v = fl_trip_interval_of(&d, 0.95);
    assert_near(v.middle, 8, 1e-6);
    assert_near(v.low, 8 - 0.5 * 1.959963985, 1e-4);
    assert_near(v.high, 8 + 0.5 * 1.959963985, 1e-4);
    assert_near(fl_trip_quantile(&d, 0.841344746), 8.5, 2e-4);
    for (int i = 240; i < ROWS; i++)
        at[i] = fmax(at[i], 0.01);
    v = fl_trip_interval_of(&d, 0.95);
    assert_true(isinf(v.high) && v.high > 0 && isfinite(v.low));
}

/* Half-t of 3 degrees of freedom and scale 0.25: half of it lies below 0.25·0.764892 = 0.191223 and
 * 95 % below 0.25·3.182446 = 0.795612 (Student's t, any table: 0.75 and 0.975). */
static void nothing_seen_leaves_the_prior(void **state)
{
    (void)state;
    struct fl_trip_grid g;
    fl_trip_grid_init(&g, &as_is, 97);
    assert_near(fl_trip_grid_spread_at(&g, g.spread_weight, 0.5), 0.191223, 0.005);
    assert_near(fl_trip_grid_spread_at(&g, g.spread_weight, 0.95), 0.795612, 0.02);
    double slope[FL_TRIP_SLOPES], sum = 0;
    fl_trip_grid_slopes(&g, g.mean, slope);
    for (int b = 0; b < FL_TRIP_SLOPES; b++)
        sum += slope[b];
    assert_near(sum, 1, 1e-12);
    assert_near(fl_trip_grid_slope_at(&g, slope, 0.5), 8, 0.1); /* even from 1 to 64 */
    fl_trip_grid_finish(&g);
}

/* Two takes alike but for half an octave: V50 lies in their middle, its interval as far to either
 * side. */
static void takes_alike_put_v50_in_their_middle(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct flicks f[2] = {{.n = 40}, {.n = 40}};
    for (size_t i = 0; i < 40; i++)
        for (int k = 0; k < 2; k++) {
            f[k].x[i] = 7 + k * 0.5 + ((double)i - 19.5) / 20;
            f[k].tripped[i] = i >= 20;
        }
    struct fl_hierarchy_take take[2] = {take_of(&f[0]), take_of(&f[1])};
    struct fl_hierarchy_figures g =
        figures_of(&(struct fl_hierarchy_setting){take, 2}, 1, 0, arena);
    assert_near(g.v50.middle, 7.25, 1e-3);
    assert_near(g.v50.high - 7.25, 7.25 - g.v50.low, 2e-3);
    assert_true(g.another.low < g.v50.low && g.another.high > g.v50.high);
    fl_arena_free(&arena);
}

/* ---- properties ---- */

/* A session of settings with three takes each. */
struct session {
    struct flicks f[MOST_TAKES];
    struct fl_hierarchy_take take[MOST_TAKES];
    struct fl_hierarchy_setting setting[MOST_TAKES / 3];
};

static void fill(struct session *s, size_t settings, uint64_t seed, const double *spread,
                 const double *slope)
{
    struct fl_random rng;
    fl_random_seed(&rng, seed);
    for (size_t i = 0; i < 3 * settings; i++) {
        double theta = 7.5 + spread[i / 3] * ((double)(i % 3) - 1);
        s->f[i] = drawn(&rng, 30, theta, slope[i / 3], 5.5, 9.5);
        s->take[i] = take_of(&s->f[i]);
        s->setting[i / 3] = (struct fl_hierarchy_setting){&s->take[i - i % 3], 3};
    }
}

static double width(const struct fl_hierarchy_figures *f)
{
    return f->v50.high - f->v50.low;
}

static void faster_speeds_move_all_alike(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct session s;
    fill(&s, 2, 1, (const double[]){0.1, 0.2}, (const double[]){6, 12});
    struct fl_hierarchy_figures a = figures_of(s.setting, 2, 1, arena);
    for (int i = 0; i < 6; i++)
        for (size_t k = 0; k < s.f[i].n; k++)
            s.f[i].x[k] += 1.37;
    struct fl_hierarchy_figures b = figures_of(s.setting, 2, 1, arena);
    assert_near(b.v50.middle, a.v50.middle + 1.37, 1e-9);
    assert_near(b.v50.low, a.v50.low + 1.37, 1e-9);
    assert_near(b.another.high, a.another.high + 1.37, 1e-9);
    assert_near(b.slope, a.slope, 1e-9);
    fl_arena_free(&arena);
}

static void the_order_of_takes_does_not_matter(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct session s;
    fill(&s, 1, 2, (const double[]){0.2}, (const double[]){6});
    struct fl_hierarchy_figures a = figures_of(s.setting, 1, 0, arena);
    struct fl_hierarchy_take first = s.take[0];
    s.take[0] = s.take[2];
    s.take[2] = first;
    struct fl_hierarchy_figures b = figures_of(s.setting, 1, 0, arena);
    assert_near(b.v50.low, a.v50.low, 1e-9);
    assert_near(b.v50.high, a.v50.high, 1e-9);
    assert_near(b.spread, a.spread, 1e-9);
    fl_arena_free(&arena);
}

/* An erratic setting neither lends its spread to a calm one nor borrows the calm one's. Where they
 * are told to have one spread they do. */
static void spreads_are_shared_only_when_told(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct session s;
    struct fl_hierarchy_prior one = {FL_SPREAD_SCALE, NULL, true};
    struct fl_hierarchy_figures shared[2];
    fill(&s, 2, 3, (const double[]){0.02, 0.6}, (const double[]){40, 40});
    struct fl_hierarchy_figures calm = figures_of(s.setting, 1, 0, arena),
                                beside = figures_of(s.setting, 2, 0, arena),
                                erratic = figures_of(s.setting, 2, 1, arena);
    assert_near(width(&beside) / width(&calm), 1, 0.05);
    assert_true(width(&erratic) > 2.5 * width(&calm));
    assert_true(erratic.spread > 0.3 && calm.spread < 0.2);
    struct fl_hierarchy *h = fl_hierarchy_new(&one, s.setting, 2);
    for (size_t i = 0; i < 2; i++)
        fl_hierarchy_figures(h, i, &shared[i], arena);
    fl_hierarchy_free(&h);
    assert_near(shared[0].spread, shared[1].spread, 0.02);
    assert_true(width(&shared[0]) > width(&calm) && width(&shared[1]) < width(&erratic));
    fl_arena_free(&arena);
}

/* Few flicks lean on the slopes of a session, more of them less: a soft setting beside sharp ones
 * is still known to be soft. */
static void slopes_are_shared_in_part(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct session s;
    fill(&s, 4, 4, (const double[]){0.02, 0.02, 0.02, 0.02}, (const double[]){4, 60, 60, 60});
    struct fl_random rng;
    fl_random_seed(&rng, 9);
    struct flicks few = drawn(&rng, 6, 7.5, 60, 6, 9);
    struct fl_hierarchy_take take = take_of(&few);
    struct fl_hierarchy_setting all[5] = {
        {&take, 1}, s.setting[0], s.setting[1], s.setting[2], s.setting[3]};
    struct fl_hierarchy_figures alone = figures_of(all, 1, 0, arena),
                                beside = figures_of(all, 5, 0, arena);
    assert_true(beside.slope > 1.5 * alone.slope && beside.slope_low > alone.slope_low);
    struct fl_hierarchy_figures many = figures_of(&all[1], 1, 0, arena),
                                again = figures_of(all, 5, 1, arena);
    assert_true(again.slope > many.slope && again.slope < many.slope_high);
    assert_true(again.slope_low < 5);
    fl_arena_free(&arena);
}

/* One trip among flicks that held may be a stray: nothing says how fast V50 may be. */
static void an_end_that_nothing_limits_is_open(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct flicks f = {.n = 8};
    for (size_t i = 0; i < 8; i++) {
        f.x[i] = 6 + (double)i / 3;
        f.tripped[i] = i == 7;
    }
    struct fl_hierarchy_take take = take_of(&f);
    struct fl_hierarchy_figures g =
        figures_of(&(struct fl_hierarchy_setting){&take, 1}, 1, 0, arena);
    assert_true(isinf(g.v50.high) && g.v50.high > 0);
    assert_true(g.posterior.open_high);
    fl_arena_free(&arena);
}

/* The ratio's interval, against the plain double sum over what is known of both sides. */
static double share_below(const struct fl_trip_posterior *a, const struct fl_trip_posterior *b,
                          double d)
{
    double sum = 0, all = 0, part[FL_TRIP_MEANS] = {0};
    for (size_t m = 0; m < FL_TRIP_MEANS; m++)
        for (size_t k = 0; k < b->rows.rows; k++)
            part[m] += b->mass[m * b->rows.rows + k];
    for (size_t m = 0; m < FL_TRIP_MEANS; m++)
        for (size_t i = 0; i < a->rows.rows; i++)
            for (size_t k = 0; k < b->rows.rows; k++) {
                double p = a->mass[m * a->rows.rows + i] * b->mass[m * b->rows.rows + k] / part[m];
                double apart = a->rows.low - b->rows.low + ((double)i - (double)k) / 48;
                sum += apart < d ? p : 0;
                all += p;
            }
    return sum / all;
}

static void ratios_are_sums_over_both(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct session s;
    int session;
    fill(&s, 2, 5, (const double[]){0.1, 0.3}, (const double[]){4, 40});
    for (int k = 3; k < 6; k++)
        for (size_t i = 0; i < s.f[k].n; i++)
            s.f[k].x[i] += 0.7;
    struct fl_hierarchy_figures a = figures_of(s.setting, 2, 0, arena),
                                b = figures_of(s.setting, 2, 1, arena);
    a.posterior.session = b.posterior.session = &session;
    struct fl_trip_ratio r = fl_trip_ratio_of(&a.posterior, &b.posterior, 0.95),
                         back = fl_trip_ratio_of(&b.posterior, &a.posterior, 0.95);
    assert_near(share_below(&a.posterior, &b.posterior, r.low), 0.025, 2e-3);
    assert_near(share_below(&a.posterior, &b.posterior, r.high), 0.975, 2e-3);
    assert_near(r.p, 2 * (1 - share_below(&a.posterior, &b.posterior, 0)), 0.1 * r.p + 2e-4);
    assert_near(back.low, -r.high, 1e-4);
    assert_near(back.p, r.p, 1e-6);
    struct fl_trip_ratio self = fl_trip_ratio_of(&a.posterior, &a.posterior, 0.95);
    assert_near(self.p, 1, 1e-6);
    assert_near(self.low, -self.high, 1e-4);
    fl_arena_free(&arena);
}

/* Settings pooled into one have the figures of one setting with all their takes. */
static void pooled_settings_are_one_setting(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct session s;
    struct fl_hierarchy_figures pooled;
    fill(&s, 2, 6, (const double[]){0.1, 0.1}, (const double[]){10, 10});
    struct fl_hierarchy *h = fl_hierarchy_new(&as_is, s.setting, 2);
    fl_hierarchy_pooled(h, (const size_t[]){0, 1}, 2, &pooled, arena);
    fl_hierarchy_free(&h);
    struct fl_hierarchy_figures one =
        figures_of(&(struct fl_hierarchy_setting){s.take, 6}, 1, 0, arena);
    assert_near(pooled.v50.low, one.v50.low, 1e-9);
    assert_near(pooled.v50.high, one.v50.high, 1e-9);
    assert_near(pooled.spread, one.spread, 1e-9);
    fl_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_grid_agrees_with_integration_by_gsl),
        cmocka_unit_test(blurring_and_refining_keep_a_normal_law),
        cmocka_unit_test(intervals_of_known_densities),
        cmocka_unit_test(nothing_seen_leaves_the_prior),
        cmocka_unit_test(takes_alike_put_v50_in_their_middle),
        cmocka_unit_test(faster_speeds_move_all_alike),
        cmocka_unit_test(the_order_of_takes_does_not_matter),
        cmocka_unit_test(spreads_are_shared_only_when_told),
        cmocka_unit_test(slopes_are_shared_in_part),
        cmocka_unit_test(an_end_that_nothing_limits_is_open),
        cmocka_unit_test(ratios_are_sums_over_both),
        cmocka_unit_test(pooled_settings_are_one_setting),
    };
    return RUN_TESTS(tests);
}
