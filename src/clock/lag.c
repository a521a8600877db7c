/* Cross-correlation of the picture's and the hand's speed by Fourier transforms, chunk by chunk,
 * with the energies that overlap at each lag.
 *
 * A score is the profile log likelihood of a lag under a free gain on each axis; drifts are tried
 * by moving the chunks' sums against each other. */
#include "clock/lag.h"

#include <assert.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/transform.h"

/* Samples of a chunk, two minutes: under the largest drift its ends are 18 ms apart from its
 * middle, less than a flick is wide. Drifts tried on each side of none. */
enum { CHUNK = 15000, DRIFT_STEPS = 6 };
/* What counts. Choices. */
static const struct {
    double floor;          /* hand energy at a lag, as a share of the most: less is rounding */
    double least_overlap;  /* share of the picture's motion inside the trace that can be scored */
    double most_explained; /* of it: a perfect fit keeps a finite score */
} model = {.floor = 1e-3, .least_overlap = 1e-3, .most_explained = 0.98};

/* Sums at every lag l: hand sample k + l against picture sample k. Index l + base. */
struct sums {
    size_t n;
    long base;
    double *cross_x, *cross_y; /* Σ p·h */
    double *hand_x, *hand_y;   /* Σ h² where the picture is known */
    double *picture;           /* Σ p² where the trace runs */
};

/* The hand on the coarse grid, transformed once. */
struct hand {
    size_t n, size; /* samples; transform length */
    float *x, *y, *xx, *yy;
};

static float *transformed(const float *values, const unsigned char *marks, size_t n, size_t stride,
                          size_t size, bool squared)
{
    float *in = FL_NEW(float, 2 * size), *out = FL_NEW(float, 2 * size);
    for (size_t k = 0; k < n; k++) {
        const float v = values ? values[k * stride] : (float)marks[k];
        in[2 * k] = squared ? v * v : v;
    }
    fl_dft(in, out, size, false);
    free(in);
    return out;
}

static void hand_open(struct hand *h, const struct fl_speed_track *track, size_t chunk)
{
    h->n = (track->n + FL_SPEED_FINE - 1) / FL_SPEED_FINE;
    for (h->size = 16; h->size < h->n + chunk;)
        h->size *= 2;
    h->x = transformed(track->x, NULL, h->n, FL_SPEED_FINE, h->size, false);
    h->y = transformed(track->y, NULL, h->n, FL_SPEED_FINE, h->size, false);
    h->xx = transformed(track->x, NULL, h->n, FL_SPEED_FINE, h->size, true);
    h->yy = transformed(track->y, NULL, h->n, FL_SPEED_FINE, h->size, true);
}

static void hand_close(struct hand *h)
{
    free(h->x);
    free(h->y);
    free(h->xx);
    free(h->yy);
}

static void sums_open(struct sums *s, size_t n, long base)
{
    *s = (struct sums){n,
                       base,
                       FL_NEW(double, n),
                       FL_NEW(double, n),
                       FL_NEW(double, n),
                       FL_NEW(double, n),
                       FL_NEW(double, n)};
}

static void sums_close(struct sums *s)
{
    free(s->cross_x);
    free(s->cross_y);
    free(s->hand_x);
    free(s->hand_y);
    free(s->picture);
}

/* Two real correlations in one inverse transform: conj(a)·x → real part, conj(b)·y → imaginary. */
static float *correlate_two(const float *a, const float *b, const float *x, const float *y,
                            size_t size)
{
    float *in = FL_NEW(float, 2 * size), *out = FL_NEW(float, 2 * size);
    for (size_t k = 0; k < 2 * size; k += 2) {
        const float re_x = a[k] * x[k] + a[k + 1] * x[k + 1];
        const float im_x = a[k] * x[k + 1] - a[k + 1] * x[k];
        const float re_y = b[k] * y[k] + b[k + 1] * y[k + 1];
        const float im_y = b[k] * y[k + 1] - b[k + 1] * y[k];
        in[k] = re_x - im_y;
        in[k + 1] = im_x + re_y;
    }
    fl_dft(in, out, size, true);
    free(in);
    return out;
}

