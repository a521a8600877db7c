#include "stills.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/mem.h"
#include "maths/random.h"

#define SCIPY_STILLS "/usr/lib/python3/dist-packages/scipy/misc/"

/* A bzip2 of raw RGB bytes. */
struct still still_raccoon(void)
{
    enum { W = 1024, H = 768 };
    struct still s = {W, H, NULL};
    FILE *in = access(SCIPY_STILLS "face.dat", R_OK)
                   ? NULL
                   : popen("bzip2 -dc " SCIPY_STILLS "face.dat", "r");
    if (!in)
        return s;
    uint8_t *rgb = fl_calloc(W * H, 3);
    size_t got = fread(rgb, 3, W * H, in);
    if (pclose(in) == 0 && got == W * H) {
        s.luma = fl_calloc(W, H);
        for (size_t i = 0; i < W * H; i++)
            s.luma[i] = (uint8_t)lrint(0.2126 * rgb[3 * i] + 0.7152 * rgb[3 * i + 1] +
                                       0.0722 * rgb[3 * i + 2]);
    }
    free(rgb);
    return s;
}

/* A pickled list of lists of small integers: each is the byte 'K' and its value; memo marks lie
 * between. */
struct still still_staircase(void)
{
    enum { W = 512, H = 512 };
    struct still s = {W, H, NULL};
    FILE *in = fopen(SCIPY_STILLS "ascent.dat", "rb");
    if (!in)
        return s;
    s.luma = fl_calloc(W, H);
    size_t n = 0;
    for (int c; (c = getc(in)) != EOF && n < W * H;) {
        int skip = c == 0x80 || c == 'q' ? 1 : c == 'r' ? 4 : 0;
        if (c == 'K')
            s.luma[n++] = (uint8_t)getc(in);
        while (skip--)
            getc(in);
    }
    fclose(in);
    if (n < W * H)
        still_free(&s);
    return s;
}

/* Box mean of 2·reach + 1 values along one line, wrapping round. */
static void smooth_line(double *line, double *copy, int n, int stride, int reach)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        copy[i] = line[(ptrdiff_t)i * stride];
    for (int i = -reach; i <= reach; i++)
        sum += copy[(i + n) % n];
    for (int i = 0; i < n; i++) {
        line[(ptrdiff_t)i * stride] = sum / (2 * reach + 1);
        sum += copy[(i + reach + 1) % n] - copy[(i - reach + n) % n];
    }
}

struct still still_texture(int width, int height, int grain, uint64_t seed)
{
    struct still s = {width, height, fl_calloc((size_t)width, (size_t)height)};
    size_t n = (size_t)width * (size_t)height;
    double *v = FL_NEW(double, n),
           *line = FL_NEW(double, (size_t)(width > height ? width : height)), sd = 0;
    struct fl_random r;
    fl_random_seed(&r, seed);
    for (size_t i = 0; i < n; i++)
        v[i] = fl_random_normal(&r);
    for (int pass = 0; pass < (grain > 1 ? 2 : 0); pass++) {
        for (int y = 0; y < height; y++)
            smooth_line(v + (ptrdiff_t)y * width, line, width, 1, grain / 2);
        for (int x = 0; x < width; x++)
            smooth_line(v + x, line, height, width, grain / 2);
    }
    for (size_t i = 0; i < n; i++)
        sd += v[i] * v[i] / (double)n;
    for (size_t i = 0; i < n; i++)
        s.luma[i] = (uint8_t)fmax(0, fmin(255, 128 + 40 * v[i] / sqrt(sd)));
    free(v);
    free(line);
    return s;
}

struct still still_part(const struct still *s, int x, int y, int width, int height)
{
    struct still p = {width, height, fl_calloc((size_t)width, (size_t)height)};
    for (int j = 0; j < height; j++)
        for (int i = 0; i < width; i++) {
            int sx = ((x + i) % s->width + s->width) % s->width;
            int sy = ((y + j) % s->height + s->height) % s->height;
            p.luma[(ptrdiff_t)j * width + i] = s->luma[(ptrdiff_t)sy * s->width + sx];
        }
    return p;
}

void still_free(struct still *s)
{
    free(s->luma);
    s->luma = NULL;
}
