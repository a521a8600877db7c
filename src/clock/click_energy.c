/* A small filter bank: one resonator an octave (the band-pass biquad of constant peak gain, common
 * practice), squared, averaged over each step, and divided by a running median. */
#include "clock/click_energy.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

enum { BANDS = 4, CHANNELS = 8, MOST_STEPS = FL_CLICK_LONGEST_S * FL_CLICK_HZ };
static const double lowest_hz = 1414; /* middle of the octave from 1 kHz */
static const double octave_q = 1.414;
/* The running median moves by this share a step: half a second for 10 dB; faster at first. */
static const double median_step = 0.0006;
static const double floor_energy = 1e-12; /* -120 dB: digital silence is not to be divided by */

struct biquad {
    double b0, a1, a2; /* b1 = 0, b2 = -b0 */
    double x1, x2, y1, y2;
};

struct band {
    struct biquad filter;
    double sum, median;
    unsigned long steps;
};

struct fl_click_meter {
    int channels, bands;
    double phase, per_frame; /* steps: of the frame at hand, a frame */
    int frames;              /* in this step so far */
    struct band band[CHANNELS][BANDS];
    struct fl_click_energy out;
    size_t cap;
};

double fl_click_ratio(uint8_t step)
{
    return exp2(step / 21.0) - 1; /* 255: some 4,500 */
}

static uint8_t stored(double ratio)
{
    return (uint8_t)fl_clamp(lrint(21 * log2(1 + ratio)), 0, 255);
}

static struct biquad resonator(double hz, double rate)
{
    const double w = 2 * FL_PI * hz / rate, alpha = sin(w) / (2 * octave_q), a0 = 1 + alpha;
    return (struct biquad){.b0 = alpha / a0, .a1 = -2 * cos(w) / a0, .a2 = (1 - alpha) / a0};
}

static inline double filter(struct biquad *f, double x)
{
    const double y = f->b0 * (x - f->x2) - f->a1 * f->y1 - f->a2 * f->y2;
    f->x2 = f->x1;
    f->x1 = x;
    f->y2 = f->y1;
    f->y1 = y;
    return y;
}

struct fl_click_meter *fl_click_meter_new(int rate, int channels)
{
    struct fl_click_meter *m = FL_NEW(struct fl_click_meter, 1);
    m->channels = channels < CHANNELS ? channels : CHANNELS;
    m->per_frame = (double)FL_CLICK_HZ / rate;
    while (m->bands < BANDS && lowest_hz * (1 << m->bands) * 1.2 < rate / 2.0)
        m->bands++;
    for (int c = 0; c < m->channels; c++)
        for (int b = 0; b < m->bands; b++)
            m->band[c][b].filter = resonator(lowest_hz * (1 << b), rate);
    return m;
}

/* Energy against the band's background, which follows slowly. */
static double ratio(struct band *b, int frames)
{
    const double energy = b->sum / frames + floor_energy;
    const double move = fmax(median_step, 2.0 / (double)(b->steps + 2));
    b->sum = 0;
    if (b->steps++ == 0)
        b->median = energy;
    b->median *= energy > b->median ? 1 + move : 1 / (1 + move);
    return energy / b->median;
}

static void close_step(struct fl_click_meter *m)
{
    double sum = 0;
    for (int c = 0; c < m->channels; c++)
        for (int b = 0; b < m->bands; b++)
            sum += ratio(&m->band[c][b], m->frames);
    m->frames = 0;
    if (m->out.n < MOST_STEPS)
        FL_PUSH(m->out.step, m->out.n, m->cap, stored(sum / (m->channels * m->bands)));
}

void fl_click_meter_add(struct fl_click_meter *m, const float *frames, size_t n)
{
    for (size_t i = 0; i < n; i++, frames += m->channels) {
        for (int c = 0; c < m->channels; c++)
            for (int b = 0; b < m->bands; b++) {
                const double y = filter(&m->band[c][b].filter, (double)frames[c]);
                m->band[c][b].sum += y * y;
            }
        m->frames++;
        m->phase += m->per_frame;
        if (m->phase >= 1) {
            m->phase -= 1;
            close_step(m);
        }
    }
}

void fl_click_meter_finish(struct fl_click_meter **meter, struct fl_click_energy *out)
{
    *out = (*meter)->out;
    free(*meter);
    *meter = NULL;
}

void fl_click_energy_free(struct fl_click_energy *e)
{
    free(e->step);
    memset(e, 0, sizeof *e);
}