/* Adds both parts of a wrapped correlation of picture samples from `first` on, m of them. */
static void collect(const struct sums *s, double *re, double *im, const float *wrapped, size_t size,
                    size_t hand_n, size_t first, size_t m, long shift)
{
    for (long l = -(long)m + 1; l < (long)hand_n; l++) {
        const size_t w = l < 0 ? size - (size_t)-l : (size_t)l;
        assert(w < size);
        const long i = l - (long)first + s->base - shift;
        if (i < 0 || i >= (long)s->n)
            continue;
        re[i] += (double)wrapped[2 * w] / (double)size;
        im[i] += (double)wrapped[2 * w + 1] / (double)size;
    }
}

static double energy(const struct fl_speed_track *t, size_t k)
{
    const double x = (double)t->x[k], y = (double)t->y[k];
    return x * x + y * y;
}

/* Picture energy of samples first..first+m-1 that meet the trace at each lag. */
static void collect_picture(const struct sums *s, const struct fl_speed_track *picture,
                            size_t hand_n, size_t first, size_t m, long shift)
{
    double *until = FL_NEW(double, m + 1);
    for (size_t k = 0; k < m; k++)
        until[k + 1] = until[k] + energy(picture, first + k);
    for (long l = -(long)m + 1; l < (long)hand_n; l++) {
        const long from = l < 0 ? -l : 0,
                   to = (long)hand_n - l < (long)m ? (long)hand_n - l : (long)m;
        const long i = l - (long)first + s->base - shift;
        if (i >= 0 && i < (long)s->n && to > from)
            s->picture[i] += until[to] - until[from];
    }
    free(until);
}

/* Sums of one chunk, moved by `shift` lags for the drift tried, once for each of n sums. */
static void add_chunk(struct sums *s, const long *shift, size_t n,
                      const struct fl_speed_track *picture, const struct hand *h, size_t first,
                      size_t m)
{
    float *px = transformed(picture->x + first, NULL, m, 1, h->size, false);
    float *py = transformed(picture->y + first, NULL, m, 1, h->size, false);
    float *seen = transformed(NULL, picture->known + first, m, 1, h->size, false);
    float *cross = correlate_two(px, py, h->x, h->y, h->size);
    float *hand = correlate_two(seen, seen, h->xx, h->yy, h->size);
    for (size_t d = 0; d < n; d++) {
        collect(&s[d], s[d].cross_x, s[d].cross_y, cross, h->size, h->n, first, m, shift[d]);
        collect(&s[d], s[d].hand_x, s[d].hand_y, hand, h->size, h->n, first, m, shift[d]);
        collect_picture(&s[d], picture, h->n, first, m, shift[d]);
    }
    free(px);
    free(py);
    free(seen);
    free(cross);
    free(hand);
}

/* Sums whose hand energy is next to nothing are rounding. */
static double fits(double cross, double hand, double floor)
{
    return hand > floor ? cross * cross / hand : 0;
}

struct surface {
    double total, floor_x, floor_y; /* picture energy; least hand energy taken for one */
};

static double explained_at(const struct sums *s, const struct surface *f, size_t i)
{
    const double share = fits(s->cross_x[i], s->hand_x[i], f->floor_x) +
                         fits(s->cross_y[i], s->hand_y[i], f->floor_y);
    return s->picture[i] > model.least_overlap * f->total
               ? fl_clamp(share / s->picture[i], 0, model.most_explained)
               : 0;
}

static double score_at(const struct sums *s, const struct surface *f, size_t i)
{
    return -s->picture[i] / f->total * log(1 - explained_at(s, f, i));
}

static double largest(const double *x, size_t n)
{
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, x[i]);
    return most;
}

static void note_best(struct fl_lag *out, const struct sums *s, const struct surface *f, size_t i)
{
    out->explained = explained_at(s, f, i);
    out->overlap = s->picture[i] / f->total;
    out->gain_x = s->hand_x[i] > f->floor_x ? s->cross_x[i] / s->hand_x[i] : 0;
    out->gain_y = s->hand_y[i] > f->floor_y ? s->cross_y[i] / s->hand_y[i] : 0;
}

/* Lags at the picture's middle that count, as indices. */
struct range {
    long from, to;
};

static struct range range_of(const struct fl_lag_band *band, const struct sums *s,
                             const struct fl_speed_track *picture,
                             const struct fl_speed_track *track)
{
    const double zero_s = track->start_s - picture->start_s;
    struct range r = {LONG_MIN, LONG_MAX};
    if (band) {
        r.from = s->base + lround((band->least_s - zero_s) / FL_SPEED_STEP_S);
        r.to = s->base + lround((band->most_s - zero_s) / FL_SPEED_STEP_S);
    }
    return r;
}

