/* The likelihood of a logistic curve, its gradient and information, with or without Firth's
 * penalty. */
#include "maths/logistic_likelihood.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

static void standardise(struct fl_likelihood *l)
{
    double sum = 0, squares = 0, n = (double)l->n;
    for (size_t i = 0; i < l->n; i++)
        sum += l->z[i];
    l->mean = sum / n;
    for (size_t i = 0; i < l->n; i++)
        squares += (l->z[i] - l->mean) * (l->z[i] - l->mean);
    l->scale = sqrt(squares / n);
    for (size_t i = 0; i < l->n; i++) {
        int k = l->y[i] > 0;
        l->z[i] = (l->z[i] - l->mean) / l->scale;
        l->low[k] = fmin(l->low[k], l->z[i]);
        l->high[k] = fmax(l->high[k], l->z[i]);
    }
}

struct point {
    double x;
    bool y;
};

static int by_x(const void *a, const void *b)
{
    const struct point *p = a, *q = b;
    return p->x != q->x ? (p->x > q->x) - (p->x < q->x) : p->y - q->y;
}

/* Finite points in the order of x, so that their order of arrival changes no bit of a result. */
static void load_points(struct fl_likelihood *l, const double *x, const bool *y, size_t n)
{
    struct point *points = FL_NEW(struct point, n);
    for (size_t i = 0; i < n; i++)
        if (isfinite(x[i]))
            points[l->n++] = (struct point){x[i], y[i]};
    qsort(points, l->n, sizeof *points, by_x);
    for (size_t i = 0; i < l->n; i++) {
        l->z[i] = points[i].x;
        l->y[i] = points[i].y;
        l->ones += points[i].y;
    }
    free(points);
}

int fl_likelihood_init(struct fl_likelihood *l, const double *x, const bool *y, size_t n,
                       bool firth)
{
    double *block = FL_NEW(double, 4 * n);
    *l = (struct fl_likelihood){.z = block,
                                .y = block + n,
                                .p = block + 2 * n,
                                .w = block + 3 * n,
                                .low = {INFINITY, INFINITY},
                                .high = {-INFINITY, -INFINITY},
                                .firth = firth};
    load_points(l, x, y, n);
    if (l->n >= 2)
        standardise(l);
    if (l->n >= 2 && isfinite(l->scale) && l->scale > 1e-13 * fabs(l->mean))
        return 0;
    fl_likelihood_finish(l);
    return -1;
}

void fl_likelihood_finish(struct fl_likelihood *l)
{
    free(l->z);
    l->z = NULL;
}

/* Chances, weights and the plain log-likelihood; the logarithm of a product of factors in 1..2 is
 * taken once per 512 of them. */
static void weigh(const struct fl_likelihood *l, struct fl_summit *s)
{
    double product = 1, linear = 0, sum_w = 0, sum_wz = 0, logs = 0;
    for (size_t i = 0; i < l->n; i++) {
        double eta = s->a + s->b * l->z[i], t = exp(-fabs(eta)), q = 1 / (1 + t);
        l->p[i] = eta >= 0 ? q : t * q;
        l->w[i] = t * q * q;
        linear += (l->y[i] > 0) == (eta >= 0) ? 0 : fabs(eta);
        product *= 1 + t;
        if (i % 512 == 511) {
            logs += log(product);
            product = 1;
        }
        sum_w += l->w[i];
        sum_wz += l->w[i] * l->z[i];
    }
    s->plain = -linear - logs - log(product);
    s->info_level = sum_w;
    s->centre = sum_wz / sum_w;
}

/* Sums of w·u^k, w'·u^k and w''·u^k about the centre, ' being d/dη of w = π(1-π), and the score. */
struct moments {
    double w2, d[4], dd[5], score, score_u;
};

