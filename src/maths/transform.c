/* Fourier transforms and correlation, over libavutil's av_tx. */
#include "maths/transform.h"

#include <errno.h>
#include <libavutil/error.h>
#include <libavutil/tx.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

/* av_tx wants 64-byte aligned arrays. Columns are gathered this many at a time: 8 complex floats
 * of a row are one cache line. */
enum { ALIGN = 64, BATCH = 8, MOST_TOPS = 16 };

struct tx {
    AVTXContext *ctx;
    av_tx_fn run;
};

struct fl_fft2 {
    int w, h, half;     /* half: complex values a row, w/2 + 1 */
    size_t row, column; /* distance between rows of `rows` and columns of `columns`, in complex */
    struct tx real_forward, real_inverse, forward, inverse;
    AVComplexFloat *rows, *columns, *columns_out, *spectrum;
    float *line;                            /* one row of the picture */
    float *weight_x, *weight_y, weight_sum; /* low-pass of the phase surface */
    int *tops;                              /* positions of local maxima */
    float *row_max;
    void *block;
};

/* ---- plan ---- */

static bool fast_size(int n)
{
    if (n < 8 || n > 1 << 14)
        return false;
    while (n % 2 == 0)
        n /= 2;
    return n == 1 || n == 3 || n == 5 || n == 9 || n == 15;
}

static bool tx_open(struct tx *t, enum AVTXType type, bool inverse, int n, float scale)
{
    const int rc = av_tx_init(&t->ctx, &t->run, type, inverse, n, &scale, 0);
    if (rc == AVERROR(ENOMEM))
        fl_out_of_memory();
    return rc >= 0;
}

static size_t aligned_up(size_t bytes)
{
    return (bytes + ALIGN - 1) / ALIGN * ALIGN;
}

static void *carve(char **at, size_t bytes)
{
    void *p = *at;
    *at += aligned_up(bytes);
    return p;
}

static void plan_memory(struct fl_fft2 *p)
{
    size_t rows = (size_t)p->h * p->row * sizeof(AVComplexFloat);
    size_t columns = BATCH * p->column * sizeof(AVComplexFloat), w = (size_t)p->w, h = (size_t)p->h;
    size_t tops = (w * h / 4 + 1) * sizeof(int); /* no two neighbours are both maxima */
    p->block = fl_calloc(1, 2 * rows + 2 * columns + aligned_up(tops) + 4 * aligned_up(4 * w + 64) +
                                2 * aligned_up(4 * h) + ALIGN);
    char *at = (char *)aligned_up((uintptr_t)p->block);
    p->rows = carve(&at, rows);
    p->spectrum = carve(&at, rows);
    p->columns = carve(&at, columns);
    p->columns_out = carve(&at, columns);
    p->line = carve(&at, 4 * w + 64);
    p->weight_x = carve(&at, 4 * w + 64);
    p->weight_y = carve(&at, 4 * h);
    p->row_max = carve(&at, 4 * h);
    p->tops = carve(&at, tops);
}

/* The whitened spectrum is weighted by a Gaussian, so that the peak of a pure shift by any
 * fraction of a pixel is a Gaussian of this width: large enough that the pixel grid cuts off
 * nothing (0.7 % at the highest frequency), and noise, which sits there, counts little. */
#define PEAK_SIGMA 1.0

static float low_pass(int k, int n)
{
    double omega = 2 * FL_PI * k / n;
    return (float)exp(-0.5 * omega * omega * PEAK_SIGMA * PEAK_SIGMA);
}

static void plan_weights(struct fl_fft2 *p)
{
    double sum_x = 0, sum_y = 0;
    for (int x = 0; x < p->half; x++) {
        p->weight_x[x] = low_pass(x, p->w);
        sum_x += (x == 0 || 2 * x == p->w ? 1 : 2) * (double)p->weight_x[x];
    }
    for (int y = 0; y < p->h; y++) {
        p->weight_y[y] = low_pass(y < p->h - y ? y : p->h - y, p->h);
        sum_y += (double)p->weight_y[y];
    }
    p->weight_sum = (float)(sum_x * sum_y - 1); /* the mean brightness does not count */
}