/* Best of all lags and drifts, then the best farther away than a rival must be. A drift moves
 * the lag at the picture's middle by `middle[d]` steps. */
static void choose(struct fl_lag *out, const struct sums *s, const struct surface *f, size_t n,
                   const long *middle, const struct range *r, size_t *best_d, size_t *best_i)
{
    out->score = out->rival = -1;
    for (size_t d = 0; d < n; d++)
        for (size_t i = 0; i < s[d].n; i++) {
            const long lag = (long)i + middle[d];
            const double v = lag < r->from || lag > r->to ? -1 : score_at(&s[d], f, i);
            if (v > out->score) {
                out->score = v;
                *best_d = d;
                *best_i = i;
            }
        }
    const long at = (long)*best_i + middle[*best_d];
    const long apart = lround(FL_LAG_RIVAL_S / FL_SPEED_STEP_S);
    for (size_t d = 0; d < n; d++)
        for (size_t i = 0; i < s[d].n; i++)
            if (labs((long)i + middle[d] - at) > apart && (long)i + middle[d] >= r->from &&
                (long)i + middle[d] <= r->to)
                out->rival = fmax(out->rival, score_at(&s[d], f, i));
    out->rival = fmax(out->rival, 0);
    if (out->score < 0) /* no lag of the band overlaps */
        return;
    note_best(out, &s[*best_d], f, *best_i);
}

/* Short footage cannot tell drifts apart here: only one is tried. */
static size_t drifts_to_try(const struct fl_speed_track *picture, double *drift)
{
    const size_t n = picture->n > CHUNK ? 2 * DRIFT_STEPS + 1 : 1;
    for (size_t d = 0; d < n; d++)
        drift[d] = n > 1 ? 1e-6 * FL_LAG_DRIFT_PPM * ((double)d / DRIFT_STEPS - 1) : 0;
    return n;
}

static void add_all(struct sums *s, const double *drift, size_t n,
                    const struct fl_speed_track *picture, const struct hand *h)
{
    for (size_t first = 0; first < picture->n; first += CHUNK) {
        const size_t m = picture->n - first < CHUNK ? picture->n - first : CHUNK;
        long shift[2 * DRIFT_STEPS + 1];
        for (size_t d = 0; d < n; d++)
            shift[d] = lround(drift[d] * ((double)first + (double)m / 2));
        add_chunk(s, shift, n, picture, h, first, m);
    }
}

void fl_lag_search(struct fl_lag *out, const struct fl_speed_track *picture,
                   const struct fl_speed_track *track, const struct fl_lag_band *band)
{
    double drift[2 * DRIFT_STEPS + 1];
    long middle[2 * DRIFT_STEPS + 1];
    struct sums sums[2 * DRIFT_STEPS + 1];
    struct hand hand;
    struct surface f = {0};
    const size_t n = drifts_to_try(picture, drift);
    size_t best_d = 0, best_i = 0;
    memset(out, 0, sizeof *out);
    hand_open(&hand, track, picture->n < CHUNK ? picture->n : CHUNK);
    for (size_t d = 0; d < n; d++) {
        middle[d] = lround(drift[d] * (double)picture->n / 2);
        sums_open(&sums[d], picture->n + hand.n, (long)picture->n - 1);
    }
    add_all(sums, drift, n, picture, &hand);
    for (size_t k = 0; k < picture->n; k++)
        f.total += energy(picture, k);
    f.floor_x = fmax(model.floor * largest(sums[0].hand_x, sums[0].n), 1e-9);
    f.floor_y = fmax(model.floor * largest(sums[0].hand_y, sums[0].n), 1e-9);
    if (f.total > 0) {
        const struct range r = range_of(band, &sums[0], picture, track);
        choose(out, sums, &f, n, middle, &r, &best_d, &best_i);
        /* picture sample k at start + k·step meets hand sample k + lag */
        const double lag = (double)((long)best_i - sums[0].base) * FL_SPEED_STEP_S;
        out->drift_ppm = 1e6 * drift[best_d];
        out->offset_s = track->start_s + lag - picture->start_s;
    }
    for (size_t d = 0; d < n; d++)
        sums_close(&sums[d]);
    hand_close(&hand);
}
