/* A zoom moves all parts of the picture from its middle, or towards it, for a few tenths of a
 * second. Who walks into a scene does so too, but for longer, and never comes back so quickly. */
#include "study/take/aiming.h"

#include <math.h>

/* Choices. */
static const struct {
    double rate;  /* ln of the factor a second: slower is a walk */
    double least; /* ln of the factor in all; what is measured of quick ones is under half of it */
    double along; /* share of the parts that go along with it */
    double longest_s; /* of one zoom */
    double bridge_s;  /* between two frames of one */
    double apart_s;   /* from in to out at most, or a chance pair would cost much */
} model = {
    .rate = 0.5, .least = 0.1, .along = 0.6, .longest_s = 0.6, .bridge_s = 0.05, .apart_s = 8};

struct zoom {
    size_t first, last;
    double total; /* ln of the factor; 0: no zoom */
};

/* Frames from i on that zoom one way, as one; its `last` tells where to go on. */
static struct zoom zoom_from(const struct fl_take *t, size_t i)
{
    struct zoom z = {i, i, 0};
    double along = 0, frames = 0;
    bool in = t->view[i].zoom > 0;
    for (size_t k = i; k < (size_t)t->frames; k++) {
        double rate = t->view[k].zoom * t->capture_rate_hz;
        if (t->time_s[k] - t->time_s[z.last] > model.bridge_s)
            break;
        if (!(fabs(rate) >= model.rate) || (rate > 0) != in)
            continue;
        z.last = k;
        z.total += t->view[k].zoom;
        along += t->view[k].along;
        frames++;
    }
    bool is_zoom = fabs(z.total) >= model.least && along >= model.along * frames &&
                   t->time_s[z.last] - t->time_s[z.first] <= model.longest_s;
    z.total = is_zoom ? z.total : 0;
    return z;
}

void fl_aiming_find(bool *aiming, const struct fl_take *t)
{
    size_t n = (size_t)t->frames, opened = 0;
    bool open = false;
    for (size_t i = 0; i < n; i++)
        aiming[i] = false;
    for (size_t i = 0; t->view && i < n; i++) {
        if (!(fabs(t->view[i].zoom * t->capture_rate_hz) >= model.rate))
            continue;
        struct zoom z = zoom_from(t, i);
        bool closes = z.total < 0 && open && t->time_s[z.last] - t->time_s[opened] <= model.apart_s;
        for (size_t k = opened; closes && k <= z.last; k++)
            aiming[k] = true;
        if (z.total > 0)
            opened = z.first;
        open = z.total > 0 || (open && z.total == 0);
        i = z.last;
    }
}