struct fl_fft2 *fl_fft2_new(int width, int height)
{
    if (!fast_size(width) || !fast_size(height) || width % 4 != 0)
        return NULL;
    struct fl_fft2 *p = FL_NEW(struct fl_fft2, 1);
    p->w = width;
    p->h = height;
    p->half = width / 2 + 1;
    p->row = aligned_up((size_t)p->half * sizeof(AVComplexFloat)) / sizeof(AVComplexFloat);
    p->column = aligned_up((size_t)height * sizeof(AVComplexFloat)) / sizeof(AVComplexFloat);
    plan_memory(p);
    plan_weights(p);
    float scale = 1.0f / ((float)width * (float)height);
    if (!tx_open(&p->real_forward, AV_TX_FLOAT_RDFT, false, width, 1) ||
        !tx_open(&p->real_inverse, AV_TX_FLOAT_RDFT, true, width, scale) ||
        !tx_open(&p->forward, AV_TX_FLOAT_FFT, false, height, 1) ||
        !tx_open(&p->inverse, AV_TX_FLOAT_FFT, true, height, 1))
        fl_fft2_free(&p);
    return p;
}

void fl_fft2_free(struct fl_fft2 **p)
{
    if (!*p)
        return;
    av_tx_uninit(&(*p)->real_forward.ctx);
    av_tx_uninit(&(*p)->real_inverse.ctx);
    av_tx_uninit(&(*p)->forward.ctx);
    av_tx_uninit(&(*p)->inverse.ctx);
    free((*p)->block);
    free(*p);
    *p = NULL;
}

size_t fl_fft2_bins(const struct fl_fft2 *p)
{
    return (size_t)p->h * (size_t)p->half;
}

/* ---- two dimensions ---- */

/* Transforms the columns of from (rows `from_row` apart) into to. */
static void transform_columns(struct fl_fft2 *p, const struct tx *t, const AVComplexFloat *from,
                              size_t from_row, AVComplexFloat *to, size_t to_row)
{
    for (int x0 = 0; x0 < p->half; x0 += BATCH) {
        int m = p->half - x0 < BATCH ? p->half - x0 : BATCH;
        for (int y = 0; y < p->h; y++)
            for (int i = 0; i < m; i++)
                p->columns[(size_t)i * p->column + y] = from[(size_t)y * from_row + x0 + i];
        for (int i = 0; i < m; i++)
            t->run(t->ctx, p->columns_out + (size_t)i * p->column,
                   p->columns + (size_t)i * p->column, sizeof(AVComplexFloat));
        for (int y = 0; y < p->h; y++)
            for (int i = 0; i < m; i++)
                to[(size_t)y * to_row + x0 + i] = p->columns_out[(size_t)i * p->column + y];
    }
}

void fl_fft2_forward(struct fl_fft2 *p, const float *picture, float *spectrum)
{
    for (int y = 0; y < p->h; y++) {
        AVComplexFloat *row = p->rows + (size_t)y * p->row;
        memcpy(p->line, picture + (size_t)y * p->w, (size_t)p->w * sizeof *picture);
        p->real_forward.run(p->real_forward.ctx, row, p->line, sizeof(float));
        row[p->half - 1].im = 0; /* libavutil 57 leaves it unwritten */
    }
    transform_columns(p, &p->forward, p->rows, p->row, (AVComplexFloat *)spectrum, (size_t)p->half);
}

void fl_fft2_inverse(struct fl_fft2 *p, const float *spectrum, float *picture)
{
    transform_columns(p, &p->inverse, (const AVComplexFloat *)spectrum, (size_t)p->half, p->rows,
                      p->row);
    for (int y = 0; y < p->h; y++) { /* overwrites its input */
        p->real_inverse.run(p->real_inverse.ctx, p->line, p->rows + (size_t)y * p->row,
                            sizeof(AVComplexFloat));
        memcpy(picture + (size_t)y * p->w, p->line, (size_t)p->w * sizeof *picture);
    }
}

void fl_dft(const float *in, float *out, size_t n, bool inverse)
{
    struct tx t = {0};
    size_t bytes = n * sizeof(AVComplexFloat);
    if (n < 2 || n > 1 << 20 || !tx_open(&t, AV_TX_FLOAT_FFT, inverse, (int)n, 1)) {
        memcpy(out, in, n == 1 ? bytes : 0);
        for (size_t i = 0; n > 1 && i < 2 * n; i++)
            out[i] = NAN;
        return;
    }
    void *block = fl_calloc(1, 2 * aligned_up(bytes) + ALIGN);
    char *at = (char *)aligned_up((uintptr_t)block);
    void *from = carve(&at, bytes), *to = carve(&at, bytes);
    memcpy(from, in, bytes);
    t.run(t.ctx, to, from, sizeof(AVComplexFloat));
    memcpy(out, to, bytes);
    free(block);
    av_tx_uninit(&t.ctx);
}

/* ---- phase correlation ---- */

/* Amplitudes below this share of the largest are rounding and have no phase. */
#define AMPLITUDE_FLOOR 1e-7f

