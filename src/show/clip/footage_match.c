/* Is this the footage that a take was measured on? How much each picture changes against the one
 * before is compared with what the take says. */
#include "show/clip/footage_match.h"

#include <math.h>
#include <stdlib.h>

/* Changes as the take has them are means over its kernel, and so are these. Measured on lapses of
 * six staged takes: 0.94 to 0.99 with their own footage, at most 0.45 with that of another take. */
#define LEAST_CORRELATION 0.7
/* standard deviation of the logarithms that says that something moves and rests */
#define LEAST_SPREAD 0.7
enum { SPARSE = 4, LEAST_FRAMES = 24 };

struct fl_footage_match {
    const struct fl_take *t;
    long first, last; /* frame of the first value; of the last picture */
    double *change;   /* n, one a frame; NaN where not known */
    size_t n, cap;
    uint8_t *before;
    int columns, rows;
};

struct fl_footage_match *fl_footage_match_new(const struct fl_take *t)
{
    struct fl_footage_match *p = FL_NEW(struct fl_footage_match, 1);
    p->t = t;
    p->first = p->last = -1;
    return p;
}

void fl_footage_match_add(struct fl_footage_match *p, long frame, double change)
{
    if (p->first < 0)
        p->first = frame;
    while (p->first + (long)p->n < frame)
        FL_PUSH(p->change, p->n, p->cap, FL_UNKNOWN);
    if (p->first + (long)p->n == frame)
        FL_PUSH(p->change, p->n, p->cap, change);
}

void fl_footage_match_push(struct fl_footage_match *p, long frame, const struct fl_canvas *c, int x,
                           int y, int w, int h)
{
    long sum = 0;
    if (frame == p->last)
        return;
    if (!p->before) {
        p->columns = w / SPARSE;
        p->rows = h / SPARSE;
        p->before = FL_NEW(uint8_t, (size_t)(p->columns * p->rows + 1));
    }
    for (int v = 0; v < p->rows; v++)
        for (int u = 0; u < p->columns; u++) {
            const uint8_t now = c->plane[0][(y + v * SPARSE) * c->stride[0] + x + u * SPARSE];
            uint8_t *was = &p->before[v * p->columns + u];
            sum += labs((long)now - *was);
            *was = now;
        }
    if (p->last >= 0 && frame == p->last + 1)
        fl_footage_match_add(p, frame, (double)sum / (p->columns * p->rows + 1));
    p->last = frame;
}

/* Mean over the take's kernel about value i, as far as it is known. */
static double smooth(const struct fl_footage_match *p, size_t i)
{
    const double frames = p->t->kernel_ms / 1000 * p->t->capture_rate_hz;
    const long half = frames > 1 ? lrint((frames - 1) / 2) : 0;
    double sum = 0;
    long n = 0;
    for (long k = (long)i - half; k <= (long)i + half; k++)
        if (k >= 0 && k < (long)p->n && fl_known(p->change[k])) {
            sum += p->change[k];
            n++;
        }
    return n ? sum / (double)n : FL_UNKNOWN;
}

enum fl_match fl_footage_match_tell(const struct fl_footage_match *p, double *r)
{
    const float *said = p->t->quantity[FL_IMAGE_CHANGE];
    double n = 0, sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
    *r = FL_UNKNOWN;
    for (size_t i = 0; said && i < p->n && p->first + (long)i < p->t->frames; i++) {
        const double mine = smooth(p, i), theirs = said[p->first + (long)i];
        if (!fl_known(mine) || !fl_known(theirs))
            continue;
        /* Noise of coding is worth no comparison: a fifth of a grey level, about. */
        const double a = log(mine + 0.2), b = log(theirs * 219 + 0.2);
        n++;
        sx += a, sy += b, sxx += a * a, syy += b * b, sxy += a * b;
    }
    if (n < LEAST_FRAMES)
        return FL_MATCH_UNTOLD;
    const double vx = fmax(0, sxx - sx * sx / n), vy = fmax(0, syy - sy * sy / n);
    if (sqrt(vy / n) < LEAST_SPREAD && sqrt(vx / n) < LEAST_SPREAD)
        return FL_MATCH_UNTOLD;
    *r = vx > 0 && vy > 0 ? (sxy - sx * sy / n) / sqrt(vx * vy) : 0;
    return *r >= LEAST_CORRELATION ? FL_MATCH_SAME : FL_MATCH_OTHER;
}

void fl_footage_match_free(struct fl_footage_match **p)
{
    if (!*p)
        return;
    free((*p)->change);
    free((*p)->before);
    free(*p);
    *p = NULL;
}
