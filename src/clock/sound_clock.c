/* Search over all lags, a line through the presses that were heard, then the beginning of the mean
 * click, which tells where in the sudden sound the contact closed. */
#include "clock/sound_clock.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/click_match.h"
#include "maths/interval.h"
#include "maths/robust.h"

/* Limits of belief; none was fitted to a take. */
static const double least_confidence = 0.25;  /* rival, what is missing, scatter */
static const double least_heard = 0.3;        /* share of the presses */
static const double tolerance_s = 0.002;      /* a press is heard within this, or 1.5 reports */
static const double slowest_report_s = 0.008; /* 125 a second, the slowest that USB mice have */
static const double release_reach_s = 0.03;   /* releases are logged at most this late */
/* The beginning of a click is told to this; and a report's wait for its poll, which is even over
 * the interval (standard deviation 1/√12 of it), is not told from it. */
static const double onset_error_s = 0.0003, wait_spread = 0.289;
static const double drift_prior = 100e-6;     /* spread of quartz clocks against each other */
static const double too_much_drift_ppm = 290; /* the end of what is searched */
enum { LEAST_HEARD = 3, AROUND = 48 };
#define FL_MAD_OF_EVEN 0.7413 /* robust spread of what is even over -1 to 1 */

struct work {
    struct fl_sound_clock *out;
    const struct fl_click_energy *sound;
    struct fl_click_sounds sounds;
    double report_s;         /* between two reports of the mouse */
    double sharp;            /* 0..1: how surely sounds lie on the line, not only near it */
    double *press, *release; /* trace times */
    size_t n_presses, n_releases;
    struct fl_click_match match;
};

/* 1: presses are heard at one lag; 0: anywhere within the tolerance, as sounds are that follow
 * presses loosely, a game's own among them. */
static double concentration(const struct work *w)
{
    const double even_ms = 1e3 * FL_MAD_OF_EVEN * w->sounds.tolerance_s;
    return fl_clamp(1 - w->out->residual_ms / even_ms, 0, 1);
}

static void refuse(struct fl_sound_clock *c, const char *why)
{
    c->known = false;
    c->offset_s = c->drift_ppm = c->residual_ms = c->error_ms = c->release_ms = FL_UNKNOWN;
    snprintf(c->refused, sizeof c->refused, "%s", why);
}

void fl_sound_clock_none(struct fl_sound_clock *out, const char *why)
{
    memset(out, 0, sizeof *out);
    refuse(out, why);
}

/* Mouse buttons and pad buttons alike: what clicks is heard. */
static void collect_events(struct work *w, const struct fl_trace *t)
{
    size_t cap_p = 0, cap_r = 0;
    for (size_t i = 0; i < t->n; i++) {
        const struct fl_event *e = &t->events[i];
        if (e->button && e->state)
            FL_PUSH(w->press, w->n_presses, cap_p, e->time_s);
        else if (e->button)
            FL_PUSH(w->release, w->n_releases, cap_r, e->time_s);
    }
}

/* ---- search ---- */

static int ascending(const void *x, const void *y)
{
    const double a = *(const double *)x, b = *(const double *)y;
    return (a > b) - (a < b);
}

/* The lag of the presses near one found with presses and releases together. */
static void search_all(struct work *w)
{
    const size_t n = w->n_presses + w->n_releases;
    double *all = FL_NEW(double, n);
    struct fl_click_match presses;
    memcpy(all, w->press, w->n_presses * sizeof *all);
    if (w->n_releases > 0)
        memcpy(all + w->n_presses, w->release, w->n_releases * sizeof *all);
    qsort(all, n, sizeof *all, ascending);
    fl_click_search(&w->match, &w->sounds, all, n);
    fl_click_search(&presses, &w->sounds, w->press, w->n_presses);
    const bool together = w->match.score - w->match.rival > presses.score - presses.rival;
    if (!together || fabs(w->match.line.lag_s - presses.line.lag_s) < release_reach_s)
        w->match = presses.score > 0 && !together ? presses : w->match;
    if (together && fabs(w->match.line.lag_s - presses.line.lag_s) < release_reach_s)
        w->match.line = presses.line;
    free(all);
}