/* In lanes, so that it runs in vectors. */
static float largest_amplitude(const AVComplexFloat *s, size_t n)
{
    enum { LANES = 8 };
    float lane[LANES] = {0}, most = 0;
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
        for (size_t k = 0; k < LANES; k++) {
            const float power = s[i + k].re * s[i + k].re + s[i + k].im * s[i + k].im;
            lane[k] = power > lane[k] ? power : lane[k];
        }
    for (; i < n; i++) {
        const float power = s[i].re * s[i].re + s[i].im * s[i].im;
        most = power > most ? power : most;
    }
    for (int k = 0; k < LANES; k++)
        most = lane[k] > most ? lane[k] : most;
    return sqrtf(most);
}

/* One row of conj(a)·b, each bin divided by its amplitude and weighted. */
static void whiten_row(const AVComplexFloat *restrict a, const AVComplexFloat *restrict b,
                       AVComplexFloat *restrict out, const float *restrict weight, int n,
                       float row_weight, float floor_a, float floor_b)
{
    for (int x = 0; x < n; x++) {
        float size_a = sqrtf(a[x].re * a[x].re + a[x].im * a[x].im) + floor_a;
        float size_b = sqrtf(b[x].re * b[x].re + b[x].im * b[x].im) + floor_b;
        float g = weight[x] * row_weight / (size_a * size_b);
        out[x].re = g * (a[x].re * b[x].re + a[x].im * b[x].im);
        out[x].im = g * (a[x].re * b[x].im - a[x].im * b[x].re);
    }
}

void fl_phase_surface(struct fl_fft2 *p, const float *a, const float *b, float *surface)
{
    const AVComplexFloat *sa = (const AVComplexFloat *)a, *sb = (const AVComplexFloat *)b;
    size_t half = (size_t)p->half;
    float tiny_a = AMPLITUDE_FLOOR * largest_amplitude(sa, fl_fft2_bins(p)) + 1e-18f;
    float tiny_b = AMPLITUDE_FLOOR * largest_amplitude(sb, fl_fft2_bins(p)) + 1e-18f;
    float gain = (float)p->w * (float)p->h / p->weight_sum;
    for (int y = 0; y < p->h; y++)
        whiten_row(sa + (size_t)y * half, sb + (size_t)y * half, p->spectrum + (size_t)y * half,
                   p->weight_x, p->half, p->weight_y[y] * gain, tiny_a, tiny_b);
    p->spectrum[0] = (AVComplexFloat){0, 0};
    fl_fft2_inverse(p, (const float *)p->spectrum, surface);
}

double fl_peak3(double a, double b, double c)
{
    double bend = a - 2 * b + c;
    return bend < 0 ? fl_clamp((a - c) / (2 * bend), -0.5, 0.5) : 0;
}

/* Largest value of each row; in lanes, so that it runs in vectors. The width is divisible by 4. */
static void row_maxima(const struct fl_fft2 *p, const float *s)
{
    enum { LANES = 4 };
    for (int y = 0; y < p->h; y++) {
        const float *row = s + (size_t)y * p->w;
        float lane[LANES] = {0};
        for (int x = 0; x < p->w; x += LANES)
            for (int k = 0; k < LANES; k++)
                lane[k] = lane[k] > row[x + k] ? lane[k] : row[x + k];
        float a = fmaxf(lane[0], lane[1]), b = fmaxf(lane[2], lane[3]);
        p->row_max[y] = fmaxf(a, b);
    }
}

/* A level that n local maxima reach: rows whose largest value tops both rows beside hold one each.
 * 0 when fewer do. */
static float level_of(const struct fl_fft2 *p, int n)
{
    float top[MOST_TOPS] = {0};
    for (int y = 0; y < p->h; y++) {
        float v = p->row_max[y];
        if (v < p->row_max[y ? y - 1 : p->h - 1] || v < p->row_max[y + 1 < p->h ? y + 1 : 0])
            continue;
        for (int i = 0; i < n; i++) /* insertion: v sinks to its place */
            if (v > top[i]) {
                float t = top[i];
                top[i] = v;
                v = t;
            }
    }
    return top[n - 1];
}

/* Positions of the local maxima above 0 that reach `level`, each pixel against its 8 wrapped
 * neighbours; of equal neighbours the first counts. */
