/* Few colours make small files: the palette's own, so that drawings stay exact, and the rest as the
 * picture needs them. */
#include "show/draw/indexed_png.h"

#include <stdbool.h>
#include <stdlib.h>

#include "base/file.h"
#include "base/mem.h"
#include "media/png.h"
#include "show/draw/colour_cut.h"
#include "show/draw/palette.h"

enum { ENTRIES = 256, BLENDS = 8, GREYS = 64 };

static uint32_t blend(uint32_t a, uint32_t b, int i, int n)
{
    uint32_t out = 0;
    for (int shift = 0; shift < 24; shift += 8) {
        int from = (int)(a >> shift & 255), to = (int)(b >> shift & 255);
        out |= (uint32_t)(from + (to - from) * i / n) << shift;
    }
    return out;
}

/* The palette's own colours, the coloured ones towards light and dark, and greys. Returns how many.
 */
static int put_own(uint32_t palette[ENTRIES])
{
    static const enum fl_colour mixed[] = {FL_OFF, FL_ON, FL_UNSEEN};
    int n = 0;
    for (int i = 0; i < FL_COLOURS; i++)
        palette[n++] = fl_palette[i].light;
    for (size_t k = 0; k < sizeof mixed / sizeof *mixed; k++)
        for (int i = 1; i < BLENDS; i++) {
            palette[n++] = blend(fl_palette[mixed[k]].light, fl_palette[FL_PAPER].light, i, BLENDS);
            palette[n++] = blend(fl_palette[mixed[k]].light, 0, i, BLENDS);
        }
    for (int i = 0; i < GREYS; i++)
        palette[n++] = blend(0, 0xffffff, i, GREYS - 1);
    return n;
}

static bool is_grey(uint32_t rgb)
{
    return (rgb & 255) == (rgb >> 8 & 255) && (rgb & 255) == rgb >> 16;
}

/* Greys have their own entries. */
static void make_palette(uint32_t palette[ENTRIES], const uint32_t *rgb, int width, int height,
                         size_t stride)
{
    uint32_t *count = FL_NEW(uint32_t, FL_COLOUR_CELLS);
    int n = put_own(palette);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            uint32_t v = rgb[(size_t)y * stride + (size_t)x] & 0xffffff;
            count[fl_colour_cell(v)] += !is_grey(v);
        }
    n += fl_colour_cut(count, palette + n, ENTRIES - n);
    for (; n < ENTRIES; n++)
        palette[n] = 0;
    free(count);
}

static uint8_t nearest(const uint32_t palette[ENTRIES], uint32_t rgb)
{
    long best = -1;
    int at = 0;
    for (int i = 0; i < ENTRIES; i++) {
        long distance = 0;
        for (int shift = 0; shift < 24; shift += 8) {
            long d = (long)(palette[i] >> shift & 255) - (long)(rgb >> shift & 255);
            distance += d * d;
        }
        if (best < 0 || distance < best) {
            best = distance;
            at = i;
        }
    }
    return (uint8_t)at;
}

/* A drawing has few colours: each is looked up once, in a table of the last colour met at its
 * place. */
static uint8_t *find_indices(const uint32_t palette[ENTRIES], const uint32_t *rgb, int width,
                             int height, size_t stride)
{
    enum { PLACES = 4096 };
    struct met {
        uint32_t rgb;
        uint8_t index;
        bool known;
    } *met = FL_NEW(struct met, PLACES);
    uint8_t *out = FL_NEW(uint8_t, (size_t)width * (size_t)height), *to = out;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            uint32_t v = rgb[(size_t)y * stride + (size_t)x] & 0xffffff;
            struct met *m = &met[(v * 2654435761u >> 8) % PLACES];
            if (!m->known || m->rgb != v)
                *m = (struct met){v, nearest(palette, v), true};
            *to++ = m->index;
        }
    free(met);
    return out;
}

enum flinch_code fl_indexed_write(const uint32_t *rgb, int width, int height, size_t stride,
                                  const char *path, struct fl_error *err)
{
    uint32_t palette[ENTRIES];
    uint8_t *data = NULL;
    size_t size = 0;
    make_palette(palette, rgb, width, height, stride);
    uint8_t *index = find_indices(palette, rgb, width, height, stride);
    enum flinch_code code = fl_png_encode(index, width, height, palette, &data, &size, err);
    free(index);
    struct fl_file file;
    if (!code)
        code = fl_file_begin(&file, path, err);
    if (!code) {
        fwrite(data, 1, size, file.stream);
        code = fl_file_commit(&file, err);
    }
    free(data);
    return code;
}