/* ---- the line through the presses ---- */

struct pairs {
    size_t n;
    double *sound_s, *trace_s, *lag;
};

static void pairs_free(struct pairs *p)
{
    free(p->sound_s);
    free(p->trace_s);
    free(p->lag);
}

static struct pairs pair_up(const struct work *w, const double *event, size_t n, double shift_s)
{
    struct pairs p = {0, FL_NEW(double, n), FL_NEW(double, n), FL_NEW(double, n)};
    for (size_t i = 0; i < n; i++) {
        const double at = fl_click_to_sound(&w->match.line, event[i] - shift_s);
        const struct fl_click_peak *k = fl_click_nearest(&w->sounds, at, w->sounds.tolerance_s);
        if (!k)
            continue;
        p.sound_s[p.n] = k->time_s;
        p.trace_s[p.n] = event[i];
        p.lag[p.n++] = event[i] - shift_s - k->time_s;
    }
    return p;
}

static long count_within(const struct work *w)
{
    const double end_s = (double)w->sound->n / FL_CLICK_HZ;
    long n = 0;
    for (size_t i = 0; i < w->n_presses; i++) {
        const double at = fl_click_to_sound(&w->match.line, w->press[i]);
        n += at > 0.02 && at < end_s - 0.01;
    }
    return n;
}

static double click_error_s(const struct work *w)
{
    return hypot(onset_error_s, wait_spread * w->report_s);
}

/* Error of a slope through clicks that are told to an error, whatever few of them say. */
static double slope_error(double error_s, const double *x, size_t n)
{
    double mean = 0, moment = 0;
    for (size_t i = 0; i < n; i++)
        mean += x[i] / (double)n;
    for (size_t i = 0; i < n; i++)
        moment += (x[i] - mean) * (x[i] - mean);
    return error_s / sqrt(moment);
}

/* A slope that is told badly is drawn towards none, about the clicks' mean. */
static void shrink(struct fl_line *line, double error_s, const double *x, size_t n)
{
    double mean = 0;
    for (size_t i = 0; i < n; i++)
        mean += x[i] / (double)n;
    const double se = hypot(line->slope_se, slope_error(error_s, x, n)), usual = drift_prior;
    const double kept = isfinite(se) ? usual * usual / (usual * usual + se * se) : 0;
    line->intercept += (1 - kept) * line->slope * mean;
    line->slope *= kept;
    line->slope_se = isfinite(se) ? usual * se / hypot(usual, se) : usual;
    line->intercept_se = hypot(line->intercept_se, error_s / sqrt((double)n));
}

/* Fits the match's line anew, about the middle of the clicks; its errors go to *line. */
static void refit(struct work *w, const struct pairs *p, struct fl_line *line)
{
    struct fl_click_line *l = &w->match.line;
    double *x = FL_NEW(double, p->n), least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < p->n; i++) {
        least = fmin(least, p->trace_s[i]);
        most = fmax(most, p->trace_s[i]);
    }
    l->lag_s +=
        l->drift * ((least + most) / 2 - l->middle_s); /* the same line about another middle */
    l->middle_s = (least + most) / 2;
    for (size_t i = 0; i < p->n; i++)
        x[i] = p->sound_s[i] + l->lag_s - l->middle_s;
    if (fl_line_fit_robust(line, x, p->lag, NULL, p->n) == 0) {
        shrink(line, click_error_s(w), x, p->n);
        l->lag_s = line->intercept;
        l->drift = line->slope;
    }
    free(x);
}

/* ---- the beginning of the mean click ---- */