static size_t local_maxima(const struct fl_fft2 *p, const float *s, float level)
{
    size_t n = 0;
    int w = p->w, h = p->h;
    for (int y = 0; y < h; y++) {
        if (p->row_max[y] < level)
            continue;
        const float *row = s + (size_t)y * w, *up = s + (size_t)(y ? y - 1 : h - 1) * w;
        const float *down = s + (size_t)(y + 1 < h ? y + 1 : 0) * w;
        for (int x = 0; x < w; x++) {
            float v = row[x];
            if (!(v > 0) || v < level)
                continue;
            int l = x ? x - 1 : w - 1, r = x + 1 < w ? x + 1 : 0;
            if (v > row[l] && v >= row[r] && v > up[x] && v >= down[x] && v > up[l] && v > up[r] &&
                v >= down[l] && v >= down[r])
                p->tops[n++] = y * w + x;
        }
    }
    return n;
}

/* Offset of a peak from its middle sample and the factor from there to its top: a parabola
 * through the logarithms, exact for a Gaussian; through the values if one is not positive. */
static double refine(double a, double b, double c, double *rise)
{
    if (a > 0 && c > 0) {
        double d = fl_peak3(log(a), log(b), log(c));
        *rise = exp(-0.25 * log(a / c) * d);
        return d;
    }
    double d = fl_peak3(a, b, c);
    *rise = 1 - 0.25 * (a - c) * d / b;
    return d;
}

static struct fl_peak peak_at(const struct fl_fft2 *p, const float *s, int at)
{
    int w = p->w, h = p->h, x = at % w, y = at / w;
    const float *row = s + (size_t)y * w;
    double b = (double)row[x], rise_x, rise_y;
    double dx =
        refine((double)row[x ? x - 1 : w - 1], b, (double)row[x + 1 < w ? x + 1 : 0], &rise_x);
    double dy = refine((double)s[(size_t)(y ? y - 1 : h - 1) * w + x], b,
                       (double)s[(size_t)(y + 1 < h ? y + 1 : 0) * w + x], &rise_y);
    return (struct fl_peak){(float)((2 * x > w ? x - w : x) + dx),
                            (float)((2 * y > h ? y - h : y) + dy), (float)(b * rise_x * rise_y)};
}

/* Distance of a and b on a circle of n. */
static float apart(float a, float b, int n)
{
    float d = fabsf(a - b);
    return fminf(d, (float)n - d);
}

static bool clear_of(const struct fl_fft2 *p, const struct fl_peak *found, int n, int at,
                     float min_apart)
{
    for (int i = 0; i < n; i++) {
        float dx = apart(found[i].x + (found[i].x < 0 ? (float)p->w : 0), (float)(at % p->w), p->w);
        float dy = apart(found[i].y + (found[i].y < 0 ? (float)p->h : 0), (float)(at / p->w), p->h);
        if (dx * dx + dy * dy < min_apart * min_apart)
            return false;
    }
    return true;
}

static int strongest(const struct fl_fft2 *p, const float *surface, struct fl_peak *peaks, int n,
                     float min_apart, float level)
{
    size_t tops = local_maxima(p, surface, level);
    int found = 0;
    for (; found < n; found++) {
        int best = -1;
        for (size_t i = 0; i < tops; i++)
            if ((best < 0 || surface[p->tops[i]] > surface[best]) &&
                clear_of(p, peaks, found, p->tops[i], min_apart))
                best = p->tops[i];
        if (best < 0)
            break;
        struct fl_peak peak = peak_at(p, surface, best);
        int i = found; /* a peak between samples may top one that meets a sample */
        for (; i > 0 && peaks[i - 1].height < peak.height; i--)
            peaks[i] = peaks[i - 1];
        peaks[i] = peak;
    }
    return found;
}

int fl_phase_peaks(const struct fl_fft2 *p, const float *surface, struct fl_peak *peaks, int n,
                   float min_apart)
{
    row_maxima(p, surface);
    /* Weak maxima are many and seldom asked for; twice n, as close ones drop out. */
    float level = 2 * n <= MOST_TOPS ? level_of(p, 2 * n) : 0;
    int found = strongest(p, surface, peaks, n, min_apart, level);
    return found < n && level > 0 ? strongest(p, surface, peaks, n, min_apart, 0) : found;
}

void fl_hann2(float *picture, int width, int height)
{
    float *across = FL_NEW(float, (size_t)width);
    for (int x = 0; x < width; x++)
        across[x] = 0.5f - 0.5f * (float)cos(2 * FL_PI * (x + 0.5) / width);
    for (int y = 0; y < height; y++) {
        float down = 0.5f - 0.5f * (float)cos(2 * FL_PI * (y + 0.5) / height);
        for (int x = 0; x < width; x++)
            picture[(size_t)y * width + x] *= down * across[x];
    }
    free(across);
}
