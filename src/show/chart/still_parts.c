/* Pieces that several still charts use. */
#include <math.h>

#include "show/chart/still.h"

void fl_still_interval(struct fl_surface *c, const struct fl_axis *a, double y, double low,
                       double high, double cap, enum fl_colour colour)
{
    double x0 = fl_known(low) ? fl_axis_at(a, low) : -INFINITY,
           x1 = fl_known(high) ? fl_axis_at(a, high) : INFINITY;
    double from = fl_clamp(x0, a->p0, a->p1), to = fl_clamp(x1, a->p0, a->p1);
    fl_draw_line(c, from, y, to, y, 2, colour, 0);
    if (x0 < a->p0)
        fl_draw_arrow(c, a->p0, y, false, colour);
    else
        fl_draw_line(c, from, y - cap, from, y + cap, 2, colour, 0);
    if (x1 > a->p1)
        fl_draw_arrow(c, a->p1, y, true, colour);
    else
        fl_draw_line(c, to, y - cap, to, y + cap, 2, colour, 0);
}
