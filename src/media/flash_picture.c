/* A canvas → mean linear light of each cell, by the standard that its levels are coded in. */
#include "media/flash.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"

enum { CELL_COLUMNS = 48, STEP = 2, LEVELS = 256 }; /* STEP: chroma samples, in both directions */

void fl_flash_grid(int width, int height, int *columns, int *rows)
{
    const int most = width / (4 * STEP) > 0 ? width / (4 * STEP) : 1;
    *columns = CELL_COLUMNS < most ? CELL_COLUMNS : most;
    *rows = (int)lrint((double)*columns * height / width);
    const int most_rows = height / (4 * STEP) > 0 ? height / (4 * STEP) : 1;
    *rows = *rows < 1 ? 1 : *rows > most_rows ? most_rows : *rows;
}

/* Light of a signal 0..1; 1 is 200 cd/m², the peak of the display that the rule was made for (ITU-R
 * BT.1702). SDR: IEC 61966-2-1 as WCAG has it; PQ: SMPTE ST 2084; HLG: BT.2100 at 1000 cd/m²,
 * gamma 1.2 on grey. */
static double light_of(double v, enum fl_light light)
{
    const double display = 200;
    if (light == FL_LIGHT_PQ) {
        const double m1 = 0.1593017578125, m2 = 78.84375, c1 = 0.8359375, c2 = 18.8515625,
                     c3 = 18.6875;
        const double p = pow(v, 1 / m2);
        return 10000 / display * pow(fmax(p - c1, 0) / (c2 - c3 * p), 1 / m1);
    }
    if (light == FL_LIGHT_HLG) {
        const double a = 0.17883277, b = 0.28466892, c = 0.55991073;
        const double scene = v <= 0.5 ? v * v / 3 : (exp((v - c) / a) + b) / 12;
        return 1000 / display * pow(scene, 1.2);
    }
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

struct decoder {
    float light[LEVELS];
    float luma[LEVELS];           /* signal 0..255 */
    float r_cr, g_cb, g_cr, b_cb; /* signal 0..255 a step of chroma */
};

static void make_decoder(struct decoder *d, const struct fl_coding *c)
{
    const double range = c->full_range ? 255 : 224, kg = 1 - c->kr - c->kb, k = 255 / range;
    for (int v = 0; v < LEVELS; v++) {
        d->light[v] = (float)light_of(v / 255.0, c->light);
        d->luma[v] = (float)(c->full_range ? v : (v - 16) * 255.0 / 219);
    }
    d->r_cr = (float)(2 * (1 - c->kr) * k);
    d->b_cb = (float)(2 * (1 - c->kb) * k);
    d->g_cr = (float)(-2 * (1 - c->kr) * c->kr / kg * k);
    d->g_cb = (float)(-2 * (1 - c->kb) * c->kb / kg * k);
}

static float linear(const struct decoder *d, float signal)
{
    return d->light[signal <= 0 ? 0 : signal >= 255 ? 255 : (int)(signal + 0.5f)];
}

static void add_sample(struct fl_cell_light *sum, const struct decoder *d,
                       const struct fl_canvas *c, int x, int y)
{
    const float luma = d->luma[c->plane[0][2 * y * c->stride[0] + 2 * x]];
    const float cb = (float)c->plane[1][y * c->stride[1] + x] - 128,
                cr = (float)c->plane[2][y * c->stride[2] + x] - 128;
    sum->r += linear(d, luma + d->r_cr * cr);
    sum->g += linear(d, luma + d->g_cb * cb + d->g_cr * cr);
    sum->b += linear(d, luma + d->b_cb * cb);
}

void fl_flash_cells(struct fl_cell_light *cell, const struct fl_canvas *c,
                    const struct fl_coding *coding, int columns, int rows)
{
    struct decoder d;
    make_decoder(&d, coding);
    memset(cell, 0, (size_t)(columns * rows) * sizeof *cell);
    for (int k = 0; k < columns * rows; k++) {
        const int x0 = k % columns * (c->width / 2) / columns,
                  x1 = (k % columns + 1) * (c->width / 2) / columns;
        const int y0 = k / columns * (c->height / 2) / rows,
                  y1 = (k / columns + 1) * (c->height / 2) / rows;
        int n = 0;
        for (int y = y0; y < y1; y += STEP)
            for (int x = x0; x < x1; x += STEP, n++)
                add_sample(&cell[k], &d, c, x, y);
        const float share = n ? 1.0f / (float)n : 0;
        cell[k] = (struct fl_cell_light){cell[k].r * share, cell[k].g * share, cell[k].b * share};
    }
}
