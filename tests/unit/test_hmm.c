#include "maths/hmm.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/random.h"
#include "test.h"

/* Russell & Norvig, Artificial Intelligence: A Modern Approach, ch. 15, umbrella world; digits by
 * scaled forward-backward, Viterbi and enumeration of all paths, which agree. */
static void umbrella_world(void **state)
{
    (void)state;
    const double start[] = {0.5, 0.5}, trans[] = {0.7, 0.3, 0.3, 0.7};
    const double emit[] = {0.9, 0.2, 0.9, 0.2, 0.1, 0.8, 0.9, 0.2, 0.9, 0.2};
    const double rain[] = {0.8673388896, 0.8204190536, 0.3074835760, 0.8204190536, 0.8673388896};
    const size_t best[] = {0, 0, 1, 0, 0};
    double post[10];
    size_t path[5];
    assert_near(fl_hmm_posterior(5, 2, start, trans, emit, post), -3.372502044332, 1e-12);
    for (int t = 0; t < 5; t++) {
        assert_near(post[2 * t], rain[t], 1e-10);
        assert_near(post[2 * t] + post[2 * t + 1], 1, 1e-12);
    }
    assert_near(exp(fl_hmm_viterbi(5, 2, start, trans, emit, path)), 0.011573604, 1e-12);
    assert_memory_equal(path, best, sizeof best);
    /* two days: published .883 */
    fl_hmm_posterior(2, 2, start, trans, emit, post);
    assert_near(post[0], 0.8833570413, 1e-10);
    assert_near(post[2], 0.8833570413, 1e-10);
}

/* The widely used healthy/fever example (from memory), published best path .01512. */
static void healthy_fever(void **state)
{
    (void)state;
    const double start[] = {0.6, 0.4}, trans[] = {0.7, 0.3, 0.4, 0.6};
    const double emit[] = {0.5, 0.1, 0.4, 0.3, 0.1, 0.6};
    const double healthy[] = {0.8765159868, 0.6229327453, 0.2121278942};
    const size_t best[] = {0, 0, 1};
    double post[6];
    size_t path[3];
    assert_near(exp(fl_hmm_posterior(3, 2, start, trans, emit, post)), 0.03628, 1e-12);
    for (int t = 0; t < 3; t++)
        assert_near(post[2 * t], healthy[t], 1e-10);
    assert_near(exp(fl_hmm_viterbi(3, 2, start, trans, emit, path)), 0.01512, 1e-12);
    assert_memory_equal(path, best, sizeof best);
}

/* Model of Durbin, Eddy, Krogh & Mitchison 1998, Biological Sequence Analysis, ch. 3; rolls our
 * own, digits by enumeration. In the second the best path and the posterior disagree. */
static void dishonest_casino(void **state)
{
    (void)state;
    const double start[] = {0.5, 0.5}, trans[] = {0.95, 0.05, 0.1, 0.9};
    const int rolls[2][12] = {{3, 1, 6, 6, 6, 4, 6, 6, 2, 5}, {3, 1, 5, 1, 1, 6, 6, 6, 6, 6, 2, 6}};
    const size_t n[] = {10, 12};
    const double loglik[] = {-15.654624449012, -18.344132487595};
    const double best[] = {6.053445140625e-08, 2.451645281953e-09};
    const double fair[2][12] = {{.2821949710, .2307058495, .1134444720, .0777517622, .0799216472,
                                 .1226111721, .1249870612, .1807222895, .3580651907, .4474063253},
                                {.6589348475, .6709005405, .6453380111, .5732201778, .4290795471,
                                 .1620146923, .0699737705, .0402517707, .0364538129, .0539292604,
                                 .1140769699, .1301611277}};
    for (int k = 0; k < 2; k++) {
        double emit[24], post[24];
        size_t path[12];
        for (size_t t = 0; t < n[k]; t++) {
            emit[2 * t] = 1 / 6.0;
            emit[2 * t + 1] = rolls[k][t] == 6 ? 0.5 : 0.1;
        }
        assert_near(fl_hmm_posterior(n[k], 2, start, trans, emit, post), loglik[k], 1e-12);
        for (size_t t = 0; t < n[k]; t++)
            assert_near(post[2 * t], fair[k][t], 1e-10);
        assert_near(exp(fl_hmm_viterbi(n[k], 2, start, trans, emit, path)) / best[k], 1, 1e-11);
        for (size_t t = 0; t < n[k]; t++)
            assert_int_equal(path[t], 1);
    }
}

/* Gaussian emissions, our own, digits by enumeration. */
static void gaussian_emissions(void **state)
{
    (void)state;
    const double x[] = {.1, -.2, 1.9, 2.2, .3, 1.8}, start[] = {.5, .5}, trans[] = {.9, .1, .1, .9};
    const double first[] = {.9999166039, .9999318769, .0007491083,
                            .0000556130, .7721128967, .0114181344};
    const size_t best[] = {0, 0, 1, 1, 0, 1};
    double emit[12], post[12];
    size_t path[6];
    for (int t = 0; t < 6; t++)
        for (int j = 0; j < 2; j++)
            emit[2 * t + j] = exp(-0.5 * pow((x[t] - 2 * j) / 0.5, 2)) / (0.5 * sqrt(2 * acos(-1)));
    assert_near(fl_hmm_posterior(6, 2, start, trans, emit, post), -9.351934648373, 1e-12);
    for (int t = 0; t < 6; t++)
        assert_near(post[2 * t], first[t], 1e-10);
    fl_hmm_viterbi(6, 2, start, trans, emit, path);
    assert_memory_equal(path, best, sizeof best);
}

