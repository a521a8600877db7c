/* Found figures differ a little from take to take, so settings cannot be told apart by them as by
 * given ones: takes are joined into one sensitivity as long as the next figure is near. */
#include "study/curve/setting_gain.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "study/take/sensitivity_measure.h"

static bool near(double a, double b)
{
    return fabs(log(a / b)) <= FL_GAIN_WITHIN; /* false for NaN */
}

static bool peers(const struct fl_take *a, const struct fl_take *b)
{
    return !strcmp(a->spec.game, b->spec.game) &&
           fl_same_number(a->spec.counts_per_inch, b->spec.counts_per_inch);
}

static int ascending(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* What peers of t show that do not say, ascending. */
static size_t found_of(double *v, const struct fl_session *s, const struct fl_take *t)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_takes; i++) {
        const struct fl_take *o = s->takes[i];
        const double found = fl_take_degrees_per_count(o);
        if (peers(o, t) && !fl_known(o->spec.degrees_per_count) && fl_known(found))
            v[n++] = found;
    }
    qsort(v, n, sizeof *v, ascending);
    return n;
}

/* Values first..end-1 that are joined to value i. */
static double joined_mean(const double *v, size_t n, size_t i)
{
    size_t first = i, end = i + 1;
    double sum = 0;
    while (first > 0 && near(v[first - 1], v[first]))
        first--;
    while (end < n && near(v[end], v[end - 1]))
        end++;
    for (size_t k = first; k < end; k++)
        sum += v[k] / (double)(end - first);
    return sum;
}

static double four_digits(double v)
{
    char text[32];
    snprintf(text, sizeof text, "%.4g", v);
    return strtod(text, NULL);
}

/* One that is given for a peer and agrees; else v itself. */
static double as_given(const struct fl_session *s, const struct fl_take *t, double v)
{
    for (size_t i = 0; i < s->n_takes; i++)
        if (peers(s->takes[i], t) && near(s->takes[i]->spec.degrees_per_count, v))
            return s->takes[i]->spec.degrees_per_count;
    return four_digits(v);
}

static bool any_given(const struct fl_session *s, const struct fl_take *t)
{
    for (size_t i = 0; i < s->n_takes; i++)
        if (peers(s->takes[i], t) && fl_known(s->takes[i]->spec.degrees_per_count))
            return true;
    return false;
}

static double shown(const struct fl_session *s, const struct fl_take *t, const double *v, size_t n)
{
    const double own = fl_take_degrees_per_count(t);
    size_t i = 0;
    if (fl_known(own)) {
        while (i < n && v[i] < own)
            i++;
        return i < n ? as_given(s, t, joined_mean(v, n, i)) : as_given(s, t, own);
    }
    while (i + 1 < n && near(v[i], v[i + 1]))
        i++;
    return n && i + 1 == n && t->spec.trace && !any_given(s, t)
               ? as_given(s, t, joined_mean(v, n, 0))
               : FL_UNKNOWN;
}

struct fl_setting_gain fl_setting_gain(const struct fl_session *s, const struct fl_take *t)
{
    if (fl_known(t->spec.degrees_per_count))
        return (struct fl_setting_gain){t->spec.degrees_per_count, false};
    double *v = FL_NEW(double, s->n_takes + 1);
    const size_t n = found_of(v, s, t);
    const double degrees = shown(s, t, v, n);
    free(v);
    return (struct fl_setting_gain){degrees, fl_known(degrees)};
}

bool fl_same_gain(struct fl_setting_gain a, struct fl_setting_gain b)
{
    return a.found || b.found ? near(a.degrees, b.degrees) : fl_same_number(a.degrees, b.degrees);
}
