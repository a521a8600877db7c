/* Real 2-D transforms and phase correlation, through libavutil's av_tx. */
#ifndef FL_MATHS_TRANSFORM_H
#define FL_MATHS_TRANSFORM_H

#include <stdbool.h>
#include <stddef.h>

/* A plan for width × height pictures; both must be 2^k × {1, 3, 5, 9, 15} and at least 8.
 * Not thread safe: one plan a thread. */
struct fl_fft2;
struct fl_fft2 *fl_fft2_new(int width, int height); /* NULL for an unsupported size */
void fl_fft2_free(struct fl_fft2 **p);
/* Number of complex bins: height × (width/2 + 1), row-major, interleaved re, im. */
size_t fl_fft2_bins(const struct fl_fft2 *p);
void fl_fft2_forward(struct fl_fft2 *p, const float *picture, float *spectrum);
void fl_fft2_inverse(struct fl_fft2 *p, const float *spectrum, float *picture); /* scaled: inverse(forward(x)) = x */

/* Complex DFT of any length by libavutil, for checks and 1-D use; data interleaved. */
void fl_dft(const float *in, float *out, size_t n, bool inverse);

struct fl_peak { float x, y; float height; };
/* Whitened cross-power surface of two spectra (b against a) into `surface` (width × height,
 * origin at 0,0, wrapped). A peak at (+dx,+dy) says that content moved by (+dx,+dy) from a to b. */
void fl_phase_surface(struct fl_fft2 *p, const float *a, const float *b, float *surface);
/* The strongest n peaks of the surface, sub-pixel, signed, strongest first, at least
 * min_apart px from each other. Returns how many. */
int fl_phase_peaks(const struct fl_fft2 *p, const float *surface, struct fl_peak *peaks, int n, float min_apart);
void fl_hann2(float *picture, int width, int height); /* multiplies by a 2-D Hann window */
double fl_peak3(double a, double b, double c); /* parabola offset -0.5..0.5 about b */

#endif