/* A random model with forbidden transitions, some at the edges of a row. */
struct model {
    size_t n, s;
    double start[5], trans[25], emit[7 * 5];
};

static void random_model(struct model *m, struct fl_random *r)
{
    m->n = 1 + fl_random_below(r, 7);
    m->s = 1 + fl_random_below(r, 5);
    double sum = 0;
    for (size_t i = 0; i < m->s; i++)
        sum += m->start[i] = 0.1 + fl_random_uniform(r);
    for (size_t i = 0; i < m->s; i++) {
        m->start[i] /= sum;
        double row = 0;
        for (size_t j = 0; j < m->s; j++)
            row += m->trans[i * m->s + j] =
                i != j && fl_random_uniform(r) < 0.5 ? 0 : fl_random_uniform(r);
        for (size_t j = 0; j < m->s; j++)
            m->trans[i * m->s + j] /= row;
    }
    for (size_t k = 0; k < m->n * m->s; k++)
        m->emit[k] = fl_random_uniform(r) < 0.1 ? 0 : 3 * fl_random_uniform(r);
}

/* Adds up all s^n paths: the definition. */
static double enumerate(const struct model *m, double *post, double *best)
{
    size_t paths = 1;
    double total = 0;
    for (size_t t = 0; t < m->n; t++)
        paths *= m->s;
    memset(post, 0, m->n * m->s * sizeof *post);
    *best = 0;
    for (size_t k = 0; k < paths; k++) {
        double p = 1;
        size_t rest = k, last = 0;
        for (size_t t = 0; t < m->n; t++, rest /= m->s) {
            size_t j = rest % m->s;
            p *= (t ? m->trans[last * m->s + j] : m->start[j]) * m->emit[t * m->s + j];
            last = j;
        }
        rest = k;
        for (size_t t = 0; t < m->n; t++, rest /= m->s)
            post[t * m->s + rest % m->s] += p;
        total += p;
        *best = p > *best ? p : *best;
    }
    for (size_t i = 0; i < m->n * m->s; i++)
        post[i] /= total;
    return total;
}

static double path_chance(const struct model *m, const size_t *path)
{
    double p = m->start[path[0]] * m->emit[path[0]];
    for (size_t t = 1; t < m->n; t++)
        p *= m->trans[path[t - 1] * m->s + path[t]] * m->emit[t * m->s + path[t]];
    return p;
}

static void agrees_with_enumeration(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 41);
    int impossible = 0;
    for (int k = 0; k < 150; k++) {
        struct model m;
        double want[35], post[35], best;
        size_t path[7];
        random_model(&m, &r);
        double total = enumerate(&m, want, &best);
        double loglik = fl_hmm_posterior(m.n, m.s, m.start, m.trans, m.emit, post);
        double log_best = fl_hmm_viterbi(m.n, m.s, m.start, m.trans, m.emit, path);
        if (total == 0) {
            impossible++;
            assert_true(loglik == -INFINITY && log_best == -INFINITY && isnan(post[0]));
            continue;
        }
        assert_near(loglik, log(total), 1e-11);
        assert_near(fl_hmm_posterior(m.n, m.s, m.start, m.trans, m.emit, NULL), loglik, 0);
        for (size_t i = 0; i < m.n * m.s; i++)
            assert_near(post[i], want[i], 1e-11);
        assert_near(log_best, log(best), 1e-11);
        assert_near(path_chance(&m, path) / best, 1, 1e-11);
    }
    assert_true(impossible > 0 && impossible < 75);
}

/* A long run does not underflow; a factor on a row of emit shifts the likelihood by its log only.
 */
static void long_runs_and_scales(void **state)
{
    (void)state;
    enum { N = 20000 };
    const double start[] = {0.5, 0.5}, trans[] = {0.99, 0.01, 0.02, 0.98};
    double *emit = FL_NEW(double, 2 * N), *a = FL_NEW(double, 2 * N), *b = FL_NEW(double, 2 * N);
    size_t *path = FL_NEW(size_t, N), *path2 = FL_NEW(size_t, N);
    struct fl_random r;
    fl_random_seed(&r, 42);
    for (int i = 0; i < 2 * N; i++)
        emit[i] = 1e-9 * fl_random_uniform(&r);
    double loglik = fl_hmm_posterior(N, 2, start, trans, emit, a);
    double best = fl_hmm_viterbi(N, 2, start, trans, emit, path);
    assert_true(isfinite(loglik) && isfinite(best) && best < loglik);
    for (int i = 0; i < 2 * N; i++)
        emit[i] *= i / 2 % 2 ? 1e200 : 1e-200;
    assert_near(fl_hmm_posterior(N, 2, start, trans, emit, b), loglik, 1e-10);
    fl_hmm_viterbi(N, 2, start, trans, emit, path2);
    for (int i = 0; i < 2 * N; i++)
        assert_near(a[i], b[i], 1e-9);
    assert_memory_equal(path, path2, N * sizeof *path);
    free(emit);
    free(a);
    free(b);
    free(path);
    free(path2);
}

static void nothing_observed(void **state)
{
    (void)state;
    const double one = 1;
    assert_true(fl_hmm_posterior(0, 1, &one, &one, NULL, NULL) == 0);
    assert_true(fl_hmm_viterbi(0, 1, &one, &one, NULL, NULL) == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(umbrella_world),          cmocka_unit_test(healthy_fever),
        cmocka_unit_test(dishonest_casino),        cmocka_unit_test(gaussian_emissions),
        cmocka_unit_test(agrees_with_enumeration), cmocka_unit_test(long_runs_and_scales),
        cmocka_unit_test(nothing_observed),
    };
    return RUN_TESTS(tests);
}
