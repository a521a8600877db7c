/* Real 2-D transforms and phase correlation, through libavutil's av_tx. */
#ifndef FL_MATHS_TRANSFORM_H
#define FL_MATHS_TRANSFORM_H

#include <stdbool.h>
#include <stddef.h>

/* A plan for width × height pictures; both must be 2^k × {1, 3, 5, 9, 15} (other sizes are slow
 * by a factor of thousands in libavutil 57), 8 to 16384, and the width divisible by 4 (other real
 * transforms are wrong there). Not thread safe: one plan a thread. */
struct fl_fft2;
struct fl_fft2 *fl_fft2_new(int width, int height); /* NULL for an unsupported size */
void fl_fft2_free(struct fl_fft2 **p);
/* Number of complex bins: height × (width/2 + 1), row-major, interleaved re, im. */
size_t fl_fft2_bins(const struct fl_fft2 *p);
void fl_fft2_forward(struct fl_fft2 *p, const float *picture, float *spectrum);
void fl_fft2_inverse(struct fl_fft2 *p, const float *spectrum,
                     float *picture); /* scaled: inverse(forward(x)) = x */

/* Complex DFT of n values, 1 to 2^20, by libavutil, for checks and 1-D use; data interleaved.
 * Neither direction is scaled: inverse(forward(x)) = n·x. NaN for an unsupported n. */
void fl_dft(const float *in, float *out, size_t n, bool inverse);

struct fl_peak {
    float x, y;
    float height;
};
/* Whitened cross-power surface of two spectra (b against a) into `surface` (width × height,
 * origin at 0,0, wrapped). A peak at (+dx,+dy) says that content moved by (+dx,+dy) from a to b.
 * Low-passed by a Gaussian of 1 px: a pure circular shift, by whole pixels or not, is one such
 * Gaussian of height 1; mean brightness does not count. Take the mean off before windowing, else
 * the window's own spectrum says "no motion". */
void fl_phase_surface(struct fl_fft2 *p, const float *a, const float *b, float *surface);
/* The strongest n peaks of the surface, sub-pixel, signed (-width/2..width/2), strongest first, at
 * least min_apart px from each other. Returns how many; a flat picture has none. The height is
 * that between the samples: about 1 for a pure shift, whatever its fraction. */
int fl_phase_peaks(const struct fl_fft2 *p, const float *surface, struct fl_peak *peaks, int n,
                   float min_apart);
void fl_hann2(float *picture, int width, int height); /* multiplies by a 2-D Hann window */
double fl_peak3(double a, double b,
                double c); /* parabola offset -0.5..0.5 about b; 0 if b is no top */

#endif