static struct moments moments_about(const struct fl_likelihood *l, double centre)
{
    struct moments m = {0};
    for (size_t i = 0; i < l->n; i++) {
        double u = l->z[i] - centre, u2 = u * u, w = l->w[i], r = l->y[i] - l->p[i];
        double d = w * (1 - 2 * l->p[i]), dd = w * (1 - 6 * w);
        m.score += r;
        m.score_u += r * u;
        m.w2 += w * u2;
        m.d[0] += d;
        m.d[1] += d * u;
        m.d[2] += d * u2;
        m.d[3] += d * u2 * u;
        m.dd[0] += dd;
        m.dd[1] += dd * u;
        m.dd[2] += dd * u2;
        m.dd[3] += dd * u2 * u;
        m.dd[4] += dd * u2 * u2;
    }
    return m;
}

/* Adds ½ ln D, D = S0·S2 - S1² with S1 = 0 here, and its two derivatives, all as ratios to D. */
static void add_penalty(struct fl_summit *s, const struct moments *m)
{
    double s0 = s->info_level, s2 = s->info_slope, both = s0 * s2;
    const double *t = m->d, *r = m->dd;
    double da = t[0] / s0 + t[2] / s2, db = t[1] / s0 + t[3] / s2;
    double daa = r[0] / s0 + r[2] / s2 + 2 * (t[0] * t[2] - t[1] * t[1]) / both;
    double dab = r[1] / s0 + r[3] / s2 + (t[0] * t[3] - t[1] * t[2]) / both;
    double dbb = r[2] / s0 + r[4] / s2 + 2 * (t[1] * t[3] - t[2] * t[2]) / both;
    s->value += 0.5 * (log(s0) + log(s2));
    s->g_level += 0.5 * da;
    s->g_slope += 0.5 * db;
    s->h_level += 0.5 * (daa - da * da);
    s->h_cross += 0.5 * (dab - da * db);
    s->h_slope += 0.5 * (dbb - db * db);
}

struct fl_summit fl_likelihood_at(const struct fl_likelihood *l, double a, double b)
{
    struct fl_summit s = {.a = a, .b = b};
    weigh(l, &s);
    struct moments m = moments_about(l, s.centre);
    s.info_slope = m.w2;
    s.value = s.plain;
    s.g_level = m.score;
    s.g_slope = m.score_u;
    s.h_level = -s.info_level;
    s.h_slope = -s.info_slope;
    if (l->firth)
        add_penalty(&s, &m);
    /* beyond about e^±300 the information and its square leave the range of a double */
    if (!isfinite(s.value) || !(s.info_level > 1e-140) || !(s.info_slope > 1e-140))
        s.value = -INFINITY;
    return s;
}

enum { MAX_STEPS = 200, MAX_HALVINGS = 40 };
#define NEAR_ENOUGH 1e-10 /* expected gain: one more Newton step leaves its square */
#define LONGEST_STEP 8.0  /* in log odds, at the centre and 3 weighted deviations beside it */

static double shortened(const struct fl_summit *s, double d_level, double d_slope)
{
    double reach = 3 * sqrt(s->info_slope / s->info_level);
    double most = fmax(fabs(d_level), reach * fabs(d_slope));
    return most > LONGEST_STEP ? LONGEST_STEP / most : 1;
}

/* Goes from *s by at most (da, db), halving until it is no lower. */
static bool step_up(const struct fl_likelihood *l, struct fl_summit *s, double da, double db)
{
    for (int i = 0; i < MAX_HALVINGS; i++, da /= 2, db /= 2) {
        struct fl_summit next = fl_likelihood_at(l, s->a + da, s->b + db);
        if (next.value >= s->value - 1e-13 * fabs(s->value) && isfinite(next.value)) {
            *s = next;
            return true;
        }
    }
    return false;
}

