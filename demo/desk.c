#include "desk.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/units.h"
#include "letter.h"

static const double LINE_S = 2.3; /* a line of subtitles stays so long */

static void dot(struct st_picture *p, int x, int y, int size, uint8_t level)
{
    for (int j = y; j < y + size && j < p->height; j++)
        for (int i = x; i < x + size && i < p->width; i++)
            if (i >= 0 && j >= 0)
                p->plane[0][(ptrdiff_t)j * p->stride[0] + i] = level;
}

static void write_line(struct st_picture *p, const char *text)
{
    int unit = p->height / 180 > 1 ? p->height / 180 : 1, n = (int)strlen(text);
    int left = (p->width - n * ST_LETTER_STEP * unit) / 2, top = p->height * 85 / 100;
    for (int k = 0; k < n; k++)
        for (int y = 0; y < ST_LETTER_HEIGHT; y++)
            for (int x = 0; x < ST_LETTER_WIDTH; x++)
                if (st_letter(text[k], x, y))
                    dot(p, left + (k * ST_LETTER_STEP + x) * unit, top + y * unit, unit, 225);
}

/* It is moved for a second, then lies still for as long. */
static void point(struct st_picture *p, double t)
{
    double s = floor(t / 2) + fmin(1, fmod(t, 2));
    int x = (int)(p->width * (0.5 + 0.4 * sin(1.7 * s))),
        y = (int)(p->height * (0.5 + 0.35 * sin(2.3 * s + 1))), high = p->height / 30;
    for (int j = 0; j < high; j++)
        for (int i = 0; i <= j * 2 / 3; i++)
            dot(p, x + i, y + j, 1, i == 0 || i == j * 2 / 3 ? 20 : 230);
}

void st_desk_draw(double t, struct st_picture *p)
{
    static const char *const lines[] = {"WHERE DOES THE ROPE LEAD",      "", "DOWN TO THE QUAY",
                                        "AND WHO PAYS FOR THE LAMP OIL", "", "NOT I"};
    enum { LINES = sizeof lines / sizeof *lines };
    write_line(p, lines[(long)(t / LINE_S) % LINES]);
    point(p, t);
}

void st_pillars(struct st_picture *p, double share)
{
    for (int i = 0; i < 3; i++) {
        int w = p->width >> (i > 0), bar = (int)(share * p->width / 2) * 2 >> (i > 0);
        for (int y = 0; y < p->height >> (i > 0); y++) {
            uint8_t *row = p->plane[i] + (ptrdiff_t)y * p->stride[i];
            memset(row, i ? 128 : 16, (size_t)bar);
            memset(row + w - bar, i ? 128 : 16, (size_t)bar);
        }
    }
}
