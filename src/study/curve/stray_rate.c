/* A logistic curve with strays at both ends, by penalised likelihood over the rate (Wichmann &
 * Hill 2001 on lapse rates). */
#include "study/curve/stray_rate.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/interval.h"
#include "maths/logistic.h"

/* the prior: so many flicks more, none stray; weak beside a take's 20 to 60 */
#define CLEAN_FLICKS 10.0
#define STARTS 16         /* places along x from which the summit is climbed */
#define WORTH_FITTING 1.0 /* of gain: far below what is shown, and the fits are all but one */
#define FARTHEST 40.0     /* standard deviations of x; beyond, an end is open */
#define TINY 1e-280

/* Flicks in standard units, and where the last climb ended. */
struct search {
    const double *x;
    const bool *y;
    size_t n;
    double mean, sd;
    bool penalised;
    double z;               /* the summit's */
    double log_slope, turn; /* log of the slope per sd; rate = MOST·sin²(turn) */
};

static double rate_of(double turn)
{
    double s = sin(turn);
    return FL_STRAY_MOST * s * s;
}

double fl_stray_p(double guess, double lapse, double p)
{
    return guess + (1 - guess - lapse) * p;
}

double fl_stray_chance(const struct fl_stray *fit, double x, bool y)
{
    double p = fl_logistic_p(-fit->beta * fit->theta, fit->beta, x), as_curve = y ? p : 1 - p;
    return fit->rate > 0 ? fit->rate * (1 - as_curve) / fl_stray_p(fit->rate, fit->rate, as_curve)
                         : 0;
}

/* Log-likelihood, penalised or not; z is theta in standard units. */
static double value_at(const struct search *s, double z, double log_slope, double turn)
{
    double b = exp(log_slope), rate = rate_of(turn), sum = 0, s0 = 0, s1 = 0, s2 = 0, product = 1;
    for (size_t i = 0; i < s->n; i++) {
        double u = (s->x[i] - s->mean) / s->sd - z, t = exp(-fabs(b * u)), far = t / (1 + t);
        double low = fl_stray_p(rate, rate, far); /* of the less likely outcome */
        bool likely = s->y[i] == (u >= 0);
        product *= fmax(likely ? 1 - low : low, TINY);
        if (product < 1e-20) {
            sum += log(product);
            product = 1;
        }
        double g = (1 - 2 * rate) * far * (1 - far), w = g * g / fmax(low * (1 - low), TINY);
        s0 += w;
        s1 += w * u;
        s2 += w * u * u;
    }
    if (!s->penalised)
        return sum + log(product);
    double det = s0 * s2 - s1 * s1;
    if (!(det > TINY))
        return -INFINITY;
    return sum + log(product) + log(det) / 2 + CLEAN_FLICKS * log1p(-rate);
}

struct corner {
    double slope, turn, value;
};

static struct corner corner_at(const struct search *s, double z, double slope, double turn)
{
    return (struct corner){slope, turn, value_at(s, z, slope, turn)};
}

static void sort3(struct corner *c)
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 2; k++)
            if (c[k].value < c[k + 1].value) {
                struct corner swap = c[k];
                c[k] = c[k + 1];
                c[k + 1] = swap;
            }
}

static struct corner along(const struct search *s, double z, const struct corner *c, double by)
{
    double slope = (c[0].slope + c[1].slope) / 2, turn = (c[0].turn + c[1].turn) / 2;
    return corner_at(s, z, slope + by * (c[2].slope - slope), turn + by * (c[2].turn - turn));
}

static void shrink(const struct search *s, double z, struct corner *c)
{
    for (int k = 1; k < 3; k++)
        c[k] = corner_at(s, z, (c[0].slope + c[k].slope) / 2, (c[0].turn + c[k].turn) / 2);
}

/* Slope and rate that suit a theta best (Nelder & Mead 1965, Comput J 7:308-313). */
static double climb(struct search *s, double z)
{
    struct corner c[3] = {corner_at(s, z, s->log_slope, s->turn),
                          corner_at(s, z, s->log_slope + 0.5, s->turn),
                          corner_at(s, z, s->log_slope, s->turn + 0.2)};
    for (int i = 0; i < 80; i++) {
        sort3(c);
        if (c[0].value - c[2].value < 1e-6)
            break;
        struct corner r = along(s, z, c, -1);
        if (r.value > c[0].value) {
            struct corner e = along(s, z, c, -2);
            c[2] = e.value > r.value ? e : r;
        } else if (r.value > c[1].value) {
            c[2] = r;
        } else {
            struct corner in = along(s, z, c, r.value > c[2].value ? -0.5 : 0.5);
            if (in.value > fmax(r.value, c[2].value))
                c[2] = in;
            else
                shrink(s, z, c);
        }
    }
    s->log_slope = c[0].slope;
    s->turn = c[0].turn;
    return c[0].value;
}

