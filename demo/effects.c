#include "effects.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/units.h"
#include "rng.h"

/* ---- motion blur ---- */

enum { LONGEST_PX = 96, WIDEST = 4096 };

/* Running mean over n samples, step bytes apart, count of them; edges repeat. */
static void mean_along(uint8_t *line, ptrdiff_t step, int count, int n)
{
    uint8_t copy[WIDEST];
    unsigned sum = 0;
    for (int i = 0; i < count; i++)
        copy[i] = line[i * step];
    int before = n / 2;
    for (int k = -before; k < n - before; k++)
        sum += copy[k < 0 ? 0 : k >= count ? count - 1 : k];
    for (int i = 0; i < count; i++) {
        line[i * step] = (uint8_t)((sum + (unsigned)n / 2) / (unsigned)n);
        int out = i - before, in = i + n - before;
        sum += copy[in >= count ? count - 1 : in];
        sum -= copy[out < 0 ? 0 : out];
    }
}

static int smear_length(double px)
{
    return (int)fmin(LONGEST_PX, lround(fabs(px)));
}

void st_smear(struct st_picture *p, double dx, double dy)
{
    int nx = smear_length(dx), ny = smear_length(dy);
    for (int y = 0; nx > 1 && y < p->height; y++)
        mean_along(p->plane[0] + (ptrdiff_t)y * p->stride[0], 1, p->width, nx);
    for (int x = 0; ny > 1 && x < p->width; x++)
        mean_along(p->plane[0] + x, p->stride[0], p->height, ny);
}

/* ---- grain ---- */

enum { NOISE = 1 << 16 };

static const int8_t *noise_table(double sigma)
{
    static _Thread_local int8_t table[NOISE];
    static _Thread_local double made_for;
    if (made_for != sigma) {
        struct st_rng rng = st_rng(17, 80);
        for (int i = 0; i < NOISE; i++)
            table[i] = (int8_t)lround(fl_clamp(sigma * st_normal(&rng), -127, 127));
        made_for = sigma;
    }
    return table;
}

void st_add_grain(struct st_picture *p, double sigma, uint64_t index)
{
    const int8_t *table = noise_table(sigma);
    struct st_rng rng = st_rng(index, 81);
    for (int y = 0; y < p->height; y++) {
        uint8_t *row = p->plane[0] + (ptrdiff_t)y * p->stride[0];
        const int8_t *noise = table + st_next(&rng) % (uint64_t)(NOISE - p->width);
        for (int x = 0; x < p->width; x++) {
            int v = row[x] + noise[x];
            row[x] = (uint8_t)(v < 16 ? 16 : v > 235 ? 235 : v);
        }
    }
}

/* ---- light ---- */

void st_relight(struct st_picture *p, struct st_light light)
{
    if (light.gain == 1 && light.lift == 0)
        return;
    uint8_t luma[256], chroma[256];
    for (int v = 0; v < 256; v++) {
        luma[v] = (uint8_t)lround(fl_clamp(16 + (v - 16) * light.gain + 219 * light.lift, 16, 235));
        chroma[v] = (uint8_t)lround(128 + (v - 128) * light.gain);
    }
    for (int i = 0; i < 3; i++)
        for (int y = 0; y < p->height >> (i > 0); y++) {
            uint8_t *row = p->plane[i] + (ptrdiff_t)y * p->stride[i];
            for (int x = 0; x < p->width >> (i > 0); x++)
                row[x] = (i ? chroma : luma)[row[x]];
        }
}

static void black_rows(struct st_picture *p, int first, int last)
{
    for (int i = 0; i < 3; i++) {
        int a = first >> (i > 0), b = last >> (i > 0);
        memset(p->plane[i] + (ptrdiff_t)a * p->stride[i], i ? 128 : 16,
               (size_t)(b - a) * (size_t)p->stride[i]);
    }
}

void st_loading_screen(struct st_picture *p, double game_s)
{
    black_rows(p, 0, p->height);
    int r = p->height / 24, dot = p->height / 120;
    for (int k = 0; k < 8; k++) {
        double a = game_s * 3 + k * FL_PI / 4;
        int cx = p->width - 3 * r + (int)lround(r * cos(a)),
            cy = p->height - 3 * r + (int)lround(r * sin(a));
        for (int y = cy - dot; y < cy + dot; y++)
            memset(p->plane[0] + (ptrdiff_t)y * p->stride[0] + cx - dot, 40 + 24 * k,
                   (size_t)(2 * dot));
    }
}

void st_bars(struct st_picture *p, double share)
{
    int rows = (int)(share * p->height / 2) * 2;
    black_rows(p, 0, rows);
    black_rows(p, p->height - rows, p->height);
}
