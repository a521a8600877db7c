/* Changes of luminance and of saturated red, followed cell by cell between their extremes.
 *
 * A change counts once it opposes the last one and is large enough (WCAG 2.2, as flash.h says); the
 * picture changes when enough cells do at once; flashes are pairs of changes within a second. */
#include "media/flash.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

/* WCAG 2.2, definition of the thresholds. */
static const double least_change = 0.1, bright = 0.8, saturated = 0.8, least_colour = 0.2,
                    area = 0.25;
static const double at_once_s = 1.0 / 30;
enum { MOST_FLASHES = 3 };

/* What one cell has done since its last turn. */
struct cell {
    float low, high;        /* luminance: extremes since the last change that counted */
    float pale[2], deep[2]; /* chromaticity u', v': least and most u' since the last change of red;
                               red has most */
    bool was_red;           /* saturated since the last change into red */
    signed char way, red_way;     /* direction of the last change that counted; 0: none yet */
    signed char fresh, red_fresh; /* direction of one that happened a moment ago; 0: none */
    double fresh_s, red_fresh_s;
};

/* Changes of the picture as a whole: opposing ones in turn. */
struct changes {
    double *at_s;
    size_t n, cap;
    int way;
};

struct fl_flash {
    int cells;
    struct cell *cell;
    struct changes general, red;
    double last_s;
    bool begun;
};

struct fl_flash *fl_flash_new(int cells)
{
    assert(cells > 0);
    struct fl_flash *f = FL_NEW(struct fl_flash, 1);
    f->cells = cells;
    f->cell = FL_NEW(struct cell, (size_t)cells);
    return f;
}

/* BT.709 luminance. */
static float luminance(const struct fl_cell_light *c)
{
    return 0.2126f * c->r + 0.7152f * c->g + 0.0722f * c->b;
}

/* A rise counts against the lowest since the last fall, and the other way round; the darker of the
 * two decides. Going further the same way moves the extreme along. */
static void follow(struct cell *c, float y, double t)
{
    const float slack = 1e-6f;
    c->low = fminf(c->low, y);
    c->high = fmaxf(c->high, y);
    const bool rises = c->way <= 0 && y - c->low >= least_change - slack && c->low < bright;
    const bool falls = c->way >= 0 && c->high - y >= least_change - slack && y < bright;
    if (rises || falls) {
        c->way = c->fresh = rises ? 1 : -1;
        c->fresh_s = t;
        c->low = c->high = y;
    } else if (c->way > 0) {
        c->low = y; /* only a fall can follow, from the highest */
    } else if (c->way < 0) {
        c->high = y;
    }
}

static bool is_red(const struct fl_cell_light *c)
{
    const float sum = c->r + c->g + c->b;
    return sum > 1e-3f && c->r >= saturated * sum;
}

/* CIE 1976 u', v' of linear BT.709 (IEC 61966-2-1 matrix); black has those of white. */
static void chromaticity(const struct fl_cell_light *c, float uv[2])
{
    const float x = 0.4124f * c->r + 0.3576f * c->g + 0.1805f * c->b, y = luminance(c);
    const float z = 0.0193f * c->r + 0.1192f * c->g + 0.9505f * c->b, sum = x + 15 * y + 3 * z;
    uv[0] = sum > 1e-3f ? 4 * x / sum : 0.1978f;
    uv[1] = sum > 1e-3f ? 9 * y / sum : 0.4683f;
}

static bool far(const float a[2], const float b[2])
{
    return hypotf(a[0] - b[0], a[1] - b[1]) > least_colour;
}

static void start_red(struct cell *c, const float uv[2])
{
    for (int k = 0; k < 2; k++)
        c->pale[k] = c->deep[k] = uv[k];
}