/* Mean stored step about the presses, from -AROUND to AROUND. */
static void mean_click(const struct work *w, const struct pairs *p, double *mean)
{
    long used = 0;
    memset(mean, 0, (2 * AROUND + 1) * sizeof *mean);
    for (size_t i = 0; i < p->n; i++) {
        const double at = fl_click_to_sound(&w->match.line, p->trace_s[i]) * FL_CLICK_HZ;
        const long k = lrint(at);
        if (k < AROUND || k + AROUND >= (long)w->sound->n)
            continue;
        for (int s = -AROUND; s <= AROUND; s++)
            mean[s + AROUND] += w->sound->step[k + s];
        used++;
    }
    for (int s = 0; s <= 2 * AROUND; s++)
        mean[s] /= used ? (double)used : 1;
}

/* Steps from the line to where the mean click has half risen; 0 where it does not rise. */
static double half_rise(const double *mean)
{
    enum { QUIET = AROUND - 16, LOUD = AROUND + 24 };
    double before = 0;
    int top = QUIET;
    for (int s = 0; s < QUIET; s++)
        before += mean[s] / QUIET;
    for (int s = QUIET; s < LOUD; s++)
        if (mean[s] > mean[top])
            top = s;
    const double half = (before + mean[top]) / 2;
    int s = top;
    while (s > QUIET && mean[s - 1] > half)
        s--;
    if (s == QUIET || mean[top] - before < 1)
        return 0;
    return s - 1 + (half - mean[s - 1]) / (mean[s] - mean[s - 1]) - AROUND;
}

static void find_beginning(struct work *w, const struct pairs *p)
{
    double mean[2 * AROUND + 1];
    mean_click(w, p, mean);
    w->match.line.lag_s -= half_rise(mean) / FL_CLICK_HZ;
}

/* ---- releases ---- */

/* The shift within reach by which most releases fall on sounds. */
static double release_shift(const struct work *w)
{
    enum { BINS = 60 };
    double votes[BINS + 2] = {0}, best = 0;
    int at = 0;
    for (size_t i = 0; i < w->n_releases; i++) {
        const double s = fl_click_to_sound(&w->match.line, w->release[i]);
        for (size_t k = 0; k < w->sounds.n; k++) {
            const double late = s - w->sounds.peak[k].time_s + 0.005;
            if (late >= 0 && late < release_reach_s + 0.005)
                votes[1 + (int)(BINS * late / (release_reach_s + 0.005))] +=
                    w->sounds.peak[k].weight;
        }
    }
    for (int b = 1; b <= BINS; b++)
        if (votes[b - 1] / 2 + votes[b] + votes[b + 1] / 2 > best) {
            best = votes[b - 1] / 2 + votes[b] + votes[b + 1] / 2;
            at = b;
        }
    return at ? (at - 0.5) * (release_reach_s + 0.005) / BINS - 0.005 : FL_UNKNOWN;
}

static void find_release_delay(struct work *w)
{
    struct fl_sound_clock *c = w->out;
    c->release_ms = FL_UNKNOWN;
    const double shift_s = w->n_releases ? release_shift(w) : FL_UNKNOWN;
    if (!fl_known(shift_s))
        return;
    struct pairs p = pair_up(w, w->release, w->n_releases, shift_s);
    if ((double)p.n >= least_heard * (double)w->n_releases && p.n >= LEAST_HEARD) {
        for (size_t i = 0; i < p.n; i++)
            p.lag[i] = p.trace_s[i] - fl_click_to_trace(&w->match.line, p.sound_s[i]);
        c->release_ms = 1e3 * fl_median(p.lag, p.n);
    }
    pairs_free(&p);
}

/* ---- the clock ---- */

