/* Quantiles over the whole strip: one scale, so that its frames can be compared by eye. */
#include "show/clip/strip_levels.h"

#include <math.h>
#include <stdbool.h>

#include "base/units.h"

/* Value below which the share p of all pixels lies. */
static int grey_quantile(const struct fl_strip_grey *v, size_t n, size_t pixels, bool difference,
                         double p)
{
    size_t count[256] = {0}, total = 0, sum = 0;
    for (size_t i = 0; i < n; i++) {
        const uint8_t *grey = difference ? v[i].difference : v[i].picture;
        for (size_t k = 0; grey && k < pixels; k++, total++)
            count[grey[k]]++;
    }
    int grey = 0;
    while (grey < 255 && (sum += count[grey]) < p * (double)total)
        grey++;
    return grey;
}

struct fl_strip_levels fl_strip_levels_of(const struct fl_strip_grey *v, size_t n, size_t pixels)
{
    const double most_gain = 4, least_black = 4 * 8;
    const double dark = grey_quantile(v, n, pixels, false, 0.01),
                 light = grey_quantile(v, n, pixels, false, 0.995);
    return (struct fl_strip_levels){
        .dark = dark,
        .gain = fl_clamp(250 / fmax(1, light - dark), 1, most_gain),
        .black = fmax(least_black, grey_quantile(v, n, pixels, true, 0.985))};
}

/* share: 0 black … 1 white. */
static uint8_t stepped(double share, int levels)
{
    const double step = (double)lrint(fl_clamp(share, 0, 1) * (levels - 1));
    return (uint8_t)lrint(step * 255.0 / (levels - 1));
}

uint8_t fl_strip_picture_grey(const struct fl_strip_levels *l, uint8_t grey)
{
    return stepped((grey - l->dark) * l->gain / 255, FL_STRIP_PICTURE_LEVELS);
}

uint32_t fl_strip_picture_rgb(const struct fl_strip_levels *l, uint32_t rgb)
{
    uint32_t out = 0;
    for (int shift = 0; shift < 24; shift += 8)
        out |= (uint32_t)stepped(((int)(rgb >> shift & 255) - l->dark) * l->gain / 255,
                                 FL_STRIP_COLOUR_LEVELS)
               << shift;
    return out;
}

uint8_t fl_strip_grey_of(uint32_t rgb)
{
    return (uint8_t)lrint(0.2126 * (rgb >> 16 & 255) + 0.7152 * (rgb >> 8 & 255) +
                          0.0722 * (rgb & 255));
}

uint8_t fl_strip_difference_grey(const struct fl_strip_levels *l, uint8_t difference)
{
    return stepped((difference - l->black) * (-255 / l->black) / 255, FL_STRIP_DIFFERENCE_LEVELS);
}