/* As with luminance, along u'. */
static void follow_red(struct cell *c, const struct fl_cell_light *now, double t)
{
    float uv[2];
    chromaticity(now, uv);
    const bool red = is_red(now);
    const bool into = c->red_way <= 0 && red && uv[0] > c->pale[0] && far(uv, c->pale);
    const bool out = c->red_way >= 0 && c->was_red && uv[0] < c->deep[0] && far(uv, c->deep);
    c->was_red |= red;
    if (into || out) {
        c->red_way = c->red_fresh = into ? 1 : -1;
        c->red_fresh_s = t;
        c->was_red = red;
    }
    if (into || out || c->red_way > 0 || uv[0] < c->pale[0])
        memcpy(c->pale, uv, sizeof uv);
    if (into || out || c->red_way < 0 || uv[0] > c->deep[0])
        memcpy(c->deep, uv, sizeof uv);
}

/* A change of the picture: opposing the last, by cells enough at once. They are used up by it. */
static void gather(struct fl_flash *f, bool red, double t)
{
    struct changes *ch = red ? &f->red : &f->general;
    const double window = fmax(at_once_s, t - f->last_s) + 1e-9;
    long n[2] = {0, 0};
    for (int i = 0; i < f->cells; i++) {
        struct cell *c = &f->cell[i];
        signed char *fresh = red ? &c->red_fresh : &c->fresh;
        if (*fresh && t - (red ? c->red_fresh_s : c->fresh_s) > window)
            *fresh = 0;
        if (*fresh)
            n[*fresh > 0]++;
    }
    for (int up = 0; up < 2; up++) {
        const int way = up ? 1 : -1;
        if (way == ch->way || !((double)n[up] > area * f->cells))
            continue;
        FL_PUSH(ch->at_s, ch->n, ch->cap, t);
        ch->way = way;
        for (int i = 0; i < f->cells; i++)
            *(red ? &f->cell[i].red_fresh : &f->cell[i].fresh) = 0;
        return;
    }
}

void fl_flash_push(struct fl_flash *f, const struct fl_cell_light *cell, double time_s)
{
    assert(!f->begun || time_s >= f->last_s);
    for (int i = 0; i < f->cells; i++) {
        struct cell *c = &f->cell[i];
        const float y = luminance(&cell[i]);
        if (!f->begun) {
            c->low = c->high = y;
            float uv[2];
            chromaticity(&cell[i], uv);
            start_red(c, uv);
            c->was_red = is_red(&cell[i]);
            continue;
        }
        follow(c, y, time_s);
        follow_red(c, &cell[i], time_s);
    }
    if (f->begun) {
        gather(f, false, time_s);
        gather(f, true, time_s);
    }
    f->begun = true;
    f->last_s = time_s;
}

/* Flashes within one second that starts with change i: pairs of changes. */
static int flashes_from(const struct changes *ch, size_t i, size_t *end)
{
    size_t k = i;
    while (k < ch->n && ch->at_s[k] < ch->at_s[i] + 1 - 1e-6)
        k++;
    *end = k;
    return (int)((k - i) / 2);
}

static void report(const struct changes *ch, bool red, struct fl_flash_report *out, size_t *cap,
                   int *most)
{
    bool open = false;
    for (size_t i = 0; i < ch->n; i++) {
        size_t end;
        const int n = flashes_from(ch, i, &end);
        *most = n > *most ? n : *most;
        if (n <= MOST_FLASHES)
            continue;
        struct fl_flash_span *last = open ? &out->span[out->n - 1] : NULL;
        if (last && ch->at_s[i] <= last->end_s) {
            last->end_s = ch->at_s[end - 1];
            last->most = n > last->most ? n : last->most;
            continue;
        }
        const struct fl_flash_span span = {ch->at_s[i], ch->at_s[end - 1], n, red};
        FL_PUSH(out->span, out->n, *cap, span);
        open = true;
    }
}

void fl_flash_finish(struct fl_flash **flash, struct fl_flash_report *out)
{
    struct fl_flash *f = *flash;
    size_t cap = 0;
    *out = (struct fl_flash_report){0};
    if (!f)
        return;
    report(&f->general, false, out, &cap, &out->most);
    report(&f->red, true, out, &cap, &out->most_red);
    free(f->general.at_s);
    free(f->red.at_s);
    free(f->cell);
    free(f);
    *flash = NULL;
}