static void judge(struct work *w)
{
    struct fl_sound_clock *c = w->out;
    const struct fl_click_match *m = &w->match;
    char why[sizeof c->refused];
    const double share = c->presses ? (double)c->heard / (double)c->presses : 0;
    const double alone = m->score > 0 ? fl_clamp(1 - m->rival / m->score, 0, 1) : 0;
    const double at_one_lag = concentration(w);
    c->confidence = alone * share * at_one_lag;
    if (c->heard < LEAST_HEARD || share < least_heard) {
        snprintf(why, sizeof why,
                 "only %ld of %ld presses in the trace are heard, too few to be sure; record the "
                 "mouse closer, or click more",
                 c->heard, c->presses);
        refuse(c, why);
    } else if (c->confidence < least_confidence && at_one_lag < alone) {
        refuse(c,
               "sounds follow the presses by no fixed time, as a game's own do; record the mouse "
               "itself");
    } else if (c->confidence < least_confidence) {
        snprintf(why, sizeof why,
                 "another lag fits nearly as well (%.0f %%): not this take's sound, or too noisy",
                 100 * m->rival / m->score);
        refuse(c, why);
    } else if (fabs(1e6 * m->line.drift) > too_much_drift_ppm) {
        snprintf(why, sizeof why, "the clocks run over %.0f ppm apart: is this the take's sound?",
                 too_much_drift_ppm);
        refuse(c, why);
    }
}

static double spread_ms(const struct work *w, const struct pairs *p)
{
    double *r = FL_NEW(double, p->n);
    for (size_t i = 0; i < p->n; i++)
        r[i] = p->trace_s[i] - fl_click_to_trace(&w->match.line, p->sound_s[i]);
    const double spread = 1e3 * fl_mad_sigma(r, p->n);
    free(r);
    return spread;
}

/* At the end of the sound that lies farther from the clicks. */
static double error_ms(const struct work *w, const struct fl_line *line, size_t n)
{
    const struct fl_click_line *l = &w->match.line;
    const double start_s = fl_click_to_trace(l, 0),
                 end_s = fl_click_to_trace(l, (double)w->sound->n / FL_CLICK_HZ);
    const double away_s = fmax(fabs(start_s - l->middle_s), fabs(end_s - l->middle_s));
    const double few = fl_t_quantile(0.975, n > 3 ? (double)n - 2 : 1);
    const double lag_s = isfinite(line->intercept_se) ? few * line->intercept_se : 0;
    return 1e3 * hypot(hypot(lag_s, 1.96 * line->slope_se * away_s), 1.96 * click_error_s(w));
}

static void settle(struct work *w)
{
    struct fl_sound_clock *c = w->out;
    struct fl_line line = {.slope_se = drift_prior};
    struct pairs p = pair_up(w, w->press, w->n_presses, 0);
    if (p.n >= LEAST_HEARD)
        refit(w, &p, &line);
    find_beginning(w, &p);
    c->presses = count_within(w);
    c->heard = (long)p.n;
    c->residual_ms = spread_ms(w, &p);
    c->error_ms = error_ms(w, &line, p.n);
    find_release_delay(w);
    c->drift_ppm = 1e6 * w->match.line.drift;
    c->offset_s = fl_click_to_trace(&w->match.line, 0) - w->report_s / 2;
    pairs_free(&p);
}

void fl_clock_from_sound(struct fl_sound_clock *out, const struct fl_click_energy *sound,
                         const struct fl_trace *trace)
{
    struct work w = {.out = out, .sound = sound};
    struct fl_click_peak *peak;
    memset(out, 0, sizeof *out);
    out->known = true;
    collect_events(&w, trace);
    w.report_s = trace->report_rate_hz > 0 ? 1 / trace->report_rate_hz : 0;
    w.report_s = fmin(w.report_s, slowest_report_s);
    peak = fl_click_peaks(sound, &w.sounds.n);
    w.sounds.peak = peak;
    w.sounds.tolerance_s = fmax(tolerance_s, 1.5 * w.report_s);
    out->presses = (long)w.n_presses;
    if (w.n_presses == 0) {
        refuse(out, "no button is pressed in the trace");
    } else if (w.sounds.n == 0) {
        refuse(out, "nothing sudden is heard");
    } else {
        search_all(&w);
        settle(&w);
        judge(&w);
    }
    free(peak);
    free(w.press);
    free(w.release);
}

double fl_sound_clock_sound_time(const struct fl_sound_clock *c, double trace_s)
{
    return (trace_s - c->offset_s) / (1 + 1e-6 * c->drift_ppm);
}