static int climb(const struct fl_likelihood *l, struct fl_summit *s)
{
    for (int i = 0; i < MAX_STEPS && isfinite(s->value); i++) {
        double det = s->h_level * s->h_slope - s->h_cross * s->h_cross;
        double level = s->g_level / s->info_level, slope = s->g_slope / s->info_slope;
        if (s->h_level < 0 && det > 0) { /* Newton where the surface is a cap, else scoring */
            level = (s->h_cross * s->g_slope - s->h_slope * s->g_level) / det;
            slope = (s->h_cross * s->g_level - s->h_level * s->g_slope) / det;
        }
        double gain = level * s->g_level + slope * s->g_slope, part = shortened(s, level, slope);
        bool last = gain < NEAR_ENOUGH;
        if (!step_up(l, s, part * (level - slope * s->centre), part * slope) || last)
            return last ? 0 : -1;
    }
    return -1;
}

/* A level line at about the common rate. */
static struct fl_summit level_start(const struct fl_likelihood *l)
{
    double ones = (double)l->ones, zeros = (double)(l->n - l->ones);
    return fl_likelihood_at(l, log((ones + 0.5) / (zeros + 0.5)), 0);
}

/* The cut that leaves the fewest points on the wrong side: its z and its sign. */
static double best_cut(const struct fl_likelihood *l, double *sign)
{
    double zeros = (double)(l->n - l->ones), balance = 0, most = -1, cut = 0;
    for (size_t i = 0; i + 1 < l->n; i++) {
        balance += 1 - 2 * l->y[i]; /* zeros less ones up to here */
        double right = fmax(balance + (double)l->ones, zeros - balance);
        if (l->z[i] < l->z[i + 1] && right > most) {
            most = right;
            cut = 0.5 * (l->z[i] + l->z[i + 1]);
            *sign = balance + (double)l->ones >= right ? 1 : -1;
        }
    }
    return cut;
}

/* The penalised likelihood may have a second summit, a steep one where x has far outliers: so it
 * is climbed from the best cut too, at slopes of a quarter and nearly all of the points. */
int fl_likelihood_top(const struct fl_likelihood *l, struct fl_summit *s)
{
    *s = level_start(l);
    int rc = climb(l, s);
    double sign = 1, cut = best_cut(l, &sign);
    for (int k = 0; l->firth && k < 2; k++) {
        size_t reach = k == 0 ? l->n / 8 : l->n * 7 / 16, middle = 0;
        while (middle + 1 < l->n && l->z[middle] < cut)
            middle++;
        size_t first = middle > reach ? middle - reach : 0;
        size_t last = middle + reach < l->n ? middle + reach : l->n - 1;
        double slope = sign * 4 / fmax(l->z[last] - l->z[first], 1e-9);
        struct fl_summit other = fl_likelihood_at(l, -slope * cut, slope);
        if (climb(l, &other) == 0 && (rc != 0 || other.value > s->value + 1e-9)) {
            *s = other;
            rc = 0;
        }
    }
    return rc;
}

int fl_likelihood_climb_line(const struct fl_likelihood *l, struct fl_summit *s, double a, double b,
                             double da, double db, double *t)
{
    *s = fl_likelihood_at(l, a + *t * da, b + *t * db);
    for (int i = 0; i < 60 && !isfinite(s->value); i++) { /* back towards the origin of the line */
        *t /= 2;
        *s = fl_likelihood_at(l, a + *t * da, b + *t * db);
    }
    for (int i = 0; i < MAX_STEPS && isfinite(s->value); i++) {
        double level = da + s->centre * db; /* the direction in the coordinates of s */
        double g = level * s->g_level + db * s->g_slope;
        double h = level * level * s->h_level + 2 * level * db * s->h_cross + db * db * s->h_slope;
        double info = level * level * s->info_level + db * db * s->info_slope;
        /* where the line bends upwards, far up: small steps would crawl past the bend */
        double step = h < 0 ? -g / h : 1000 * g / info, gain = g * step;
        bool last = gain < NEAR_ENOUGH;
        step *= shortened(s, level * step, db * step);
        bool up = step_up(l, s, step * da, step * db);
        *t = fabs(da) > fabs(db) ? (s->a - a) / da : (s->b - b) / db;
        if (!up || last)
            return last ? 0 : -1;
    }
    return -1;
}