static void begin(struct search *s, const double *x, const bool *y, size_t n, bool penalised)
{
    double sum = 0, squares = 0;
    *s = (struct search){.x = x, .y = y, .n = n, .penalised = penalised};
    for (size_t i = 0; i < n; i++)
        sum += x[i];
    s->mean = sum / (double)n;
    for (size_t i = 0; i < n; i++)
        squares += (x[i] - s->mean) * (x[i] - s->mean);
    s->sd = sqrt(squares / (double)n);
}

/* Golden section about z, half a start's distance to either side. */
static double refine(struct search *s, double z, double reach)
{
    const double gold = 0.6180339887498949;
    double a = z - reach, b = z + reach, c = b - gold * (b - a), d = a + gold * (b - a);
    double fc = climb(s, c), fd = climb(s, d);
    for (int i = 0; i < 24 && b - a > 1e-4; i++) {
        if (fc > fd) {
            b = d;
            d = c;
            fd = fc;
            fc = climb(s, c = b - gold * (b - a));
        } else {
            a = c;
            c = d;
            fc = fd;
            fd = climb(s, d = a + gold * (b - a));
        }
    }
    return (a + b) / 2;
}

/* The surface has a summit wherever a steep curve fits, so it is climbed from many places. */
static void summit(struct search *s, double plain_z, double plain_slope)
{
    double best = -INFINITY, at = plain_z;
    struct search top = *s;
    for (int i = 0; i <= STARTS; i++) {
        double z = i < STARTS ? -2 + 4 * (i + 0.5) / STARTS : plain_z;
        for (int steep = 0; steep < 2; steep++) {
            s->log_slope = log(plain_slope) + 1.6 * steep;
            s->turn = 0.5;
            double v = climb(s, z);
            if (v > best) {
                best = v;
                at = z;
                top = *s;
            }
        }
    }
    *s = top;
    s->z = refine(s, at, 2.0 / STARTS);
}

/* Twice the log-likelihood that a stray rate gains, nothing penalised: a penalty that holds steep
 * slopes back would side with the fit without, whose slope the strays have flattened. */
static double gain_of(const double *x, const bool *y, size_t n, double theta, double beta)
{
    struct fl_logistic l;
    struct search s;
    if (fl_logistic_fit(&l, x, y, n, false))
        return 0;
    begin(&s, x, y, n, false);
    summit(&s, (theta - s.mean) / s.sd, beta * s.sd);
    return fmax(0, 2 * (climb(&s, s.z) - l.loglik));
}

int fl_stray_fit(struct fl_stray *out, const double *x, const bool *y, size_t n)
{
    struct fl_logistic l;
    struct search s;
    *out = (struct fl_stray){FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    if (fl_logistic_fit(&l, x, y, n, true) || !(l.beta > 0))
        return -1;
    double theta = -l.alpha / l.beta;
    *out = (struct fl_stray){theta, l.beta, 0, gain_of(x, y, n, theta, l.beta)};
    if (out->gain < WORTH_FITTING)
        return 0;
    begin(&s, x, y, n, true);
    double plain = value_at(&s, (theta - s.mean) / s.sd, log(l.beta * s.sd), 0);
    summit(&s, (theta - s.mean) / s.sd, l.beta * s.sd);
    if (climb(&s, s.z) > plain)
        *out = (struct fl_stray){s.mean + s.sd * s.z, exp(s.log_slope) / s.sd, rate_of(s.turn),
                                 out->gain};
    return 0;
}

/* Where the profile has fallen by `fall` from `top`, going from z in direction sign. */
static double edge(struct search s, double z, double top, double fall, int sign)
{
    double in = z, step = 0.05, out = z + sign * step;
    while (climb(&s, out) > top - fall) {
        in = out;
        step *= 1.3;
        out += sign * step;
        if (fabs(out - z) > FARTHEST)
            return sign * INFINITY;
    }
    for (int i = 0; i < 14; i++) {
        double middle = (in + out) / 2;
        *(climb(&s, middle) > top - fall ? &in : &out) = middle;
    }
    return out;
}

void fl_stray_limits(const struct fl_stray *fit, const double *x, const bool *y, size_t n,
                     double level, double *low, double *high)
{
    struct search s;
    begin(&s, x, y, n, true);
    double z = (fit->theta - s.mean) / s.sd, fall = fl_chi2_quantile(level, 1) / 2;
    s.log_slope = log(fit->beta * s.sd);
    s.turn = asin(sqrt(fit->rate / FL_STRAY_MOST));
    double top = climb(&s, z);
    *low = s.mean + s.sd * edge(s, z, top, fall, -1);
    *high = s.mean + s.sd * edge(s, z, top, fall, 1);
}
