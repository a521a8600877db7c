#include "maths/hmm.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

/* Transitions from one state mostly reach few others: only the span from the first to the last
 * that is not `none` is looked at. */
struct span {
    size_t first, end;
};

static struct span *row_spans(size_t s, const double *trans, double none)
{
    struct span *spans = FL_NEW(struct span, s);
    for (size_t i = 0; i < s; i++) {
        const double *row = trans + i * s;
        size_t first = 0, end = s;
        while (first < s && row[first] == none)
            first++;
        while (end > first && row[end - 1] == none)
            end--;
        spans[i] = (struct span){first, end};
    }
    return spans;
}

/* Multiplies v by the likelihoods and scales it to sum 1; returns the sum before (0: impossible).
 */
static double absorb(double *restrict v, const double *restrict emit, size_t s)
{
    double sum = 0;
    for (size_t j = 0; j < s; j++) {
        v[j] *= emit[j];
        sum += v[j];
    }
    for (size_t j = 0; sum > 0 && j < s; j++)
        v[j] /= sum;
    return sum > 0 ? sum : 0;
}

/* next = from · trans */
static void spread(const double *restrict from, double *restrict next, const double *restrict trans,
                   const struct span *spans, size_t s)
{
    memset(next, 0, s * sizeof *next);
    for (size_t i = 0; i < s; i++) {
        const double *row = trans + i * s;
        double weight = from[i];
        for (size_t j = spans[i].first; weight > 0 && j < spans[i].end; j++)
            next[j] += weight * row[j];
    }
}

/* back = trans · ahead, four sums at a time so that they run in parallel */
static void gather(const double *restrict ahead, double *restrict back,
                   const double *restrict trans, const struct span *spans, size_t s)
{
    for (size_t i = 0; i < s; i++) {
        const double *row = trans + i * s;
        double sum[4] = {0};
        size_t j = spans[i].first;
        for (; j + 4 <= spans[i].end; j += 4)
            for (int k = 0; k < 4; k++)
                sum[k] += row[j + k] * ahead[j + k];
        for (; j < spans[i].end; j++)
            sum[0] += row[j] * ahead[j];
        back[i] = (sum[0] + sum[1]) + (sum[2] + sum[3]);
    }
}

/* Turns the filtered rows in `posterior` into smoothed ones, from the last to the first. */
static void smooth(size_t n, size_t s, const double *trans, const struct span *spans,
                   const double *emit, double *posterior)
{
    double *back = FL_NEW(double, 2 * s), *ahead = back + s;
    for (size_t j = 0; j < s; j++)
        back[j] = 1;
    for (size_t t = n - 1; t-- > 0;) {
        memcpy(ahead, back, s * sizeof *ahead);
        absorb(ahead, emit + (t + 1) * s, s); /* any scale does: the rows are scaled again */
        gather(ahead, back, trans, spans, s);
        absorb(posterior + t * s, back, s);
    }
    free(back);
}

double fl_hmm_posterior(size_t n, size_t s, const double *start, const double *trans,
                        const double *emit, double *posterior)
{
    if (n == 0 || s == 0)
        return 0;
    struct span *spans = row_spans(s, trans, 0);
    double *rows = posterior ? posterior : FL_NEW(double, 2 * s), total = 0;
    for (size_t t = 0; t < n && total > -INFINITY; t++) {
        /* without a table to fill, two rows take turns */
        double *now = rows + (posterior ? t : t % 2) * s;
        if (t == 0)
            memcpy(now, start, s * sizeof *now);
        else
            spread(rows + (posterior ? t - 1 : (t - 1) % 2) * s, now, trans, spans, s);
        total += log(absorb(now, emit + t * s, s));
    }
    if (!posterior)
        free(rows);
    else if (total > -INFINITY)
        smooth(n, s, trans, spans, emit, posterior);
    for (size_t i = 0; posterior && total == -INFINITY && i < n * s; i++)
        posterior[i] = NAN;
    free(spans);
    return total;
}

static double *logs_of(const double *p, size_t n)
{
    double *out = FL_NEW(double, n);
    for (size_t i = 0; i < n; i++)
        out[i] = log(p[i]);
    return out;
}

/* Best way into each state: next[j] = max of from[i] + trans[i][j], came[j] the first such i. */
static void best_ways(const double *restrict from, double *restrict next, uint32_t *restrict came,
                      const double *restrict trans, const struct span *spans, size_t s)
{
    for (size_t j = 0; j < s; j++)
        next[j] = -INFINITY;
    for (size_t i = 0; i < s; i++)
        for (size_t j = spans[i].first; from[i] > -INFINITY && j < spans[i].end; j++) {
            double way = from[i] + trans[i * s + j];
            came[j] = way > next[j] ? (uint32_t)i : came[j];
            next[j] = way > next[j] ? way : next[j];
        }
}

static size_t largest(const double *v, size_t s)
{
    size_t best = 0;
    for (size_t j = 1; j < s; j++)
        if (v[j] > v[best])
            best = j;
    return best;
}

double fl_hmm_viterbi(size_t n, size_t s, const double *start, const double *trans,
                      const double *emit, size_t *path)
{
    if (n == 0 || s == 0)
        return 0;
    double *log_trans = logs_of(trans, s * s), *now = logs_of(start, s), *next = FL_NEW(double, s);
    struct span *spans = row_spans(s, log_trans, -INFINITY);
    uint32_t *came = FL_NEW(uint32_t, n * s);
    for (size_t t = 0; t < n; t++) {
        if (t > 0) {
            best_ways(now, next, came + t * s, log_trans, spans, s);
            double *swap = now;
            now = next;
            next = swap;
        }
        for (size_t j = 0; j < s; j++)
            now[j] += log(emit[t * s + j]);
    }
    size_t at = largest(now, s);
    double total = now[at];
    for (size_t t = n; t-- > 0;) {
        path[t] = at;
        at = came[t * s + at];
    }
    free(log_trans);
    free(now);
    free(next);
    free(spans);
    free(came);
    return total;
}
