/* How long each axis stood where, by samples thinned out as they come; the place that it held
 * longest about the middle is its rest. */
#include "trace/stick_survey.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

enum { DEVICES = 16, SAMPLES = 1 << 14, BINS = 64 };
static const double middle_low = 0.25, middle_high = 0.75; /* of the range */
static const double least_in_middle = 0.2; /* of the time: a trigger crosses the middle only */
static const double least_travel = 0.1;    /* of the range */

struct sample {
    int32_t value;
    float held_s;
};

struct axis {
    bool told, ranged;
    int32_t value, least, most, low, high;
    double since_s, travel;
    struct sample *sample; /* SAMPLES, or NULL */
    int n, stride, skipped;
};

struct device {
    uint32_t id;
    struct axis axis[FL_AXES];
};

struct fl_stick_survey {
    struct device device[DEVICES];
    int n;
    double end_s;
};

struct fl_stick_survey *fl_stick_survey_new(void)
{
    return FL_NEW(struct fl_stick_survey, 1);
}

void fl_stick_survey_free(struct fl_stick_survey **s)
{
    if (!*s)
        return;
    for (int i = 0; i < (*s)->n; i++)
        for (int k = 0; k < FL_AXES; k++)
            free((*s)->device[i].axis[k].sample);
    free(*s);
    *s = NULL;
}

/* NULL when there are too many. */
static struct device *device_of(struct fl_stick_survey *s, uint32_t id)
{
    for (int i = 0; i < s->n; i++)
        if (s->device[i].id == id)
            return &s->device[i];
    if (s->n == DEVICES)
        return NULL;
    s->device[s->n].id = id;
    return &s->device[s->n++];
}

void fl_stick_survey_range(struct fl_stick_survey *s, uint32_t device, enum fl_pad_axis axis,
                           int32_t low, int32_t high)
{
    struct device *d = device_of(s, device);
    if (!d || high <= low)
        return;
    d->axis[axis].ranged = true;
    d->axis[axis].low = low;
    d->axis[axis].high = high;
}

/* ---- samples ---- */

static void thin(struct axis *a)
{
    int kept = 0;
    for (int i = 0; i < a->n; i += 2)
        a->sample[kept++] = a->sample[i];
    a->n = kept;
    a->stride *= 2;
}

static void keep_sample(struct axis *a, double until_s)
{
    if (!a->sample) {
        a->sample = FL_NEW(struct sample, SAMPLES);
        a->stride = 1;
    }
    if (++a->skipped < a->stride)
        return;
    a->skipped = 0;
    if (a->n == SAMPLES)
        thin(a);
    a->sample[a->n++] = (struct sample){a->value, (float)fmax(until_s - a->since_s, 0)};
}

static void axis_told(struct axis *a, double time_s, int32_t value)
{
    if (a->told && value == a->value)
        return;
    if (a->told) {
        keep_sample(a, time_s);
        a->travel += fabs((double)value - a->value);
    }
    a->least = a->told && a->least < value ? a->least : value;
    a->most = a->told && a->most > value ? a->most : value;
    a->told = true;
    a->value = value;
    a->since_s = time_s;
}

void fl_stick_survey_add(struct fl_stick_survey *s, const struct fl_input_report *r)
{
    struct device *d = r->axes ? device_of(s, r->device) : NULL;
    s->end_s = fmax(s->end_s, r->time_s);
    for (int k = 0; d && k < FL_AXES; k++)
        if (r->axes & 1u << k)
            axis_told(&d->axis[k], r->time_s, r->axis[k]);
}

bool fl_stick_survey_any(const struct fl_stick_survey *s)
{
    for (int i = 0; i < s->n; i++)
        for (int k = 0; k < FL_AXES; k++)
            if (s->device[i].axis[k].told)
                return true;
    return false;
}

/* ---- range and rest ---- */

static void range_of(const struct axis *a, double *low, double *high)
{
    static const int bits[] = {8, 10, 12, 16};
    *low = a->low;
    *high = a->high;
    for (size_t i = 0; !a->ranged && i < sizeof bits / sizeof *bits; i++) {
        *low = a->least < 0 ? -ldexp(1, bits[i] - 1) : 0;
        *high = a->least < 0 ? ldexp(1, bits[i] - 1) - 1 : ldexp(1, bits[i]) - 1;
        if (a->least >= *low && a->most <= *high)
            return;
    }
    if (!a->ranged) {
        *low = a->least;
        *high = fmax(a->most, (double)a->least + 1);
    }
}

struct rest {
    double low, high, centre, noise; /* noise in the axis' units, half of the width */
    double in_middle;                /* share of the time */
};

static int by_value(const void *x, const void *y)
{
    const struct sample *a = x, *b = y;
    return (a->value > b->value) - (a->value < b->value);
}

