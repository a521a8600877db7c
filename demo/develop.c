#include "develop.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <libswscale/swscale.h>

#include "base/mem.h"
#include "base/units.h"

struct st_developer {
    struct st_look look;
    struct SwsContext *scaler; /* NULL: same size */
    struct st_picture scaled;
    uint16_t luma[256], chroma[256];
};

/* ITU-R BT.2100, table 4 (SMPTE ST 2084): signal of a display luminance. */
static double pq_signal(double cd_m2)
{
    static const double m1 = 2610.0 / 16384, m2 = 2523.0 / 4096 * 128, c1 = 3424.0 / 4096,
                        c2 = 2413.0 / 4096 * 32, c3 = 2392.0 / 4096 * 32;
    double y = pow(cd_m2 / 10000, m1);
    return pow((c1 + c2 * y) / (1 + c3 * y), m2);
}

/* Signal 0..1 of a limited-range level: BT.1886 display light, reference white at 203 cd/m2
 * (ITU-R BT.2408). */
static double signal_of(const struct st_look *look, int level)
{
    double v = fl_clamp((level - 16) / 219.0, 0, 1);
    return look->pq ? pq_signal(203 * pow(v, 2.4)) : v;
}

static void fill_tables(struct st_developer *d)
{
    const struct st_look *k = &d->look;
    double scale = k->ten_bit ? 4 : 1, top = k->ten_bit ? 1023 : 255;
    for (int i = 0; i < 256; i++) {
        double y = signal_of(k, i), c = (i - 128) / 112.0;
        double luma = k->full_range ? y * top : scale * (16 + 219 * y);
        double chroma = scale * 128 + c * (k->full_range ? top / 2 : scale * 112);
        d->luma[i] = (uint16_t)lround(fl_clamp(luma, 0, top));
        d->chroma[i] = (uint16_t)lround(fl_clamp(chroma, 0, top));
    }
}

struct st_developer *st_developer_new(const struct st_look *look, int width, int height)
{
    struct st_developer *d = FL_NEW(struct st_developer, 1);
    d->look = *look;
    d->look.ten_bit |= look->pq;
    fill_tables(d);
    if (look->from_width == width && look->from_height == height)
        return d;
    st_picture_init(&d->scaled, width, height);
    d->scaler =
        sws_getContext(look->from_width, look->from_height, AV_PIX_FMT_YUV420P, width, height,
                       AV_PIX_FMT_YUV420P, SWS_BICUBIC | SWS_BITEXACT, NULL, NULL, NULL);
    return d;
}

void st_developer_free(struct st_developer **developer)
{
    struct st_developer *d = *developer;
    if (!d)
        return;
    sws_freeContext(d->scaler);
    st_picture_finish(&d->scaled);
    free(d);
    *developer = NULL;
}

static void convert_row(const struct st_developer *d, const uint16_t *table, const uint8_t *from,
                        uint8_t *to, int n)
{
    if (!d->look.ten_bit && !d->look.full_range)
        memcpy(to, from, (size_t)n);
    else if (d->look.ten_bit)
        for (int x = 0; x < n; x++)
            ((uint16_t *)(void *)to)[x] = table[from[x]];
    else
        for (int x = 0; x < n; x++)
            to[x] = (uint8_t)table[from[x]];
}

void st_develop(struct st_developer *d, const struct st_picture *from, AVFrame *to)
{
    const struct st_picture *p = from;
    if (d->scaler) {
        sws_scale(d->scaler, (const uint8_t *const *)from->plane, from->stride, 0, from->height,
                  d->scaled.plane, d->scaled.stride);
        p = &d->scaled;
    }
    for (int i = 0; i < 3; i++)
        for (int y = 0; y < p->height >> (i > 0); y++)
            convert_row(d, i ? d->chroma : d->luma, p->plane[i] + (ptrdiff_t)y * p->stride[i],
                        to->data[i] + (ptrdiff_t)y * to->linesize[i], p->width >> (i > 0));
}