/* Value below which the samples of [from, to) spend this share of their time. */
static double held_quantile(const struct sample *v, int from, int to, double share)
{
    double all = 0, sum = 0;
    for (int i = from; i < to; i++)
        all += (double)v[i].held_s;
    for (int i = from; i < to; i++) {
        sum += (double)v[i].held_s;
        if (sum >= share * all)
            return v[i].value;
    }
    return v[to - 1].value;
}

static int bin_of(const struct rest *r, int32_t value)
{
    const double at = (value - r->low) / (r->high - r->low);
    return (int)fl_clamp(BINS * at, 0, BINS - 1);
}

/* The bin about the middle that was held longest. */
static int rest_bin(struct rest *r, const struct sample *v, int n)
{
    double held[BINS] = {0}, all = 0, middle = 0;
    int best = BINS / 2;
    for (int i = 0; i < n; i++) {
        held[bin_of(r, v[i].value)] += (double)v[i].held_s;
        all += (double)v[i].held_s;
    }
    for (int b = (int)(BINS * middle_low); b < (int)(BINS * middle_high); b++) {
        middle += held[b];
        if (held[b] > held[best])
            best = b;
    }
    r->in_middle = all > 0 ? middle / all : 0;
    return best;
}

static void find_rest(struct rest *r, struct sample *v, int n)
{
    const int best = rest_bin(r, v, n);
    int from = 0, to = n;
    r->centre = (r->low + r->high) / 2;
    qsort(v, (size_t)n, sizeof *v, by_value);
    while (from < n && bin_of(r, v[from].value) < best - 1)
        from++;
    while (to > from && bin_of(r, v[to - 1].value) > best + 1)
        to--;
    if (r->in_middle < least_in_middle || from == to)
        return;
    r->centre = held_quantile(v, from, to, 0.5);
    r->noise = (held_quantile(v, from, to, 0.975) - held_quantile(v, from, to, 0.025)) / 2;
}

static struct rest rest_of(const struct axis *a, double end_s)
{
    struct rest r = {0};
    struct sample *v = FL_NEW(struct sample, (size_t)a->n + 1);
    range_of(a, &r.low, &r.high);
    if (a->n > 0)
        memcpy(v, a->sample, (size_t)a->n * sizeof *v);
    v[a->n] = (struct sample){a->value, (float)fmax(end_s - a->since_s, 1e-3)};
    find_rest(&r, v, a->n + 1);
    free(v);
    return r;
}

/* ---- the choice ---- */

static const enum fl_pad_axis pairs[][2] = {
    {FL_AXIS_RX, FL_AXIS_RY}, {FL_AXIS_Z, FL_AXIS_RZ}, {FL_AXIS_X, FL_AXIS_Y}};
static const char *const names[] = {"Rx, Ry", "Z, Rz", "X, Y"};

/* Fills the choice if the pair is a stick; returns how far it was moved, in ranges. */
static double judge_pair(const struct fl_stick_survey *s, const struct device *d, int pair,
                         struct fl_stick_choice *out)
{
    struct fl_stick *k = &out->stick;
    double travel = 0, widest = 0;
    *out = (struct fl_stick_choice){.device = d->id};
    for (int i = 0; i < 2; i++) {
        const struct axis *a = &d->axis[pairs[pair][i]];
        if (!a->told)
            return 0;
        const struct rest r = rest_of(a, s->end_s);
        if (r.in_middle < least_in_middle)
            return 0;
        out->axis[i] = pairs[pair][i];
        k->low[i] = r.low;
        k->high[i] = r.high;
        k->centre[i] = r.centre;
        k->rest_noise = fmax(k->rest_noise, 2 * r.noise / (r.high - r.low));
        k->guessed |= !a->ranged;
        travel += a->travel / (r.high - r.low);
        widest = fmax(widest, ((double)a->most - a->least) / (r.high - r.low));
    }
    k->known = widest >= least_travel;
    snprintf(k->name, sizeof k->name, "%s", names[pair]);
    return travel;
}

void fl_stick_survey_choose(const struct fl_stick_survey *s, struct fl_stick_choice *out)
{
    double farthest = -1;
    *out = (struct fl_stick_choice){0};
    for (int i = 0; i < s->n; i++)
        for (int pair = 0; pair < 3; pair++) {
            struct fl_stick_choice one;
            const double travel = judge_pair(s, &s->device[i], pair, &one);
            if (!one.stick.known)
                continue;
            if (travel > farthest) {
                farthest = travel;
                *out = one;
            }
            break;
        }
}

double fl_stick_value(const struct fl_stick *k, int i, int32_t value)
{
    const double off = value - k->centre[i];
    const double reach = off < 0 ? k->centre[i] - k->low[i] : k->high[i] - k->centre[i];
    return reach > 0 ? fl_clamp(off / reach, -1, 1) : 0;
}
